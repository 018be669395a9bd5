//! `sheaf walkback`: whether arrows drift sideways with the distance while the sight is left alone.

use crate::{
    CliError, Env,
    args::Walkback,
    lookup,
    render::{self, Side, Table},
    store::Home,
};
use serde_json::json;
use sheaf_model::{
    id::ThingId,
    stats::{
        shots::ShotGroup,
        walk_back::{WalkBack, walk_back},
    },
    timeline::{PlacedGroup, Timeline},
    verdict::{Units, walk_sentences},
};
use std::collections::{BTreeMap, BTreeSet};

/// What is told of one archer's last walk-back.
struct Told {
    archer: Option<ThingId>,
    name: String,
    session: String,
    sight: String,
    figures: WalkBack,
}

/// Judges the last walk-back of each archer with a bow.
pub fn run(args: &Walkback, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, only, units) = lookup::of_bow(&home, &args.of)?;
    let asked = |p: &PlacedGroup| {
        (only.is_none() || p.archer == only)
            && (args.sight.is_none() || p.sight == args.sight)
            && args.session.as_ref().is_none_or(|s| p.session == *s || p.session.ends_with(&format!(" {s}")))
    };
    let mut by_archer: BTreeMap<Option<ThingId>, Vec<PlacedGroup>> = BTreeMap::new();
    let shots = Timeline::read(home.store(), bow.id)?.shots();
    let sights: BTreeSet<String> = shots.iter().filter_map(|p| p.sight.clone()).collect();
    for placed in shots.into_iter().filter(asked) {
        by_archer.entry(placed.archer).or_default().push(placed);
    }
    let names = lookup::names(&home, &["person"])?;
    let mut told = Vec::new();
    for (archer, placed) in by_archer {
        let Some((session, sight, groups)) = last_walk(&placed) else { continue };
        let name = archer.and_then(|id| names.get(&id).cloned()).unwrap_or_else(|| "someone".into());
        told.push(Told { archer, name, session, sight, figures: walk_back(&groups, 0.95)? });
    }
    if env.json {
        let one = |t: &Told| {
            json!({"archer": t.archer, "archer_name": t.name, "session": t.session, "sight": t.sight,
                "sentences": walk_sentences(&t.figures, units), "figures": t.figures})
        };
        return env.print_json(&json!({"bow": bow.id, "archers": told.iter().map(one).collect::<Vec<_>>()}));
    }
    if told.is_empty() {
        check_sight(&bow.name, args.sight.as_deref(), &sights)?;
        let text = format!(
            "No walk-back with {} yet: in one session shoot from three distances or more with the sight left alone, \
             each group with the same name for it, for example `sheaf shoot elm 20m 9@1 9@5 --sight walk`.",
            bow.name
        );
        return Ok(writeln!(env.out, "{}", render::fitted(&text, env.width.min(100)))?);
    }
    told.iter().try_for_each(|told| tell(&bow.name, told, units, env))
}

/// Refuses a mark of the sight at which nothing was shot, and says which marks there are.
fn check_sight(bow: &str, wanted: Option<&str>, sights: &BTreeSet<String>) -> Result<(), CliError> {
    let Some(wanted) = wanted.filter(|wanted| !sights.contains(*wanted)) else { return Ok(()) };
    let error = CliError::input(format!("nothing was shot with {bow} with the sight at `{wanted}`"));
    let known: Vec<&str> = sights.iter().map(String::as_str).take(20).collect();
    Err(error.hint(if known.is_empty() {
        "no group with it names where the sight stood: `sheaf shoot` takes that as --sight LABEL".to_owned()
    } else {
        format!("the sight was at: {}", known.join(", "))
    }))
}

/// Returns the last session in which one setup and one named sight mark served three distances or more.
fn last_walk(placed: &[PlacedGroup]) -> Option<(String, String, Vec<ShotGroup>)> {
    let same = |a: &PlacedGroup, b: &PlacedGroup| {
        (a.stretch, a.set, &a.session, &a.sight) == (b.stretch, b.set, &b.session, &b.sight)
    };
    placed.iter().rev().find_map(|last| {
        let sight = last.sight.clone()?;
        let groups: Vec<ShotGroup> =
            placed.iter().filter(|p| same(p, last)).map(|p| p.group.clone()).collect();
        walk_back(&groups, 0.95).is_ok().then(|| (last.session.clone(), sight, groups))
    })
}

fn tell(bow: &str, told: &Told, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let title = format!("{} with {bow}, session {}, sight left at {}", told.name, told.session, told.sight);
    let title = render::paint(env, render::Tone::Strong, &title.replace(char::is_control, " "));
    writeln!(env.out, "{title}")?;
    let mut said = walk_sentences(&told.figures, units);
    said.extend(told.figures.notes.iter().map(|note| format!("Note: {note}.")));
    render::sentences(env, &said)?;
    writeln!(env.out)?;
    let unit = units.unit();
    let heads = ["right", "standard error", "straight", "curve"].map(|head| format!("{head} {unit}"));
    let mut table = Table::new(&[
        ("from", Side::Right),
        ("ends", Side::Right),
        ("arrows", Side::Right),
        (&heads[0], Side::Right),
        (&heads[1], Side::Right),
        (&heads[2], Side::Right),
        (&heads[3], Side::Right),
    ]);
    for level in &told.figures.distances {
        table.row([
            units.distance(level.distance_m),
            level.ends.to_string(),
            level.arrows.to_string(),
            units.number(level.mean_mm),
            level.se_mm.map_or("-".into(), |se| units.number(se)),
            units.number(level.straight_mm),
            units.number(level.curved_mm),
        ]);
    }
    Ok(table.print(env)?)
}
