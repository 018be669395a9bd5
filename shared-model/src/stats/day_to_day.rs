//! Day to day: how much mean and spread vary between sessions, between ends and between arrows, and
//! whether the last session is different.
//!
//! # Formula
//! The variances are those of [`crate::stats::effects`]. The last session is set against the others as if a
//! change stood before its first group: a step between sessions, judged by what sessions vary (REML,
//! Kenward-Roger), so that a day is different only when it lies farther off than days do.
//! # Units
//! Points in mm on the face, x to the right, y up; shifts and SDs in mrad (mm at 1 m); distances in m.
//! # Source
//! As for `effects`: Kenward and Roger, Biometrics 53 (1997).
//! # Limits
//! The last session has to have at least two others of the same setup and sight beside it; with fewer, or
//! right after a change, it cannot be told apart and is said to be so.

use super::effects::{Change, Effect, EffectsInput, Location, Tightness, effects, session_name};
use crate::{ModelError, moment::Moment};
use serde::Serialize;
use std::collections::BTreeSet;

/// What the step before the last session is called.
const LAST_SESSION: &str = "the last session";

/// How an archer varies, and the last session against the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayToDay {
    /// The last session.
    pub session: String,
    /// When it began.
    pub at: Moment,
    /// Sessions in all.
    pub sessions: usize,
    /// Ends of the last session, and of the stretch before it that it is set against.
    pub ends: usize,
    /// Ends of the stretch before it.
    pub ends_before: usize,
    /// Whether its mean is that of other days.
    pub mean: Verdict,
    /// Whether its spread is.
    pub spread: Verdict,
    /// Its mean less that of the others.
    pub shift_mrad: Option<[f64; 2]>,
    /// The interval of that by axis.
    pub shift_interval_mrad: Option<[[f64; 2]; 2]>,
    /// P-value of no difference, both axes together.
    pub shift_p: Option<f64>,
    /// Its SD over that of the others.
    pub sd_ratio: Option<f64>,
    /// The interval of that.
    pub sd_ratio_interval: Option<[f64; 2]>,
    /// P-value of a ratio of 1.
    pub spread_p: Option<f64>,
    /// What cannot be told from the last session: changes made before it, or a sight move.
    pub inseparable_from: Vec<String>,
    /// SD of a session's mean by axis; null where the data cannot tell it.
    pub sd_session_mrad: [Option<f64>; 2],
    /// SD of an end's mean within its session by axis.
    pub sd_end_mrad: [Option<f64>; 2],
    /// SD of an arrow about its end by axis.
    pub sd_arrow_mrad: [Option<f64>; 2],
    /// SD of the log of a session's SD.
    pub session_log_sd: Option<f64>,
    /// The distance with the most arrows.
    pub distance_m: f64,
    /// What there is to know.
    pub notes: Vec<String>,
}

/// Whether a day is like the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It is different.
    Different,
    /// It is not shown to be different.
    NotShown,
    /// It cannot be told.
    CannotTell,
}

/// Says how an archer varies and whether the last session is different.
///
/// # Errors
/// Those of [`effects`], and `too_few` with a single session.
pub fn day_to_day(input: &EffectsInput) -> Result<DayToDay, ModelError> {
    let Last { session, at, sessions } = last(input)?;
    let mark = unused(&input.changes);
    // Another face would ask for the worth of a day, which nobody can set.
    let mut asked = EffectsInput { face: None, judge: Some(vec![mark.clone()]), ..input.clone() };
    asked.changes.push(Change { id: mark.clone(), at });
    let mut found = effects(&asked)?;
    let effect = found.effects.pop().ok_or_else(|| ModelError::new("too_few", "no session can be judged"))?;
    let sd = |variances: [Option<f64>; 2]| variances.map(|v| v.map(f64::sqrt));
    Ok(DayToDay {
        session,
        at,
        sessions,
        ends: effect.ends_after,
        ends_before: effect.ends_before,
        mean: mean(&effect),
        spread: spread(&effect),
        shift_mrad: effect.shift_mrad,
        shift_interval_mrad: effect.shift_interval_mrad,
        shift_p: effect.shift_p_adjusted,
        sd_ratio: effect.sd_ratio,
        sd_ratio_interval: effect.sd_ratio_interval,
        spread_p: effect.spread_p,
        inseparable_from: from(&effect, &mark),
        sd_session_mrad: sd(found.var_session_mrad2),
        sd_end_mrad: sd(found.var_end_mrad2),
        sd_arrow_mrad: sd(found.var_noise_mrad2),
        session_log_sd: found.session_log_sd,
        distance_m: found.distance_m,
        notes: found.notes.into_iter().chain(shift_notes(effect.notes)).collect(),
    })
}

/// The last session.
struct Last {
    session: String,
    /// When it began.
    at: Moment,
    /// How many sessions there are in all.
    sessions: usize,
}

fn last(input: &EffectsInput) -> Result<Last, ModelError> {
    let names: BTreeSet<String> = input.groups.iter().map(session_name).collect();
    let last = input.groups.iter().max_by_key(|group| group.at.instant());
    let (Some(last), true) = (last, names.len() > 1) else {
        let message = "there is one session or none; a day is set against others, so shoot another day first";
        return Err(ModelError::new("too_few", message).at("groups"));
    };
    let session = session_name(last);
    let of_it = input.groups.iter().filter(|group| session_name(group) == session).map(|group| group.at);
    let at = of_it.min_by_key(Moment::instant).unwrap_or(last.at);
    Ok(Last { session, at, sessions: names.len() })
}

fn unused(changes: &[Change]) -> String {
    let mut name = LAST_SESSION.to_owned();
    while changes.iter().any(|c| c.id == name) {
        name.push('\'');
    }
    name
}

/// The notes on a step speak of changes and faces; those on figures hold for a day as well.
fn shift_notes(notes: Vec<String>) -> impl Iterator<Item = String> {
    notes.into_iter().filter(|n| !n.starts_with("points_per_arrow") && !n.starts_with("ends_to_settle"))
}

/// A change made just before the session is one step with it.
fn shared<'a>(effect: &'a Effect, mark: &str) -> Vec<&'a String> {
    effect.changes.iter().filter(|id| *id != mark).collect()
}

fn from(effect: &Effect, mark: &str) -> Vec<String> {
    shared(effect, mark).into_iter().cloned().chain(effect.inseparable_from.iter().cloned()).collect()
}

fn mean(effect: &Effect) -> Verdict {
    match (effect.location, effect.shift_p_adjusted) {
        _ if effect.changes.len() > 1 => Verdict::CannotTell,
        (Location::Moved, _) => Verdict::Different,
        (Location::Inseparable, _) | (_, None) => Verdict::CannotTell,
        _ => Verdict::NotShown,
    }
}

fn spread(effect: &Effect) -> Verdict {
    match (effect.tight, effect.spread_p) {
        _ if effect.changes.len() > 1 => Verdict::CannotTell,
        (Tightness::Tighter | Tightness::Wider, _) => Verdict::Different,
        (Tightness::Inseparable, _) | (_, None) => Verdict::CannotTell,
        _ => Verdict::NotShown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        rng::{Rng, Seed},
        stats::effects::Group,
    };

    /// Sessions whose means vary by 1 mrad and whose last one lies `off` mrad to the right.
    fn season(sessions: usize, off: f64, seed: u64) -> EffectsInput {
        let mut rng = Rng::new(Seed(seed));
        let mut input = EffectsInput::default();
        for s in 0..sessions {
            let day = [rng.normal(), rng.normal()];
            for end in 0..6 {
                let at = format!("2026-04-{:02}T1{end}:00:00Z", s + 1);
                let right = day[0] + if s + 1 == sessions { off } else { 0.0 };
                let mut arrow = || [30.0 * (right + rng.normal()), 30.0 * (day[1] + rng.normal())];
                input.groups.push(Group {
                    at: Moment::read(&at).expect("a moment"),
                    session: None,
                    end: None,
                    distance_m: 30.0,
                    points_mm: (0..6).map(|_| arrow()).collect(),
                    flyers: Vec::new(),
                    sight: None,
                    sight_offset_mrad: None,
                });
            }
        }
        input
    }

    #[test]
    fn a_usual_day_is_rarely_called_different_and_an_odd_one_is() {
        let called = |off: f64| {
            let different = |seed: &u64| {
                day_to_day(&season(12, off, *seed)).expect("sessions").mean == Verdict::Different
            };
            (0..300).filter(different).count()
        };
        let (usual, odd) = (called(0.0), called(6.0));
        // 5 % of 300 are 15, with an SD of 4.
        assert!(usual <= 28, "{usual} of 300 usual days");
        assert!(odd >= 285, "{odd} of 300 odd days");
    }

    #[test]
    fn the_variances_are_those_that_were_put_in() {
        let found = day_to_day(&season(28, 0.0, 5)).expect("sessions");
        let sd = |v: [Option<f64>; 2]| v.map(|v| v.expect("known"));
        assert!(sd(found.sd_session_mrad).iter().all(|v| (0.7..1.4).contains(v)), "{found:?}");
        assert!(sd(found.sd_arrow_mrad).iter().all(|v| (0.93..1.07).contains(v)), "{found:?}");
        assert_eq!((found.sessions, found.ends, found.ends_before), (28, 6, 27 * 6));
        assert_eq!(found.session, "2026-04-28");
    }

    #[test]
    fn a_day_after_a_change_is_not_told_from_it_and_one_day_is_none() {
        let mut input = season(8, 0.0, 1);
        let before = Moment::read("2026-04-08T09:00:00Z").expect("a moment");
        input.changes.push(Change { id: "c1".into(), at: before });
        let found = day_to_day(&input).expect("sessions");
        assert_eq!((found.mean, found.inseparable_from[0].as_str()), (Verdict::CannotTell, "c1"));
        assert_eq!(day_to_day(&season(1, 0.0, 1)).expect_err("one day").code, "too_few");
        assert_eq!(day_to_day(&season(2, 0.0, 1)).expect("two").mean, Verdict::CannotTell);
    }
}
