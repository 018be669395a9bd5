//! `sheaf curve` and `sheaf speed`: a bow's draw curve, and how fast an arrow leaves it.

use crate::{
    CliError, Env, args,
    lookup::{self, Named},
    render::{self, Side, Table},
    store::{Home, write_out},
    when,
};
use serde_json::json;
use sheaf_model::{
    id::ThingId,
    kind::{self, Kind},
    moment::Moment,
    records::{self, Measured, curve_pair, new_curve, new_speed},
    verdict::{CurveAsked, CurveSheet, PointRow, curve_plot, curve_sheet},
};

/// Notes a curve where points are given, shows the latest where not.
pub fn run(args: &args::Curve, env: &mut Env<'_>) -> Result<(), CliError> {
    goes_with(args)?;
    if args.points.is_empty() { show(args, env) } else { note(args, env) }
}

/// Refuses what goes with the noting of a curve where one is shown, and the other way round.
fn goes_with(args: &args::Curve) -> Result<(), CliError> {
    let given =
        |options: &[(&'static str, bool)]| options.iter().find(|(_, there)| *there).map(|(name, _)| *name);
    if args.points.is_empty() {
        let noting =
            [("--from", args.from.is_some()), ("--at", args.at.is_some()), ("--note", args.note.is_some())];
        let Some(option) = given(&noting) else { return Ok(()) };
        return Err(CliError::input(format!("{option} goes with the points of a new curve, and none are given"))
            .hint("give draws with their weights as well, like 18=21 28=37.8, or leave it out to see the latest curve"));
    }
    let showing = [
        ("--archer", args.archer.is_some()),
        ("--draw", !args.draw.is_empty()),
        ("--arrows", args.arrows.is_some()),
        ("--beside", args.beside.is_some()),
        ("--plot", args.plot),
        ("--svg", args.svg.is_some()),
    ];
    let Some(option) = given(&showing) else { return Ok(()) };
    Err(CliError::input(format!("{option} goes with looking at a curve, not with noting one")).hint(format!(
        "note it without {option}: a curve is of the bow, whoever draws it; then `sheaf curve {} {option} ...` shows it",
        args.bow
    )))
}

fn note(args: &args::Curve, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let points = args.points.iter().map(|typed| curve_pair(typed)).collect::<Result<Vec<_>, _>>()?;
    let at = moment(args.at.as_deref(), env)?;
    let note = args.note.clone();
    let measured = new_curve(home.store(), bow.id, &points, args.from.is_some(), at, note)?;
    keep(&mut home, &bow, "draw curve", measured, at, env)
}

/// Notes the speed of an arrow.
pub fn speed(args: &args::Speed, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let archer = lookup::archer(&home, args.archer.as_deref())?.unwrap_or(home.card().person);
    let arrows = args.arrows.as_deref().map(|name| lookup::find(&home, "arrows", name)).transpose()?;
    let at = moment(args.at.as_deref(), env)?;
    let of = (Some(archer), arrows.map(|set| set.id));
    let measured = new_speed(home.store(), bow.id, &args.speed, of, at, args.note.clone())?;
    keep(&mut home, &bow, "speed", measured, at, env)
}

/// Returns when something was measured.
pub(super) fn moment(typed: Option<&str>, env: &Env<'_>) -> Result<Moment, CliError> {
    let at = typed.map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    Ok(Moment::read(&at)?)
}

/// Records what was measured on a bow, and says so.
pub(super) fn keep<K: Kind>(
    home: &mut Home,
    bow: &Named,
    what: &str,
    measured: Measured<K>,
    at: Moment,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let id: ThingId = env.thing_id();
    home.record(env, vec![kind::draft(id, &measured.record)?])?;
    lookup::remark_if_retired(bow, env)?;
    let at = at.rfc3339();
    when::remark_if_ahead(
        &at,
        &format!("sheaf set {} {} at=\"2026-04-12 10:30\"", K::NAME, id.short()),
        env,
    )?;
    if env.json {
        return env.print_json(&json!({
            K::NAME: id, "bow": bow.id, "at": at, "record": measured.record, "words": measured.words,
            "cautions": measured.warnings,
        }));
    }
    writeln!(env.out, "Kept: {}, {what}, {}:", bow.name, when::shown(Some(&at)))?;
    render::sentences(env, &measured.words)?;
    for warning in &measured.warnings {
        env.caution(warning)?;
    }
    Ok(())
}

fn show(args: &args::Curve, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let beside = args.beside.as_deref().map(|name| lookup::find(&home, "bow", name)).transpose()?;
    let arrows = args.arrows.as_deref().map(|name| lookup::find(&home, "arrows", name)).transpose()?;
    let at_in = args.draw.iter().map(|typed| records::draw_in(typed)).collect::<Result<Vec<_>, _>>()?;
    let asked = CurveAsked {
        at_in,
        archer: lookup::archer(&home, args.archer.as_deref())?,
        arrows: arrows.map(|set| set.id),
        beside: beside.map(|bow| bow.id),
        ..CurveAsked::new(home.card().person, lookup::units(&args.scale))
    };
    let sheet = curve_sheet(home.store(), bow.id, &asked)?;
    if let (Some(file), Some(svg)) = (&args.svg, &sheet.svg) {
        write_out(file, svg, args.replace)?;
    }
    if env.json {
        return env.print_json(&sheet);
    }
    tell(&sheet, args, env)
}

fn tell(sheet: &CurveSheet, args: &args::Curve, env: &mut Env<'_>) -> Result<(), CliError> {
    let head = render::fitted(&render::tame(&sheet.head), env.width);
    writeln!(env.out, "{}", render::paint(env, render::Tone::Strong, &head))?;
    if sheet.curve.is_none() {
        env.remark(format!("`sheaf curve {} 18=21 22=26.9 26=33.5 28=37.8` notes one.", args.bow))?;
    }
    let stale: Vec<String> = sheet.stale.iter().cloned().collect();
    render::sentences(env, &stale)?;
    if !sheet.points.is_empty() {
        let both = [&sheet.points[..], &sheet.asked[..]].concat();
        table(&both, sheet.points.len()).print(env)?;
    }
    for said in &sheet.said {
        render::sentences(env, &[format!("{} ({})", said.words, said.source)])?;
    }
    let beside: Vec<String> = sheet.beside.iter().flat_map(|beside| beside.words.clone()).collect();
    render::sentences(env, &beside)?;
    if args.plot && !sheet.drawn.is_empty() {
        writeln!(env.out, "\n{}", curve_plot(&sheet.drawn, env.width.min(80)).trim_end())?;
    }
    notes(sheet, env)?;
    for caution in &sheet.cautions {
        env.caution(caution)?;
    }
    Ok(())
}

/// Prints what there is to know of the curve, and the curves before it.
fn notes(sheet: &CurveSheet, env: &mut Env<'_>) -> Result<(), CliError> {
    let earlier: Vec<&str> = sheet.curves.iter().skip(1).map(|one| one.words.as_str()).collect();
    let earlier = (!earlier.is_empty()).then(|| format!("Earlier curves: {}.", earlier.join("; ")));
    for words in sheet.remarks.iter().map(|remark| format!("Note: {remark}")).chain(earlier) {
        writeln!(env.out, "{}", render::fitted(&render::tame(&words), env.width.min(100)))?;
    }
    Ok(())
}

/// Returns the points as a table; those behind the first `measured` were asked for.
fn table(points: &[PointRow], measured: usize) -> Table {
    let heads = [("draw", Side::Right), ("weight", Side::Right), ("gain", Side::Right), ("", Side::Left)];
    let mut table = Table::new(&heads);
    for (i, point) in points.iter().enumerate() {
        let gain = point.slope_lbf_per_in.map(|slope| format!("{} lbf/in", render::number(slope, 1)));
        let what = match (point.added, i < measured) {
            (true, _) => "added, not measured",
            (false, true) => "measured",
            (false, false) => "by the curve",
        };
        table.row([point.draw.clone(), point.weight.clone(), gain.unwrap_or_default(), what.to_owned()]);
    }
    table
}
