//! `sheaf shafts`: the arrows of a set one by one, how they scatter, whom to pair or leave out.

use crate::{
    CliError, Env,
    args::Shafts,
    lookup,
    render::{self, Side, Table, Tone},
    store::Home,
};
use sheaf_model::verdict::{Said, SetAsked, SetSheet, set_sheet};

/// Prints a set shaft by shaft with what follows.
pub fn run(args: &Shafts, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let set = lookup::find(&home, "arrows", &args.set)?;
    let asked = SetAsked { keep: args.keep, units: lookup::units(&args.scale) };
    let sheet = set_sheet(home.store(), set.id, home.card().person, &asked)?;
    if env.json {
        return env.print_json(&sheet);
    }
    render::say(env, Tone::Strong, &sheet.name.replace(char::is_control, " "))?;
    if sheet.shafts.is_empty() {
        writeln!(env.out, "No arrow of it is noted yet, nor how many there are:")?;
        writeln!(env.out, "`sheaf set arrows {0} count=12`, then `sheaf shaft {0} 1 mass=331gr`.", set.name)?;
    } else {
        table(&sheet).print(env)?;
    }
    for (title, said) in [
        ("In figures", &sheet.figures),
        ("At the target", &sheet.worth),
        ("Whom to pair, keep or leave out", &sheet.advice),
        ("What the groups say", &sheet.groups),
    ] {
        section(title, said, env)?;
    }
    wanted(&sheet.wanted, env)?;
    for caution in &sheet.cautions {
        env.caution(caution)?;
    }
    Ok(())
}

fn table(sheet: &SetSheet) -> Table {
    let mut table = Table::new(&[
        ("shaft", Side::Right),
        ("mass gr", Side::Right),
        ("off mean", Side::Right),
        ("point gr", Side::Right),
        ("length in", Side::Right),
        ("balance in", Side::Right),
        ("FOC %", Side::Right),
        ("spine", Side::Right),
        ("nock", Side::Left),
        ("fletching", Side::Left),
        ("", Side::Left),
    ]);
    for row in &sheet.shafts {
        let cell = |value: &Option<String>| value.clone().unwrap_or_default();
        let words = [Some(row.words.clone()).filter(|w| !w.is_empty()), row.note.clone()];
        table.row([
            row.number.to_string(),
            cell(&row.mass),
            cell(&row.off_mean),
            cell(&row.pile),
            cell(&row.length),
            cell(&row.balance),
            cell(&row.foc),
            cell(&row.spine),
            cell(&row.nock),
            cell(&row.fletching),
            words.into_iter().flatten().collect::<Vec<_>>().join("; "),
        ]);
    }
    table
}

/// Prints sentences under a title, each with whose word it is.
pub fn section(title: &str, said: &[Said], env: &mut Env<'_>) -> Result<(), CliError> {
    if said.is_empty() {
        return Ok(());
    }
    writeln!(env.out, "\n{title}:")?;
    let told: Vec<String> = said.iter().map(|said| format!("{} ({})", said.words, said.source)).collect();
    Ok(render::sentences(env, &told)?)
}

/// Remarks on what would tell more.
pub fn wanted(wanted: &[String], env: &mut Env<'_>) -> Result<(), CliError> {
    if wanted.is_empty() {
        return Ok(());
    }
    env.remark(format!("More would follow from: {}.", wanted.join("; ")))
}
