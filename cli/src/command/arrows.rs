//! `sheaf arrows`: which numbered arrows keep landing apart from their set.

use crate::{
    CliError, Env, args,
    lookup::{self, Named},
    render::{self, Side, Table},
    store::Home,
};
use serde_json::json;
use sheaf_model::{
    id::ThingId,
    stats::{
        numbered_arrows::{Apart, Numbered as Arrow, NumberedArrows, numbered_arrows},
        shots::ShotGroup,
    },
    timeline::Timeline,
    verdict::{Units, figures::p_value, numbered_sentences, upper_first},
};
use std::collections::BTreeMap;

/// An archer and the set that was shot.
type Whose = (Option<ThingId>, Option<ThingId>);
/// The figures, or why there are none yet.
type Answer = Result<NumberedArrows, String>;

/// Says which arrows of each set land apart, an archer at a time.
pub fn run(args: &args::Numbered, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let thing = lookup::find_among(&home, &["bow", "arrows"], &args.name)?;
    let only = lookup::archer(&home, args.archer.as_deref())?;
    let by_set = shot(&home, &thing, only)?;
    let mut told = Vec::new();
    for (whose, groups) in by_set {
        if groups.iter().flat_map(|g| &g.shots).any(|s| s.number.is_some()) {
            told.push((whose, asked(&groups)?));
        }
    }
    if told.is_empty() && !env.json {
        writeln!(
            env.out,
            "No numbered arrows with {} yet: type the number in front of each shot,",
            thing.name
        )?;
        return Ok(writeln!(env.out, "for example `sheaf shoot elm 30m 3:9@4:30 7:X@12`.")?);
    }
    let names = lookup::names(&home, &["person", "arrows"])?;
    let units = lookup::units(&args.scale);
    if env.json {
        let name = |id: Option<ThingId>| id.and_then(|id| names.get(&id));
        let one = |((archer, set), told): &(Whose, Answer)| {
            json!({"archer": archer, "archer_name": name(*archer), "set": set, "set_name": name(*set),
                "sentences": sentences(told, units), "figures": told.as_ref().ok()})
        };
        return env
            .print_json(&json!({"name": thing.name, "sets": told.iter().map(one).collect::<Vec<_>>()}));
    }
    for (n, (whose, told)) in told.iter().enumerate() {
        if n > 0 {
            writeln!(env.out)?;
        }
        tell(*whose, told, &names, units, env)?;
    }
    Ok(())
}

/// Returns the figures of a set; that too little was shot is an answer and no error.
fn asked(groups: &[ShotGroup]) -> Result<Answer, CliError> {
    match numbered_arrows(groups, 0.95) {
        Ok(found) => Ok(Ok(found)),
        Err(e) if e.code == "too_few" => Ok(Err(format!("{}.", upper_first(&e.message)))),
        Err(e) => Err(e.into()),
    }
}

fn sentences(told: &Answer, units: Units) -> Vec<String> {
    match told {
        Ok(found) => numbered_sentences(found, units),
        Err(why) => vec![why.clone()],
    }
}

/// Returns what was shot with a bow, or with a set on whatever bow, by archer and set.
fn shot(
    home: &Home,
    thing: &Named,
    only: Option<ThingId>,
) -> Result<BTreeMap<Whose, Vec<ShotGroup>>, CliError> {
    let bows = match thing.kind {
        "bow" => vec![thing.id],
        _ => lookup::all(home, "bow")?.into_iter().map(|bow| bow.id).collect(),
    };
    let mut by_set: BTreeMap<Whose, Vec<ShotGroup>> = BTreeMap::new();
    for bow in bows {
        for placed in Timeline::read(home.store(), bow)?.shots() {
            let asked = thing.kind == "bow" || placed.set == Some(thing.id);
            if asked && (only.is_none() || placed.archer == only) {
                by_set.entry((placed.archer, placed.set)).or_default().push(placed.group);
            }
        }
    }
    Ok(by_set)
}

fn tell(
    (archer, set): Whose,
    told: &Answer,
    names: &BTreeMap<ThingId, String>,
    units: Units,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let name =
        |id: Option<ThingId>, none: &str| id.and_then(|id| names.get(&id).cloned()).unwrap_or(none.into());
    let title = format!("{}, {}", name(archer, "someone"), name(set, "arrows of no named set"));
    let title = render::paint(env, render::Tone::Strong, &title.replace(char::is_control, " "));
    writeln!(env.out, "{title}")?;
    render::sentences(env, &sentences(told, units))?;
    let Ok(found) = told else { return Ok(()) };
    writeln!(env.out)?;
    figures(found, units, env)
}

fn figures(told: &NumberedArrows, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let unit = units.unit();
    let (right, high) = (format!("right {unit}"), format!("high {unit}"));
    let ellipse = format!("95 % ellipse {unit}");
    let mut table = Table::new(&[
        ("arrow", Side::Left),
        ("ends", Side::Right),
        (&right, Side::Right),
        (&high, Side::Right),
        (&ellipse, Side::Left),
        ("p", Side::Right),
        ("p corrected", Side::Right),
        ("", Side::Left),
    ]);
    told.arrows.iter().for_each(|arrow| table.row(row(arrow, units)));
    table.print(env)?;
    writeln!(
        env.out,
        "Offsets from the others of the same ends, at {}; half axes of the ellipse.",
        units.distance(told.distance_m)
    )?;
    if told.judged > 0 {
        let judged = render::count(told.judged, "arrow");
        writeln!(env.out, "Corrected: for judging {judged} at once (Holm), and without its farthest shot.")?;
    }
    match (told.flyers, told.bare) {
        (0, 0) => Ok(()),
        (flyers, bare) => Ok(writeln!(
            env.out,
            "Left out: {}, {}.",
            render::count(flyers, "flyer"),
            render::count(bare, "bare shaft")
        )?),
    }
}

fn row(arrow: &Arrow, units: Units) -> [String; 8] {
    let axis = |i: usize| arrow.offset_mm.map_or("-".into(), |o| units.number(o[i]));
    let p = |p: Option<f64>| p.map_or("-".into(), p_value);
    let ellipse = arrow
        .ellipse_mm
        .map_or("-".into(), |e| format!("{} by {}", units.number(e.semi_major), units.number(e.semi_minor)));
    let verdict = match arrow.verdict {
        Apart::Apart => "apart",
        Apart::NotShown if arrow.suspect => "suspect",
        Apart::NotShown if arrow.p.is_none() => "too few ends",
        Apart::NotShown => "not shown",
    };
    let (number, ends) = (arrow.number.clone(), arrow.n.to_string());
    [number, ends, axis(0), axis(1), ellipse, p(arrow.p), p(arrow.p_adjusted), verdict.into()]
}
