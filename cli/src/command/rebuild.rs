//! `sheaf rebuild`: how a bow is put back as it was.

use crate::{
    CliError, Env,
    args::Rebuild as Args,
    lookup,
    render::{self, Side, Table},
    store::Home,
    when,
};
use sheaf_model::{
    moment::Moment,
    verdict::{RebuildSheet, rebuild_sheet},
};

/// Prints the sheet of a bow in the order of the work, with what was measured beside it.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let baseline = args.baseline.as_deref().map(|name| lookup::find(&home, "baseline", name)).transpose()?;
    let typed = args.values.iter().map(|pair| measured(pair)).collect::<Result<Vec<_>, _>>()?;
    let offset_min = Moment::read(&when::now(env)?)?.offset_min();
    let sheet = rebuild_sheet(home.store(), bow.id, baseline.map(|named| named.id), &typed, offset_min)?;
    if env.json {
        return env.print_json(&sheet);
    }
    let day = sheet.day.as_ref().map_or_else(String::new, |day| format!(", {day}"));
    writeln!(env.out, "{}{day}", render::tame(&sheet.title))?;
    writeln!(env.out, "{}", render::fitted(&render::tame(&sheet.head), env.width))?;
    for sentence in &sheet.elsewhere {
        writeln!(env.out, "{}", render::fitted(&render::tame(sentence), env.width))?;
    }
    if sheet.rows.is_empty() {
        env.remark("`sheaf change` notes what is on a bow.")?;
        return Ok(());
    }
    table(&sheet).print(env)?;
    print_work(&sheet, env)?;
    sheet.rows.iter().flat_map(|row| &row.beyond).try_for_each(|words| env.remark(words))?;
    for caution in &sheet.cautions {
        env.caution(caution)?;
    }
    Ok(())
}

/// Reads `setting=measured`; a second equals sign, as `sheaf change` takes it before a negative value, is none of it.
fn measured(pair: &str) -> Result<(String, String), CliError> {
    let (setting, typed) = pair.split_once('=').ok_or_else(|| {
        CliError::input(format!("`{pair}` is no setting with what it measures"))
            .hint("write it like brace_height=213")
    })?;
    let typed = typed.strip_prefix('=').unwrap_or(typed).trim();
    if typed.is_empty() {
        return Err(CliError::input(format!("`{pair}` gives no value")));
    }
    Ok((setting.to_owned(), typed.to_owned()))
}

fn table(sheet: &RebuildSheet) -> Table {
    let mut table = Table::new(&[
        ("setting", Side::Left),
        ("as it was", Side::Right),
        ("tolerance", Side::Right),
        ("measured", Side::Right),
        ("off", Side::Right),
        ("", Side::Left),
    ]);
    for row in &sheet.rows {
        let right = match row.ok {
            Some(true) => "right",
            Some(false) => "off",
            None => "",
        };
        table.row([
            row.name.clone(),
            row.target.clone(),
            row.tolerance.clone(),
            row.measured.clone().unwrap_or_default(),
            row.off.clone().unwrap_or_default(),
            right.to_owned(),
        ]);
    }
    table
}

/// Prints how each setting is measured and what it moves; of those that are right there is nothing to say.
fn print_work(sheet: &RebuildSheet, env: &mut Env<'_>) -> Result<(), CliError> {
    writeln!(env.out, "\nIn this order ({}):", sheet.source)?;
    for row in sheet.rows.iter().filter(|row| row.ok != Some(true) || row.first.is_some()) {
        let mut said = vec![format!("{}: {}", row.name, row.how)];
        if !row.disturbs.is_empty() {
            said.push(format!("It {}.", row.disturbs));
        }
        said.extend(row.first.iter().map(|first| format!("Here {first}.")));
        render::sentences(env, &[said.join(" ")])?;
    }
    Ok(())
}
