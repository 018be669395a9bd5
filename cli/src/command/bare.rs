//! `sheaf bare`: where bare shafts land beside fletched ones, and how that is read.

use crate::{
    CliError, Env,
    args::Bare,
    lookup,
    render::{self, Side, Table},
    setting_pair,
    store::Home,
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, BowArm, Person},
    replica::Store,
    stats::{
        bare_shaft::{Asked, BareShaft, Dial, bare_shaft},
        shots::ShotGroup,
    },
    timeline::{PlacedGroup, Setup, Timeline},
    verdict::{Units, bare_sentences, figures::p_value},
};
use std::collections::BTreeMap;

/// What is told of one archer.
struct Told {
    archer: Option<ThingId>,
    name: String,
    set: Option<String>,
    changed_since: bool,
    bow_arm: Option<BowArm>,
    figures: BareShaft,
}

impl Told {
    fn json(&self, units: Units) -> Value {
        json!({"archer": self.archer, "archer_name": self.name, "set_name": self.set,
            "changed_since": self.changed_since,
            "sentences": bare_sentences(&self.figures, self.bow_arm, units), "figures": self.figures})
    }
}

/// Reads the bare shafts that each archer shot with a bow as it was last set.
pub fn run(args: &Bare, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, only, units) = lookup::of_bow(&home, &args.of)?;
    let timeline = Timeline::read(home.store(), bow.id)?;
    let dials = dials(&args.dial, &timeline.setup_now())?;
    let changes = timeline.changes().count();
    let mut by_archer: BTreeMap<Option<ThingId>, Vec<PlacedGroup>> = BTreeMap::new();
    for placed in timeline.shots().into_iter().filter(|p| only.is_none() || p.archer == only) {
        by_archer.entry(placed.archer).or_default().push(placed);
    }
    let names = lookup::names(&home, &["person", "arrows"])?;
    let name = |id: Option<ThingId>| id.and_then(|id| names.get(&id).cloned());
    let mut told = Vec::new();
    for (archer, placed) in by_archer {
        let Some((stretch, set, groups)) = last_setup(placed) else { continue };
        let person = person(&home, archer)?;
        let asked = Asked { bow_arm: person.bow_arm, hook: person.hook, dials: dials.clone() };
        told.push(Told {
            archer,
            name: name(archer).unwrap_or_else(|| "someone".into()),
            set: name(set),
            changed_since: stretch < changes,
            bow_arm: person.bow_arm,
            figures: bare_shaft(&groups, &asked, 0.95)?,
        });
    }
    if env.json {
        let archers: Vec<Value> = told.iter().map(|told| told.json(units)).collect();
        return env.print_json(&json!({"bow": bow.id, "archers": archers}));
    }
    if told.is_empty() {
        writeln!(env.out, "No end with {} holds both bare and fletched arrows: mark a bare shaft", bow.name)?;
        return Ok(writeln!(env.out, "with a b, for example `sheaf shoot elm 18m 9@1 9@5 10@3 8@9b`.")?);
    }
    told.iter().try_for_each(|told| tell(&bow.name, told, units, env))
}

/// Returns the groups of the last setup and set with which bare and fletched arrows were shot in one end.
fn last_setup(placed: Vec<PlacedGroup>) -> Option<(usize, Option<ThingId>, Vec<ShotGroup>)> {
    let setup = |p: &PlacedGroup| (p.stretch, p.set);
    let mut setups: Vec<_> = placed.iter().map(setup).collect();
    setups.dedup();
    setups.into_iter().rev().find_map(|(stretch, set)| {
        let same = placed.iter().filter(|p| setup(p) == (stretch, set));
        let groups: Vec<ShotGroup> = same.map(|p| p.group.clone()).collect();
        bare_shaft(&groups, &Asked::default(), 0.95).is_ok().then_some((stretch, set, groups))
    })
}

fn person(home: &Home, archer: Option<ThingId>) -> Result<Person, CliError> {
    let Some(id) = archer else { return Ok(Person::default()) };
    let thing = home.store().thing("person", id)?;
    Ok(thing.and_then(|thing| kind::read(&thing).ok()).unwrap_or_default())
}

/// Reads the dials that are typed: settings with a unit, each once.
fn dials(typed: &[String], setup: &Setup) -> Result<Vec<Dial>, CliError> {
    let mut dials: Vec<Dial> = Vec::new();
    for typed in typed {
        let mut dial = dial(typed)?;
        dial.setting = setting_pair::numeric(&dial.setting, setup)?;
        if dials.iter().any(|other| other.setting == dial.setting) {
            return Err(CliError::input(format!("the dial {} is given twice", dial.setting))
                .hint("leave out the one that is wrong"));
        }
        dials.push(dial);
    }
    Ok(dials)
}

fn dial(typed: &str) -> Result<Dial, CliError> {
    let read = || {
        let (setting, shift) = typed.split_once('=')?;
        let (right, high) = shift.split_once(',')?;
        let number = |text: &str| text.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        let shift_per_unit_mrad = [number(right)?, number(high)?];
        Some(Dial { setting: setting.trim().to_owned(), shift_per_unit_mrad })
    };
    read().ok_or_else(|| {
        CliError::input(format!("`{typed}` is no dial"))
            .hint("write SETTING=RIGHT,HIGH in mrad a unit, for example plunger_turns=1.6,0.1")
    })
}

fn tell(bow: &str, told: &Told, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let set = told.set.as_ref().map_or(String::new(), |set| format!(", {set}"));
    let title = format!("{} with {bow}{set}, as the bow was set when bare shafts were last shot", told.name);
    let title = render::paint(env, render::Tone::Strong, &title.replace(char::is_control, " "));
    writeln!(env.out, "{title}")?;
    let mut said = bare_sentences(&told.figures, told.bow_arm, units);
    said.extend(told.figures.notes.iter().map(|note| format!("Note: {note}.")));
    if told.bow_arm.is_none() {
        let how = "`sheaf set person NAME bow_arm=left` (or right) says which arm holds the bow";
        said.push(format!("Note: {how}."));
    }
    if told.changed_since {
        said.push("Note: the bow has been changed since.".into());
    }
    render::sentences(env, &said)?;
    writeln!(env.out)?;
    let (f, unit) = (&told.figures, units.unit());
    let head = format!("bare less fletched {unit}");
    let mut table =
        Table::new(&[("", Side::Left), (&head, Side::Right), ("95 %", Side::Left), ("p", Side::Right)]);
    for (axis, name) in ["right", "high"].into_iter().enumerate() {
        let bounds = f.interval_mm.map_or("-".into(), |i| i[axis].map(|v| units.number(v)).join(" to "));
        let p = f.p.map_or("-".into(), |p| p_value(p[axis]));
        table.row([name.to_owned(), units.number(f.difference_mm[axis]), bounds, p]);
    }
    table.print(env)?;
    let (bare, fletched) = (render::count(f.bare, "bare shaft"), render::count(f.fletched, "fletched arrow"));
    Ok(writeln!(env.out, "{bare}, {fletched} of the same ends; intervals hold together.")?)
}
