//! Which limbs sit how on which riser, and the settings to go to when limbs are put on.

mod go_to;

use super::{
    bow::{day_words, names},
    moved::gone_from,
    sentence::list,
};
use crate::{
    id::ThingId,
    kind::{self, Pair},
    log::Stamp,
    moment::Moment,
    named::{self, name_of},
    records::{author, own_limbs, own_parts, part_id, settings_of, setup_here},
    replica::Store,
    rig::{
        caution,
        limits::Finding,
        pair::{SETTINGS, fit_caution, fit_words},
    },
    timeline::{Altered, Setup},
};
use go_to::{GoTo, Makers, instead};
use serde::Serialize;
use std::collections::BTreeMap;

/// Every riser with every pair of limbs that the team has.
#[derive(Debug, Clone, Serialize)]
pub struct Pairs {
    /// One a riser and a pair of limbs.
    pub rows: Vec<PairRow>,
    /// How many are measured, in a sentence.
    pub head: String,
    /// How limbs can fit, each in plain words.
    pub fits: Vec<FitName>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

/// How limbs can fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FitName {
    /// The word in the records.
    pub id: &'static str,
    /// What it means.
    pub name: &'static str,
}

/// A riser with a pair of limbs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairRow {
    /// The bow that the riser is of; none for a riser that is on none.
    pub bow: Option<ThingId>,
    /// Its name.
    pub bow_name: Option<String>,
    /// The riser, where it is a part of the records.
    pub riser: Option<ThingId>,
    /// The riser's name; the bow's where it has none of its own.
    pub riser_name: String,
    /// The pair of limbs.
    pub limbs: ThingId,
    /// Its name.
    pub limbs_name: String,
    /// Whether the pair is on that bow now.
    pub on: bool,
    /// The record; none where the pair was not measured.
    pub pair: Option<ThingId>,
    /// How the limbs sit: tight, true or loose.
    pub fit: Option<String>,
    /// The same in plain words, or `not measured`.
    pub fit_words: String,
    /// The settings to go to, in the order in which they are set; none where the limbs do not sit true.
    pub settings: Vec<PairSetting>,
    /// The same in words, or why there are none.
    pub settings_words: String,
    /// What was noted with it and lies beyond a maker's limit: nothing to go to.
    pub left_out: Vec<String>,
    /// When it was measured, in words.
    pub day: Option<String>,
    /// Who measured it.
    pub by: Option<String>,
    /// That it was measured on another riser than is on the bow now.
    pub other_riser: Option<String>,
    /// The remark that its record holds.
    pub note: Option<String>,
    /// What to take care of.
    pub caution: Option<&'static str>,
}

/// A setting to go to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairSetting {
    /// Which setting.
    pub setting: &'static str,
    /// What it is to be, in its unit.
    pub value: f64,
    /// The same in words.
    pub words: String,
}

/// What to do when limbs are put on a riser.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PairAdvice {
    /// Sentences, the first of them about the fit.
    pub words: Vec<String>,
    /// The settings to go to; none where the pair was not measured.
    pub settings: Vec<PairSetting>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

/// A pair that is kept.
struct Kept {
    id: ThingId,
    record: Pair,
    at: Option<Moment>,
    stamp: Option<Stamp>,
    by: Option<ThingId>,
}

/// A riser, with the bow that it is of.
struct Riser {
    bow: Option<ThingId>,
    part: Option<ThingId>,
    limbs_on: Option<ThingId>,
}

/// Returns every riser with every pair of limbs in use; `only` is the one bow that is asked about.
///
/// # Errors
/// Those of the store.
pub fn pairs<S: Store>(store: &S, only: Option<ThingId>) -> Result<Pairs, S::Error> {
    let (names, kept, limbs) = (names(store)?, kept(store)?, own_limbs(store)?);
    let makers = Makers::read(store)?;
    let mut rows = Vec::new();
    for riser in risers(store, only)? {
        for pair in &limbs {
            rows.push(row(&riser, pair.id, &kept, &makers, &names));
        }
    }
    let measured = rows.iter().filter(|row| row.pair.is_some()).count();
    let head = match (rows.len(), limbs.is_empty()) {
        (_, true) => "No limbs are in the records yet: add each pair as a part.".to_owned(),
        (0, _) => "No bow and no riser is in the records yet.".to_owned(),
        (1, _) if measured == 1 => "The one pair that there is is measured.".to_owned(),
        (all, _) => format!("{measured} of {all} combinations of riser and limbs are measured."),
    };
    let cautions = rows.iter().filter_map(|row| row.caution);
    let always = [caution::LIMB_BOLTS, caution::LIMBS, caution::FIRST];
    let cautions = caution::once(cautions.chain(always));
    let name = |id: &&'static str| Some(FitName { id, name: fit_words(id)? });
    let fits = kind::FITS.iter().filter_map(name).collect();
    Ok(Pairs { rows, head, fits, cautions })
}

/// Returns what to go to and what to take care of where a change puts limbs, or a riser, on a bow; nothing for any other
/// change. `before` is the setup before the change.
///
/// # Errors
/// Those of the store.
pub fn pair_advice<S: Store>(
    store: &S,
    bow: ThingId,
    before: &Setup,
    altered: &[Altered],
) -> Result<Option<PairAdvice>, S::Error> {
    let put = |setting: &str| altered.iter().find(|one| one.setting == setting);
    if put("limbs").is_none() && put("riser").is_none() {
        return Ok(None);
    }
    let gone = gone_from(store, bow, before)?;
    let after = |setting: &str| match put(setting) {
        Some(one) => one.after.as_str().and_then(|text| text.parse().ok()),
        None => part_id(before, setting).filter(|_| !gone.contains_key(setting)),
    };
    let Some(limbs) = after("limbs") else { return Ok(None) };
    let riser = Riser { bow: Some(bow), part: after("riser"), limbs_on: Some(limbs) };
    let names = names(store)?;
    let row = row(&riser, limbs, &kept(store)?, &Makers::read(store)?, &names);
    let with: Vec<&str> = altered.iter().map(|one| one.setting.as_str()).collect();
    Ok(Some(advice(&row, &with)))
}

/// Says of a pair what to go to; what was set with the same change needs no word.
fn advice(row: &PairRow, with: &[&str]) -> PairAdvice {
    let of = format!("{} on {}", row.limbs_name, row.riser_name);
    if row.pair.is_none() {
        return unmeasured(&of, with);
    }
    let by = [row.day.clone(), row.by.as_ref().map(|by| format!("by {by}"))];
    let by: Vec<String> = by.into_iter().flatten().collect();
    let mut words = vec![format!("{of}, {} (measured {}).", row.fit_words, by.join(" "))];
    words.extend(row.other_riser.iter().cloned());
    words.extend(row.left_out.iter().cloned());
    let settings: Vec<PairSetting> =
        row.settings.iter().filter(|one| !with.contains(&one.setting)).cloned().collect();
    let told: Vec<String> = settings.iter().map(|one| one.words.clone()).collect();
    words.push(next(row, &told));
    words.extend(row.note.iter().map(|note| format!("Noted with it: {note}")));
    let cautions = caution::once(row.caution.into_iter().chain([caution::LIMB_BOLTS, caution::LIMBS]));
    PairAdvice { words, settings, cautions }
}

/// Says what to measure of limbs that were not measured on a riser yet.
fn unmeasured(of: &str, with: &[&str]) -> PairAdvice {
    let wanted = SETTINGS.iter().filter(|setting| !with.contains(setting));
    let wanted: Vec<String> = wanted.map(|setting| super::altered::name_and_unit(setting).0).collect();
    let mut words = vec![format!(
        "{of} is not measured yet. See that both limbs seat fully and how they fit (tight, true or loose)."
    )];
    if !wanted.is_empty() {
        words.push(format!("Once the pair is true, measure {} and note the pair.", list(&wanted)));
    }
    PairAdvice { words, settings: Vec::new(), cautions: vec![caution::LIMB_BOLTS, caution::LIMBS] }
}

/// Says what to do with limbs that were measured; `told` are the settings that are still to be gone to.
fn next(row: &PairRow, told: &[String]) -> String {
    if let Some(instead) = instead(row.fit.as_deref()) {
        return instead.to_owned();
    }
    match (told.is_empty(), row.settings.is_empty(), row.left_out.is_empty()) {
        (false, ..) => format!("Go to {}; then measure again, from the brace height on.", list(told)),
        (true, true, false) => {
            "Set the bolts within what the makers allow, then measure alignment and tiller anew.".into()
        }
        (true, true, true) => "No settings were noted with it: measure bolts, alignment and tiller.".into(),
        (true, false, _) => {
            "Its settings are set with this change; measure again, from the brace height on.".into()
        }
    }
}

/// Returns how limbs sit on the riser of a bow, as the pair was noted last; nothing where that was another riser.
pub(super) fn fit_of<S: Store>(
    store: &S,
    bow: ThingId,
    riser: Option<ThingId>,
    limbs: ThingId,
) -> Result<Option<String>, S::Error> {
    let on = Riser { bow: Some(bow), part: riser, limbs_on: Some(limbs) };
    let kept = kept(store)?;
    let (found, same) = kept_of(&on, limbs, &kept);
    let found = found.filter(|one| same || riser.is_none() || one.record.riser.is_none());
    Ok(found.and_then(|one| one.record.fit.clone()))
}

/// Returns which settings of a pair that is noted lie beyond what the makers of its riser and limbs allow.
///
/// # Errors
/// Those of the store.
pub fn pair_beyond<S: Store>(store: &S, pair: &Pair) -> Result<Vec<Finding>, S::Error> {
    let Some(limbs) = pair.limbs else { return Ok(Vec::new()) };
    Ok(Makers::read(store)?.beyond(pair.riser, limbs, &settings_of(pair)))
}

/// Returns the pairs that are kept and in use, the latest first.
fn kept<S: Store>(store: &S) -> Result<Vec<Kept>, S::Error> {
    let mut found = Vec::new();
    store.visit("pair", None, &mut |thing| {
        let Ok(record) = kind::read::<Pair>(thing) else { return };
        if record.retired {
            return;
        }
        let at = record.at.as_deref().and_then(|at| Moment::read(at).ok());
        found.push(Kept { id: thing.id, at, stamp: thing.born(), by: author(thing), record });
    })?;
    found.sort_by_key(|one| std::cmp::Reverse((one.at.map(|at| at.unix_ms()), one.stamp)));
    Ok(found)
}

/// Returns the risers of the bows in use, and those that are on none.
fn risers<S: Store>(store: &S, only: Option<ThingId>) -> Result<Vec<Riser>, S::Error> {
    let mut bows = named::all(store, "bow")?;
    bows.retain(|bow| only.map_or(!bow.retired, |only| bow.id == only));
    bows.sort_by(|a, b| a.name.cmp(&b.name).then(a.id.cmp(&b.id)));
    let mut risers = Vec::new();
    for bow in bows {
        let setup = setup_here(store, bow.id)?.setup;
        let (part, limbs_on) = (part_id(&setup, "riser"), part_id(&setup, "limbs"));
        risers.push(Riser { bow: Some(bow.id), part, limbs_on });
    }
    if only.is_none() {
        let mut parts = own_parts(store, "riser")?;
        parts.retain(|part| risers.iter().all(|riser| riser.part != Some(part.id)));
        risers.extend(parts.iter().map(|part| Riser { bow: None, part: Some(part.id), limbs_on: None }));
    }
    Ok(risers)
}

/// Returns how limbs sit on a riser by the latest record of it; else by the latest on its bow, with whatever riser.
fn row(
    riser: &Riser,
    limbs: ThingId,
    kept: &[Kept],
    makers: &Makers,
    names: &BTreeMap<ThingId, String>,
) -> PairRow {
    let (found, same) = kept_of(riser, limbs, kept);
    let riser_name = riser.part.or(riser.bow).map_or_else(String::new, |id| name_of(names, id));
    let fit = found.and_then(|one| one.record.fit.clone()).map(|fit| fit.replace(char::is_control, " "));
    let go_to = found.map(|one| GoTo::of(&one.record, riser.part, limbs, makers)).unwrap_or_default();
    PairRow {
        bow: riser.bow,
        bow_name: riser.bow.map(|id| name_of(names, id)),
        riser: riser.part,
        limbs,
        limbs_name: name_of(names, limbs),
        on: riser.limbs_on == Some(limbs),
        pair: found.map(|one| one.id),
        fit_words: match (&fit, found) {
            (Some(fit), _) => fit_words(fit).map_or_else(|| fit.clone(), str::to_owned),
            (None, Some(_)) => "its fit is not noted".into(),
            (None, None) => "not measured".into(),
        },
        settings: go_to.settings,
        settings_words: go_to.words,
        left_out: go_to.left_out,
        day: found.and_then(|one| one.at).map(|at| day_words(&at.day())),
        by: found.and_then(|one| one.by).map(|id| name_of(names, id)),
        other_riser: found.filter(|_| !same).map(|one| other_riser(one, riser, &riser_name, names)),
        note: found.and_then(|one| one.record.note.clone()).map(|note| note.replace(char::is_control, " ")),
        caution: fit.as_deref().and_then(fit_caution),
        riser_name,
        fit,
    }
}

/// Returns the latest record of limbs on a riser, and whether it was measured on that riser: else it is one of the bow.
fn kept_of<'a>(riser: &Riser, limbs: ThingId, kept: &'a [Kept]) -> (Option<&'a Kept>, bool) {
    let of_limbs = || kept.iter().filter(|one| one.record.limbs == Some(limbs));
    let same = of_limbs().find(|one| match (riser.part, one.record.riser) {
        (Some(part), Some(measured)) => part == measured,
        (None, None) => one.record.bow == riser.bow,
        _ => false,
    });
    let of_bow = || of_limbs().find(|one| riser.bow.is_some() && one.record.bow == riser.bow);
    (same.or_else(of_bow), same.is_some())
}

/// Says that the pair was measured on another riser than is on the bow now.
fn other_riser(one: &Kept, riser: &Riser, now: &str, names: &BTreeMap<ThingId, String>) -> String {
    let then = one.record.riser.map(|id| name_of(names, id));
    match (then, riser.part) {
        (Some(then), Some(_)) => {
            format!("Measured on the riser {then}, and {now} is on the bow now: measure this pair anew.")
        }
        (Some(then), None) => {
            format!("Measured on the riser {then}; which riser is on the bow now is not noted.")
        }
        (None, _) => format!(
            "When this was measured no riser was noted on the bow; {now} is on it now: measure anew if that is another one."
        ),
    }
}
