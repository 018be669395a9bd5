//! `sheaf fits`: what fits an archer, and what the team's own parts make of it.

use crate::{
    CliError, Env,
    args::Fits as Args,
    lookup,
    render::{self, Side, Table, Tone},
    store::Home,
};
use sheaf_model::{
    kind::{self, DISCIPLINES, Form},
    verdict::{self, CombinationRow, Fits, FitsAsked, upper_first},
};

/// Prints what follows from the archer, the bows of the trade, and those of one's own parts.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let person = lookup::archer(&home, args.person.as_deref())?.unwrap_or(home.card().person);
    let asked = FitsAsked {
        discipline: args.discipline.as_deref().map(discipline).transpose()?,
        weight_lbf: number("weight_lbf", args.weight.as_deref(), "part", "marked_weight")?,
        draw_in: number("draw_length_in", args.draw.as_deref(), "person", "draw_length")?,
    };
    let fits = verdict::fits(home.store(), person, &asked, lookup::units(&args.scale))?;
    if env.json {
        return env.print_json(&fits);
    }
    render::say(env, Tone::Strong, &render::tame(&fits.name))?;
    let said: Vec<String> = fits.said.iter().map(|s| format!("{} ({})", s.words, s.source)).collect();
    render::sentences(env, &said)?;
    print_risers(&fits, env)?;
    print_combinations(&fits, env)?;
    if !fits.wanted.is_empty() {
        writeln!(env.out, "\nWhat would tell more:")?;
        render::sentences(env, &fits.wanted)?;
    }
    for caution in &fits.cautions {
        env.caution(caution)?;
    }
    Ok(())
}

fn discipline(typed: &str) -> Result<String, CliError> {
    Ok(kind::value("discipline", Form::Choice(DISCIPLINES), typed)?.as_str().unwrap_or_default().to_owned())
}

/// Reads a number as it is read for a field of a record: with its unit where one is typed, and within its bounds.
fn number(name: &str, typed: Option<&str>, kind: &str, like: &str) -> Result<Option<f64>, CliError> {
    let (Some(typed), Some((_, form))) = (typed, kind::field(kind, like)) else { return Ok(None) };
    Ok(kind::value(name, form, typed)?.as_f64())
}

/// Prints the bows that the trade's risers make; the column of the rule is marked.
fn print_risers(fits: &Fits, env: &mut Env<'_>) -> Result<(), CliError> {
    writeln!(env.out, "\nBow length, and the string to start from, in inches; * suits the draw:")?;
    let mut table = Table::new(&[
        ("riser", Side::Right),
        ("short limbs", Side::Right),
        ("medium limbs", Side::Right),
        ("long limbs", Side::Right),
        ("shot for", Side::Left),
        ("", Side::Left),
    ]);
    for row in &fits.risers {
        let mut cells = vec![render::number(row.riser_in, 2)];
        cells.extend(row.bows.iter().map(|bow| {
            let suits = if bow.suits { "*" } else { " " };
            let [long, string] =
                [bow.bow_length_in, bow.string_length_in].map(|inches| render::number(inches, 2));
            format!("{long}, {string}{suits}")
        }));
        let chosen = if row.of_discipline { "asked for" } else { "" };
        cells.extend([row.used_for.clone(), chosen.to_owned()]);
        table.row(cells);
    }
    table.print(env)?;
    let said = "Bow lengths: common practice, no source; the 27 in riser from memory. String: 3 in less than the bow, AMO \
                Standards, Field Publication FP-3 (2000).";
    Ok(writeln!(env.out, "{}", render::fitted(said, env.width))?)
}

fn print_combinations(fits: &Fits, env: &mut Env<'_>) -> Result<(), CliError> {
    if fits.combinations.is_empty() {
        writeln!(env.out, "\nNo riser with limbs of your own is noted yet, so nothing can be combined.")?;
        return env
            .remark("`sheaf add bow elm --riser 25in` and `sheaf add part NAME --what limbs` note them.");
    }
    writeln!(env.out, "\nYour own risers and limbs, best first:")?;
    writeln!(env.out, "{}", render::fitted(fits.order, env.width))?;
    for row in &fits.combinations {
        render::sentences(env, &[head(row)])?;
        // What must not be shot is said where it stands, not at the foot alone.
        let care = row.cautions.iter().filter(|_| row.do_not_shoot.is_some());
        render::sentences(env, &care.map(|words| format!("  Care: {words}")).collect::<Vec<_>>())?;
        let reasons: Vec<String> =
            row.reasons.iter().map(|r| format!("  {} ({})", upper_first(&r.words), r.source)).collect();
        render::sentences(env, &reasons)?;
    }
    Ok(())
}

fn head(row: &CombinationRow) -> String {
    let on = if row.on_now { ", on it now" } else { "" };
    let beyond = match row.limits {
        "passed" => " BEYOND A MAKER'S LIMIT",
        "may_pass" => " may go beyond a maker's limit",
        _ => "",
    };
    let not = row.do_not_shoot.map_or_else(String::new, |why| format!(" DO NOT SHOOT: {why}"));
    format!("{}. {}{on}{not}{beyond}", row.rank, row.title)
}
