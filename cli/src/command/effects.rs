//! `sheaf effects`: which change moved the groups.

use crate::{
    CliError, Env,
    args::Effects,
    lookup,
    render::{self, Side, Table},
    store::Home,
};
use sheaf_model::{
    id::ThingId,
    notation::{Length, distance_m, length_mm},
    timeline::{Asked, Timeline},
    verdict::{
        ArcherVerdict, Units, bow_verdict, figures, look_note,
        plot::{SeriesPlot, series_plot},
    },
};

/// Says of every change of a bow what it did, a sentence each, over a table of figures.
pub fn run(args: &Effects, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let mut asked = Asked::default();
    if let Some(typed) = &args.matters {
        asked.matters_mm = Some(length_mm(typed, Length::Mm)?);
    }
    if let Some(typed) = &args.distance {
        asked.distance_m = Some(distance_m(typed)?);
    }
    let mut judged = Vec::new();
    for typed in &args.judge {
        judged.push(lookup::find(&home, "change", typed)?.id.to_string());
    }
    asked.judge = (!judged.is_empty()).then_some(judged);
    let verdict = bow_verdict(home.store(), bow.id, archer, &asked, units)?;
    if env.json {
        return env.print_json(&verdict);
    }
    if verdict.archers.is_empty() {
        writeln!(env.out, "No groups with {} yet: `sheaf shoot` records one.", bow.name)?;
        return Ok(());
    }
    for (n, archer) in verdict.archers.iter().enumerate() {
        if n > 0 {
            writeln!(env.out)?;
        }
        tell(&bow.name, archer, units, env)?;
        looked(&home, bow.id, archer, env)?;
        if args.plot {
            series(&home, bow.id, archer, units, env)?;
        }
    }
    Ok(())
}

/// Says when a verdict was looked at as its data grew, since every look is a chance for a false word.
fn looked(home: &Home, bow: ThingId, archer: &ArcherVerdict, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(last) = archer.verdicts.last().and_then(|v| v.effect.changes.last()) else { return Ok(()) };
    let who = archer.archer.map_or_else(String::new, |id| id.to_string());
    let look = home.looked(&format!("{bow} {who}"), last, archer.groups);
    let Some(note) = look_note(look, "`sheaf plan`") else { return Ok(()) };
    Ok(writeln!(env.out, "{}", render::fitted(&format!("Note: {note}."), env.width.min(100)))?)
}

/// Prints one archer's verdicts.
pub fn tell(bow: &str, archer: &ArcherVerdict, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let title = format!(
        "{} with {bow}: {}, shifts at {}",
        archer.name,
        render::count(archer.groups, "group"),
        units.distance(archer.distance_m)
    );
    let title = render::paint(env, render::Tone::Strong, &title);
    writeln!(env.out, "{title}")?;
    let wide = env.width.min(100);
    for first in &archer.first {
        writeln!(env.out, "{}", render::fitted(&format!("  {first}."), wide))?;
    }
    if archer.verdicts.is_empty() {
        writeln!(env.out, "  No change since the first arrow: `sheaf change` notes one.")?;
        return Ok(());
    }
    for (n, judged) in archer.verdicts.iter().enumerate() {
        for (i, line) in render::wrapped(&judged.sentence, wide.saturating_sub(5)).into_iter().enumerate() {
            let lead = if i == 0 { format!("{:>3}. ", n + 1) } else { "     ".into() };
            writeln!(env.out, "{lead}{line}")?;
        }
    }
    writeln!(env.out)?;
    print_figures(archer, units, env)?;
    if let Some(sigma) = archer.season.sigma_mrad {
        let sd = units.length(sigma * archer.distance_m);
        writeln!(env.out, "Spread of an arrow about its end: {sd} (SD on one axis). [95 % intervals]")?;
    }
    if let Some(correction) = figures::correction(archer) {
        writeln!(env.out, "{correction}.")?;
    }
    for remark in &archer.remarks {
        writeln!(env.out, "{}", render::fitted(&format!("Note: {remark}."), wide))?;
    }
    Ok(())
}

fn print_figures(archer: &ArcherVerdict, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let rows = figures::table(archer, units);
    let Some((heads, rows)) = rows.split_first() else { return Ok(()) };
    let sides = [Side::Right, Side::Right, Side::Left, Side::Left, Side::Right, Side::Left, Side::Right];
    let heads: Vec<(&str, Side)> = heads.iter().map(String::as_str).zip(sides).collect();
    let mut table = Table::new(&heads);
    rows.iter().for_each(|row| table.row(row.iter().cloned()));
    Ok(table.print(env)?)
}

fn series(
    home: &Home,
    bow: ThingId,
    archer: &ArcherVerdict,
    units: Units,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let season = Timeline::read(home.store(), bow)?.season(archer.archer);
    let changes: Vec<usize> = season
        .changes
        .iter()
        .map(|c| season.groups.iter().filter(|g| g.at.unix_ms() < c.at.unix_ms()).count())
        .collect();
    for (axis, name) in ["right", "high"].iter().enumerate() {
        let mean = |points: &[[f64; 2]], d: f64| {
            points.iter().map(|p| p[axis] / d).sum::<f64>() / points.len() as f64
        };
        let value = |points: &[[f64; 2]], d: f64| units.reading(mean(points, d) * archer.distance_m);
        let values = season.groups.iter().map(|g| value(&g.counted_mm(), g.distance_m)).collect();
        let at = units.distance(archer.distance_m);
        let title = format!("Mean point of impact, {} {name} at {at}", units.unit_word());
        let plot =
            SeriesPlot { title, values, changes: changes.clone(), columns: env.width.min(80), lines: 8 };
        writeln!(env.out, "\n{}", series_plot(&plot))?;
    }
    Ok(())
}
