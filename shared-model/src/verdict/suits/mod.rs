//! One arrow set held against several bows: weight on the fingers, grains a pound, speed, length, bare shafts, and
//! whether the set suits each, with the limits said.

mod bare;
mod mass;

pub use bare::BareAt;
pub use mass::ByMass;
pub(super) use mass::SetOnBow;

use super::{
    arrow_set::{mean_mass_gr, unknown},
    bow::names,
    bow_sheet::{PRACTICE, Room, Said, on_fingers, shortest},
    sentence::{list, upper_first},
    speed::speeds,
    units::Units,
};
use crate::{
    id::ThingId,
    kind::{self, Arrows, Bow},
    named::name_of,
    records::arrow_set,
    replica::Store,
    rig::caution,
    timeline::Timeline,
};
use serde::Serialize;

/// One set and several bows.
#[derive(Debug, Clone, Serialize)]
pub struct Suits {
    /// Which set.
    pub set: ThingId,
    /// Its name.
    pub name: String,
    /// The answer in a sentence or two.
    pub head: String,
    /// Each bow.
    pub bows: Vec<SuitBow>,
    /// What holds for all of them.
    pub said: Vec<Said>,
    /// What the records lack for more to follow.
    pub wanted: Vec<String>,
    /// Every caution that stands beside something above, and whose word comes first.
    pub cautions: Vec<&'static str>,
}

/// The set on one bow.
#[derive(Debug, Clone, Serialize)]
pub struct SuitBow {
    /// Which bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// Whether the arrows are heavy enough for it.
    pub by_mass: ByMass,
    /// Whether that is judged by the common floor alone, since no maker of riser or limbs is known to say anything of arrows.
    pub by_floor: bool,
    /// Whether they are too short for an archer who shoots it.
    pub too_short: bool,
    /// Which arrows are too short for a draw, or leave less before the grip than is usual, in a clause.
    pub short: Option<String>,
    /// The weight on the fingers from least to most, lbf; the most is null in JSON where only the least is known.
    pub weight_lbf: Option<[f64; 2]>,
    /// Grains of the lightest arrow on each pound, from least to most.
    pub grains_per_pound: Option<[f64; 2]>,
    /// The speed that was measured, ft/s, where it can be of the bow as it is.
    pub speed_fps: Option<f64>,
    /// Who drew for it.
    pub speed_archer: Option<ThingId>,
    /// What is said of weight, mass, speed and length, in this order.
    pub words: Vec<Said>,
    /// Where bare shafts land with it, an archer each.
    pub bare: Vec<BareAt>,
}

/// Returns how a set suits some bows; those that shoot it where none is named. `me` is who asks.
///
/// # Errors
/// Those of the store, and `unknown_thing`.
pub fn suits<S: Store>(
    store: &S,
    set: ThingId,
    bows: &[ThingId],
    me: ThingId,
    units: Units,
) -> Result<Suits, S::Error> {
    let Some(record) = arrow_set(store, Some(set))?.map(Arrows::measured) else {
        return Err(unknown(set).into());
    };
    let names = names(store)?;
    let name = name_of(&names, set);
    let asked = if bows.is_empty() { set_bows(store, set, true)? } else { bows.to_vec() };
    let (mut rows, mut wanted) = (Vec::new(), Vec::new());
    for bow in asked {
        let on = on_bow(store, bow, set, &record, me, units)?;
        let bare = bare::bare_at(store, bow, set, &names, units)?;
        wanted.extend(on.wanted.iter().filter(|w| w.contains("weight")).map(|w| format!("{}: {w}", on.name)));
        rows.push(on.row(&name, mean_mass_gr(&record), bare));
    }
    if mean_mass_gr(&record).is_none() {
        wanted.push("the mass of the arrows, for their grains a pound".into());
    }
    if rows.iter().all(|row| row.bare.is_empty()) {
        wanted.push("ends with bare shafts beside fletched ones, which tell whether the spine suits".into());
    }
    let said = vec![spine(&record)];
    let all = rows.iter().flat_map(|row| &row.words).chain(&said).filter_map(|said| said.caution);
    let cautions = caution::once(all.chain([caution::FIRST]));
    Ok(Suits { set, head: head(&name, &rows), name, bows: rows, said, wanted, cautions })
}

/// Returns the bows in use that shoot a set or have it noted on them; with `else_all` every bow in use where there is none.
pub(super) fn set_bows<S: Store>(store: &S, set: ThingId, else_all: bool) -> Result<Vec<ThingId>, S::Error> {
    let mut all = Vec::new();
    store.visit("bow", None, &mut |thing| {
        if kind::read::<Bow>(thing).is_ok_and(|bow| !bow.retired) {
            all.push(thing.id);
        }
    })?;
    let mut with = Vec::new();
    for bow in &all {
        let timeline = Timeline::read(store, *bow)?;
        let noted = timeline.setup_now().get("arrows").and_then(|on| on.value.as_str()?.parse().ok());
        if noted == Some(set) || timeline.shots().iter().any(|placed| placed.set == Some(set)) {
            with.push(*bow);
        }
    }
    Ok(if with.is_empty() && else_all { all } else { with })
}

/// Returns what is known of a set on a bow.
pub(super) fn on_bow<S: Store>(
    store: &S,
    bow: ThingId,
    set: ThingId,
    record: &Arrows,
    me: ThingId,
    units: Units,
) -> Result<SetOnBow, S::Error> {
    let fingers = on_fingers(store, bow, me, units)?;
    let name = name_of(&names(store)?, bow);
    Ok(SetOnBow {
        bow,
        name,
        lightest: record.lightest_gr(),
        room: shortest(record).and_then(|shortest| Room::left(shortest, &fingers.archers)),
        speeds: speeds(store, bow, set)?,
        said: fingers.said,
        weight_lbf: fingers.weight_lbf,
        makers: fingers.parts,
        wanted: fingers.wanted,
    })
}

/// Says what a spine can and cannot tell.
fn spine(record: &Arrows) -> Said {
    let own: Vec<f64> = record.shafts().values().filter(|s| !s.out).filter_map(|s| s.spine).collect();
    let noted = own.first().copied().or(record.spine);
    let of = noted.map_or_else(String::new, |spine| format!(" of {spine}"));
    Said {
        words: format!(
            "Whether a spine{of} suits a bow only bare shafts and groups tell; to choose one, the charts of the makers of \
             shafts and limbs come first."
        ),
        source: PRACTICE.into(),
        caution: Some(caution::CARBON),
    }
}

/// Returns the answer over all bows in a sentence or two: what is not to be shot comes first.
fn head(name: &str, rows: &[SuitBow]) -> String {
    if rows.is_empty() {
        return format!("No bow is in use that {name} could be held against.");
    }
    let light = of(rows, |row| row.by_mass == ByMass::TooLight);
    let mut parts = Vec::new();
    if !light.is_empty() {
        parts.push(format!("do not shoot {name} from {}: too light for it", list(&light)));
    }
    // Where a point would come behind the grip goes before where little is missing.
    for behind in [true, false] {
        parts.extend(rows.iter().filter(|row| row.too_short == behind).filter_map(|row| row.short.clone()));
    }
    parts.extend(by_mass(name, rows));
    for row in rows {
        parts.extend(
            row.bare.iter().filter_map(|bare| Some(format!("on {} {}", row.name, bare.short.as_ref()?))),
        );
    }
    let stop = if light.is_empty() && rows.iter().all(|row| !row.too_short) { "" } else { "Stop. " };
    format!("{stop}{}.", upper_first(&parts.join("; ")))
}

/// Returns which bows a set suits by mass, and for which that cannot be told.
fn by_mass(name: &str, rows: &[SuitBow]) -> Vec<String> {
    let fit = of(rows, |row| row.by_mass == ByMass::Suits && row.short.is_none());
    // What is said of a length that is short is not taken back by a word of suiting.
    let heavy = of(rows, |row| row.by_mass == ByMass::Suits && row.short.is_some());
    let open = of(rows, |row| row.by_mass == ByMass::CannotTell);
    let floor = of(rows, |row| row.by_floor && row.by_mass == ByMass::Suits);
    let mut parts = Vec::new();
    match (fit.len(), rows.len()) {
        (0, _) => {}
        (2, 2) => parts.push(format!("{name} suits both {} by mass", list(&fit))),
        (_, _) => parts.push(format!("{name} suits {} by mass", list(&fit))),
    }
    if !heavy.is_empty() {
        parts.push(format!("by mass it is heavy enough for {}", list(&heavy)));
    }
    if !floor.is_empty() {
        parts.push(format!("of {} that is by the common floor alone: ask the makers", list(&floor)));
    }
    if !open.is_empty() {
        parts.push(format!("whether it is heavy enough for {} cannot be told yet", list(&open)));
    }
    parts
}

/// Returns the names of the bows of which something holds.
fn of(rows: &[SuitBow], holds: impl Fn(&SuitBow) -> bool) -> Vec<String> {
    rows.iter().filter(|row| holds(row)).map(|row| row.name.clone()).collect()
}
