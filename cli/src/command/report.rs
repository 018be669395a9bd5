//! `sheaf report`: the team's figures for a coach.

use crate::{
    CliError, Env,
    args::Report as Args,
    lookup,
    render::{self, Side, Table},
    store::Home,
    when,
};
use rayon::iter::{IntoParallelIterator as _, ParallelIterator as _};
use sheaf_model::{
    timeline::Asked,
    verdict::{Reporter, Row, Units},
};

/// Prints a row an archer and bow, those that need a look first.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let units = lookup::units(&args.scale);
    let now = i64::try_from(env.now_ms()).unwrap_or(i64::MAX);
    let asked = Asked::default();
    let reporter = Reporter::new(home.store(), &asked, units, now)?;
    // Each bow by itself, side by side: that is where the time of a long history goes.
    let parts = reporter.bows()?.into_par_iter().map(|bow| reporter.of_bow(bow));
    let report = reporter.report(parts.collect::<Result<_, _>>()?)?;
    if env.json {
        return env.print_json(&report);
    }
    writeln!(env.out, "{}", home.card().team_name)?;
    print_rows(&report.rows, units, env)?;
    print_looks(&report.rows, env)?;
    if !report.unshot.is_empty() {
        let unshot = format!("Nothing shot yet with: {}.", report.unshot.join(", "));
        writeln!(env.out, "\n{}", render::fitted(&unshot, env.width))?;
    }
    if report.differences > 0 {
        let open = render::count(report.differences, "difference");
        env.remark(format!("{open} to settle: `sheaf differences`."))?;
    }
    Ok(())
}

fn print_rows(rows: &[Row], units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    // The year goes without saying in the year itself; the table fits 80 columns so.
    let this_year = format!(" {}", &when::now(env)?[..4]);
    let heads = [
        ("archer", Side::Left),
        ("bow", Side::Left),
        ("groups", Side::Right),
        ("arrows", Side::Right),
        ("at", Side::Right),
        ("spread", Side::Right),
        ("right", Side::Right),
        ("high", Side::Right),
        ("expects", Side::Right),
        ("last shot", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for row in rows {
        table.row([
            row.archer_name.clone(),
            row.bow_name.clone(),
            row.groups.to_string(),
            render::thousands(row.arrows as u64),
            units.distance(row.latest.distance_m),
            row.latest.sd_mm.map_or("-".into(), |sd| units.number(sd)),
            units.number(row.latest.mpi_mm[0]),
            units.number(row.latest.mpi_mm[1]),
            row.latest.points_per_arrow.map_or("-".into(), |p| format!("{p:.2}")),
            row.latest.last_day.strip_suffix(&this_year).unwrap_or(&row.latest.last_day).to_owned(),
        ]);
    }
    if table.is_empty() {
        writeln!(env.out, "No groups yet.")?;
        return Ok(());
    }
    table.print(env)?;
    Ok(writeln!(env.out, "{}", render::fitted(&legend(units), env.width))?)
}

/// Returns what the columns are.
fn legend(units: Units) -> String {
    format!(
        "In {}, from the latest 12 ends with the setup shot last; spread: SD on one axis; expects: expected points an \
         arrow, by where the arrows lie and how far they spread, not what was scored.",
        units.unit_word()
    )
}

fn print_looks(rows: &[Row], env: &mut Env<'_>) -> Result<(), CliError> {
    for row in rows {
        if row.look.is_empty() && row.last_verdict.is_none() {
            continue;
        }
        writeln!(env.out, "\n{} with {}", row.archer_name, row.bow_name)?;
        for reason in &row.look {
            writeln!(env.out, "  Look: {reason}.")?;
        }
        let last =
            row.last_verdict.iter().flat_map(|s| render::wrapped(s, env.width.min(100).saturating_sub(2)));
        for line in last.collect::<Vec<_>>() {
            writeln!(env.out, "  {line}")?;
        }
    }
    Ok(())
}
