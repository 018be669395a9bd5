//! `sheaf analyse`: how a group lies, or all groups of a bow session by session.

use crate::{
    CliError, Env,
    args::Analyse,
    lookup, picture,
    render::{self, Side, Table},
    store::Home,
    when,
    words::middle,
};
use serde::Serialize;
use serde_json::json;
use sheaf_model::{
    id::ThingId,
    kind::{self, Group},
    replica::Store,
    stats::group::{GroupFigures, group as figures_of},
    timeline::{Season, SeasonGroup, Timeline},
};
use std::collections::BTreeMap;

/// Shows the figures of a group, or of every session with a bow.
pub fn run(args: &Analyse, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let thing = lookup::find_among(&home, &["bow", "group"], &args.name)?;
    match thing.kind {
        "group" => one(&home, thing.id, env),
        _ => sessions(&home, thing.id, &thing.name, args, env),
    }
}

fn one(home: &Home, id: ThingId, env: &mut Env<'_>) -> Result<(), CliError> {
    let thing = home.store().thing("group", id)?.ok_or_else(|| CliError::input("that group is not here"))?;
    let group: Group = kind::read(&thing)?;
    let points = group.counted_mm();
    if points.is_empty() {
        return Err(CliError::input("no arrow of that group counts for mean and spread")
            .hint("misses have no place; flyers and bare shafts are left out"));
    }
    let figures = figures_of(&points, group.distance_m, 0.95)?;
    if env.json {
        return env.print_json(&json!({"group": id, "figures": figures}));
    }
    writeln!(env.out, "Group {}, {}", id.short(), when::shown(group.at.as_deref()))?;
    let face = group.face();
    writeln!(env.out, "{}", picture::group(&group, face.as_ref(), env))?;
    writeln!(env.out, "{}", middle(figures.mpi_mm, points.len()))?;
    print_figures(&figures, env)
}

fn print_figures(f: &GroupFigures, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut table = Table::new(&[("figure", Side::Left), ("mm", Side::Right), ("95 %", Side::Left)]);
    let mm = |v: f64| render::number(v, 1);
    let mut row = |name: &str, value: Option<f64>, interval: String| {
        if let Some(value) = value {
            table.row([name.to_owned(), mm(value), interval]);
        }
    };
    row("mean radius", Some(f.mean_radius_mm), String::new());
    row("extreme spread", Some(f.extreme_spread_mm), String::new());
    row("width", Some(f.width_mm), String::new());
    row("height", Some(f.height_mm), String::new());
    row("SD sideways", f.sd_mm.map(|s| s[0]), String::new());
    row("SD up and down", f.sd_mm.map(|s| s[1]), String::new());
    let interval =
        f.rayleigh.sigma_interval_mm.map_or(String::new(), |[a, b]| format!("{} to {}", mm(a), mm(b)));
    row("Rayleigh sigma", f.rayleigh.sigma_mm, interval);
    row("enclosing circle, radius", Some(f.enclosing_circle.radius_mm), String::new());
    table.print(env)?;
    for note in &f.notes {
        env.remark(format!("Note: {note}"))?;
    }
    Ok(())
}

/// What one archer shot in a session at a distance.
#[derive(Serialize)]
struct Session {
    archer: String,
    session: String,
    distance_m: f64,
    groups: usize,
    arrows: usize,
    figures: GroupFigures,
}

fn sessions(
    home: &Home,
    bow: ThingId,
    name: &str,
    args: &Analyse,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let timeline = Timeline::read(home.store(), bow)?;
    let only = lookup::archer(home, args.archer.as_deref())?;
    let names = lookup::names(home, &["person"])?;
    let mut rows = Vec::new();
    for archer in timeline.archers().into_iter().filter(|a| only.is_none() || *a == only) {
        let who = archer.and_then(|id| names.get(&id).cloned()).unwrap_or_else(|| "someone".into());
        gather(&timeline.season(archer), &who, &mut rows)?;
    }
    if env.json {
        return env.print_json(&json!({"bow": bow, "sessions": rows}));
    }
    if rows.is_empty() {
        writeln!(env.out, "No groups with {name} yet: `sheaf shoot` records one.")?;
        return Ok(());
    }
    print_sessions(rows, env)
}

fn gather(season: &Season, who: &str, rows: &mut Vec<Session>) -> Result<(), CliError> {
    let mut by_session: BTreeMap<(&str, u64), Vec<&SeasonGroup>> = BTreeMap::new();
    for group in &season.groups {
        by_session.entry((&group.session, group.distance_m.to_bits())).or_default().push(group);
    }
    for ((session, distance), groups) in by_session {
        let distance_m = f64::from_bits(distance);
        let points: Vec<[f64; 2]> = groups.iter().flat_map(|g| g.counted_mm()).collect();
        if points.is_empty() {
            continue;
        }
        rows.push(Session {
            archer: who.to_owned(),
            session: session.to_owned(),
            distance_m,
            groups: groups.len(),
            arrows: points.len(),
            figures: figures_of(&points, Some(distance_m), 0.95)?,
        });
    }
    Ok(())
}

fn print_sessions(rows: Vec<Session>, env: &mut Env<'_>) -> Result<(), CliError> {
    let heads = [
        ("archer", Side::Left),
        ("session", Side::Left),
        ("at", Side::Right),
        ("groups", Side::Right),
        ("arrows", Side::Right),
        ("right", Side::Right),
        ("high", Side::Right),
        ("mean radius", Side::Right),
        ("sigma", Side::Right),
    ];
    let mut table = Table::new(&heads);
    let mm = |v: f64| render::number(v, 1);
    for row in rows {
        let f = row.figures;
        table.row([
            row.archer,
            row.session,
            format!("{} m", render::number(row.distance_m, 1)),
            row.groups.to_string(),
            row.arrows.to_string(),
            mm(f.mpi_mm[0]),
            mm(f.mpi_mm[1]),
            mm(f.mean_radius_mm),
            f.rayleigh.sigma_mm.map_or("-".into(), mm),
        ]);
    }
    table.print(env)?;
    Ok(writeln!(env.out, "Right, high, mean radius and sigma in mm.")?)
}
