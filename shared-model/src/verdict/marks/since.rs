//! What was altered since marks were found, and by how much the groups say that moved them.
//!
//! A group that lies s mrad high needs the launch angle lower by s: the mark goes by −b s/1000, b the slope of the
//! curve; a crawl lowers the eye as well, a gap at d goes by −s d. Steps of several changes are added, and so are the
//! halves of their intervals, which makes them rather too wide.

use super::{
    Known,
    gather::{Family, Moving, differing, moves},
};
use crate::{
    kind::same_value,
    replica::Store,
    stats::{
        effects::{Effect, Location},
        marks::{MarkedOn, Marks, marks},
    },
    timeline::{Altered, Asked},
    verdict::{
        altered::altered,
        bow::{ArcherVerdict, Judged, bow_verdict},
        sentence::{directed, list, upper_first},
        units::Units,
    },
};
use std::collections::BTreeSet;

/// A step with half its interval: of the groups in height, mrad, or of a mark on its scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub value: f64,
    pub half: f64,
}

/// The least share of a step in angle that has to be left to a crawl: chosen, no source.
const LEAST_LEFT: f64 = 0.1;

impl<S: Store> Known<'_, S> {
    /// Returns what of a setup is otherwise now.
    pub fn differs(&self, what: MarkedOn, setup: &Moving) -> Vec<Altered> {
        differing(setup, &self.moving(what, i64::MAX))
    }

    /// Returns what was altered in words.
    pub fn altered_words(&self, differs: &[Altered]) -> String {
        let one = |a: &Altered| altered(a, &|id| self.names.get(&id).cloned());
        list(&differs.iter().map(one).collect::<Vec<_>>())
    }

    /// Returns what the groups say of the changes since a family's marks were found, a sentence each.
    pub fn expected(&self, set: &Family, figures: &Marks) -> Result<Vec<String>, S::Error> {
        let moving = self.moving_changes(set);
        // Groups of several distances tell one angle, which a change of arrow speed does not make: one distance alone is asked.
        let of = |distance_m| self.archer_at(set, distance_m);
        let Some(archer) = of(None).and_then(|all| of(Some(all.distance_m))) else {
            return Ok(vec![shoot(set, self.asked.units)]);
        };
        let judged: Vec<&Judged> = archer
            .verdicts
            .iter()
            .filter(|v| v.effect.changes.iter().any(|id| moving.contains(id)))
            .collect();
        let told: BTreeSet<&String> = judged.iter().flat_map(|v| &v.effect.changes).collect();
        let all = moving.iter().all(|id| told.contains(id));
        let steps: Option<Vec<Step>> = judged.iter().map(|v| step(&v.effect)).collect();
        Ok(match steps.filter(|steps| all && !steps.is_empty()) {
            None => cannot_tell(&judged, set, self.asked.units),
            Some(steps) => {
                let before = self.reading_at(set, archer.distance_m)?;
                tell(&archer, &judged, &steps, (figures, before), self.asked.units)
            }
        })
    }

    /// Returns what the marks of a family say of a distance; nothing too far beyond them.
    fn reading_at(&self, set: &Family, distance_m: f64) -> Result<Option<f64>, S::Error> {
        let (input, _) = self.question(set, vec![distance_m])?;
        Ok(marks(&input)?.table.first().and_then(|row| row.value))
    }

    /// Returns what the groups of the family's archer say, of one distance or of all; groups that cannot be judged are no reason
    /// to lose the marks.
    fn archer_at(&self, set: &Family, distance_m: Option<f64>) -> Option<ArcherVerdict> {
        let asked = Asked { distance_m, ..Asked::default() };
        let found = bow_verdict(self.store, self.bow, set.archer, &asked, self.asked.units).ok()?;
        found.archers.into_iter().find(|a| set.archer.is_some() && a.archer == set.archer)
    }

    /// Returns the changes after a family's marks that altered what moves them.
    fn moving_changes(&self, set: &Family) -> BTreeSet<String> {
        let after = set.latest_ms();
        let alters = |a: &Altered| {
            moves(set.what, &a.setting) && a.before.as_ref().is_some_and(|b| !same_value(b, &a.after))
        };
        let later = self.stretches.iter().filter(|s| s.at.is_some_and(|at| at.unix_ms() > after));
        later.filter(|s| s.altered.iter().any(alters)).filter_map(|s| Some(s.change?.to_string())).collect()
    }
}

fn step(effect: &Effect) -> Option<Step> {
    let [_, mrad] = effect.shift_mrad?;
    let [_, [low, high]] = effect.shift_interval_mrad?;
    Some(Step { value: mrad, half: 0.5 * (high - low) })
}

/// Says what to shoot where there are no groups to tell.
fn shoot(set: &Family, units: Units) -> String {
    format!(
        "No groups shot both before and after what was altered tell by how much the marks moved. {}",
        outwards(set, units)
    )
}

/// Says where marks that no longer hold are found anew: the farthest butt is the first to be missed (common practice, no
/// source).
fn outwards(set: &Family, units: Units) -> String {
    let nearest = set.marks.iter().map(|m| m.distance_m).fold(f64::MAX, f64::min);
    format!(
        "Find the marks anew from the nearest distance on: begin at {} or nearer, where a safe backstop stands behind the \
         butt, and work outwards from there, distance by distance.",
        units.distance(nearest)
    )
}

fn cannot_tell(judged: &[&Judged], set: &Family, units: Units) -> Vec<String> {
    let mut said: Vec<String> = judged.iter().filter_map(|v| v.next.clone()).collect();
    said.dedup();
    if said.is_empty() {
        return vec![shoot(set, units)];
    }
    let mut all = vec!["The groups cannot tell by how much the marks moved.".to_owned()];
    all.extend(said);
    all.push(outwards(set, units));
    all
}

fn tell(
    archer: &ArcherVerdict,
    judged: &[&Judged],
    steps: &[Step],
    (figures, before): (&Marks, Option<f64>),
    units: Units,
) -> Vec<String> {
    let d = archer.distance_m;
    let sum = Step { value: steps.iter().map(|s| s.value).sum(), half: steps.iter().map(|s| s.half).sum() };
    let what = upper_first(&list(&judged.iter().map(|v| v.what.clone()).collect::<Vec<_>>()));
    let high = |mrad: f64| directed(mrad * d, 1, units);
    let range = format!("95 %: {} to {}", high(sum.value - sum.half), high(sum.value + sum.half));
    let (at, now) = (units.distance(d), high(sum.value));
    let mut said = vec![match judged {
        [one] if one.effect.location == Location::Moved => {
            format!("{what}, {}, moved your groups: {now} at {at} ({range}).", one.day)
        }
        [one] if one.effect.location == Location::Held => {
            format!("{what}, {}: no movement of the groups that matters at {at} ({range}).", one.day)
        }
        _ if sum.value.abs() > sum.half => {
            let way = if sum.value < 0.0 { "lower" } else { "higher" };
            let by = units.length((sum.value * d).abs());
            format!("{what}: your groups land {by} {way} than before at {at} ({range}).")
        }
        _ => format!("{what}: the groups cannot tell yet; so far {now} at {at} ({range})."),
    }];
    said.extend(marks_words((figures, before), sum, d, units));
    if judged.iter().all(|v| v.effect.location == Location::Unsettled) {
        said.extend(judged.iter().filter_map(|v| v.next.clone()).take(1));
    }
    said
}

/// Says what the groups' step is on the scale of the marks, and what that rests on.
fn marks_words(
    (figures, before): (&Marks, Option<f64>),
    step: Step,
    distance_m: f64,
    units: Units,
) -> Vec<String> {
    let at = units.distance(distance_m);
    let Some(by) = moved_mark(figures, step, distance_m) else {
        let told = "These marks cannot say how much of the scale that is. With the arrow's speed, or with marks at more \
                    distances, they can.";
        return vec![told.into()];
    };
    let fitted = figures.what != MarkedOn::Gap && figures.speed.is_some_and(|speed| !speed.known);
    let rests =
        if fitted { " It rests on the fitted arrow speed; a measured one makes it surer." } else { "" };
    vec![
        mark_words(figures, by, before, &at, units),
        format!(
            "That holds for {at}: where the arrow's speed changed, farther marks move by more and nearer ones by less.{rests}"
        ),
    ]
}

/// Returns by how much a mark at a distance goes when the groups there move, with half its interval.
pub(super) fn moved_mark(figures: &Marks, step: Step, distance_m: f64) -> Option<Step> {
    let (b, half_b) = match figures.what {
        MarkedOn::Gap => (1000.0 * distance_m, 0.0),
        MarkedOn::Sight | MarkedOn::Crawl => {
            let (b, [low, high]) = (figures.slope?, figures.slope_interval?);
            (b, (b - low).max(high - b))
        }
    };
    // An angle too uncertain even for its sign says nothing.
    if half_b >= b.abs() {
        return None;
    }
    // A crawl takes the eye along; where that takes nearly all of it back, the marks say nothing.
    let below = if figures.what == MarkedOn::Crawl { 1.0 + 1e-3 * b / distance_m } else { 1.0 };
    let eye = (below > LEAST_LEFT).then_some(1.0 / below)?;
    let half = libm::hypot(b * step.half, half_b * step.value) * eye.abs();
    Some(Step { value: -1e-3 * b * eye * step.value, half: 1e-3 * half })
}

/// Says what will be read: a higher number may be a lower sight, so no way to turn it is named.
fn mark_words(figures: &Marks, by: Step, before: Option<f64>, at: &str, units: Units) -> String {
    let (low, high) = (by.value - by.half, by.value + by.half);
    let sure = low > 0.0 || high < 0.0;
    let (noun, verb) = match figures.what {
        MarkedOn::Sight => ("sight", "read"),
        MarkedOn::Crawl => ("crawl", "be"),
        MarkedOn::Gap => ("gap", "be"),
    };
    let Some(before) = before else {
        let than = |v: f64| {
            let more = if v < 0.0 { "less" } else { "more" };
            format!("{} {more}", super::words::difference(figures, v.abs(), units))
        };
        let [low, now, high] = [low, by.value, high].map(than);
        return if sure {
            format!("At {at} expect the {noun} to {verb} {now} than it did (95 %: {low} to {high}).")
        } else {
            format!("At {at} the {noun} may {verb} anything from {low} to {high} than it did.")
        };
    };
    let read = |v: f64| super::words::moved_reading(figures, v, by.value, units);
    let [low, now, high] = [low, by.value, high].map(|step| read(before + step));
    let before = read(before);
    if sure {
        return format!(
            "At {at} expect the {noun} to {verb} {now} instead of {before} (95 %: {low} to {high})."
        );
    }
    format!("At {at} the {noun} may {verb} anything from {low} to {high} now, instead of {before}.")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        rig::trajectory::Launch,
        stats::marks::{Flight, MarksInput, Reading},
    };

    const ARROW: Launch = Launch {
        speed_m_s: 57.0,
        launch_angle_deg: 0.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: 2.0,
        air_density_kg_m3: 1.225,
    };

    /// What an archer reads with an arrow of some speed: a pin before the eye, a crawl, a gap.
    fn read(what: MarkedOn, b: f64, speed: f64, d: f64) -> f64 {
        let arrow = Launch { speed_m_s: speed, ..ARROW };
        let tangent = |rise: f64| arrow.tangent_to(d, rise).unwrap();
        match what {
            MarkedOn::Sight => 3.0 + b * tangent(0.1),
            MarkedOn::Gap => 1000.0 * d * (tangent(0.1) - 0.08),
            MarkedOn::Crawl => (0..40).fold(0.0, |c: f64, _| 105.0 + b * tangent((100.0 - c) / 1000.0)),
        }
    }

    /// Where arrows of another speed land, mm high, when all is held as for the old one.
    fn landed(what: MarkedOn, b: f64, d: f64, speed: f64) -> f64 {
        let eye = if what == MarkedOn::Crawl { 0.1 - 1e-3 * read(what, b, 57.0, d) } else { 0.1 };
        let held = ARROW.tangent_to(d, eye).unwrap();
        let launch = Launch { speed_m_s: speed, launch_angle_deg: libm::atan(held).to_degrees(), ..ARROW };
        1000.0 * (launch.at(d).unwrap().unwrap().y_m - eye)
    }

    #[test]
    fn a_mark_goes_the_way_that_a_simulated_change_of_speed_moves_it() {
        for (what, b) in [
            (MarkedOn::Sight, 850.0),
            (MarkedOn::Sight, -85.0),
            (MarkedOn::Crawl, -720.0),
            (MarkedOn::Gap, 0.0),
        ] {
            let one = |d: f64| Reading { distance_m: d, reading: read(what, b, 57.0, d) };
            let input = MarksInput {
                what,
                marks: [12.0, 18.0, 25.0, 30.0, 40.0].map(one).to_vec(),
                speed_m_s: Some(57.0),
                flight: Flight::default(),
                resolution: Some(0.01),
                confidence: 0.95,
                at_m: Vec::new(),
            };
            let figures = marks(&input).unwrap();
            for speed in [55.5, 58.0] {
                let landed = landed(what, b, 30.0, speed);
                assert_eq!(landed < 0.0, speed < 57.0, "a slower arrow lands low");
                let step = Step { value: landed / 30.0, half: 0.1 };
                let by = moved_mark(&figures, step, 30.0).unwrap();
                let want = read(what, b, speed, 30.0) - read(what, b, 57.0, 30.0);
                assert!(
                    (by.value - want).abs() < 0.05 * want.abs(),
                    "{what:?} {b} {speed}: {} for {want}",
                    by.value
                );
                assert!(by.half > 0.0 && by.half < want.abs());
            }
        }
    }

    #[test]
    fn what_will_be_read_is_told_and_no_way_to_turn_the_sight() {
        let noted = [(18.0, 3.41), (30.0, 5.35), (40.0, 7.12), (50.0, 9.03), (60.0, 11.07)];
        let input = MarksInput {
            what: MarkedOn::Sight,
            marks: noted.map(|(distance_m, reading)| Reading { distance_m, reading }).to_vec(),
            speed_m_s: Some(57.0),
            flight: Flight::default(),
            resolution: None,
            confidence: 0.95,
            at_m: Vec::new(),
        };
        let figures = marks(&input).unwrap();
        let said = |what: MarkedOn, value: f64, half: f64, before: Option<f64>| {
            let figures = Marks { what, ..figures.clone() };
            mark_words(&figures, Step { value, half }, before, "30 m", Units::Metric)
        };
        assert_eq!(
            said(MarkedOn::Sight, 0.114, 0.05, Some(5.35)),
            "At 30 m expect the sight to read 5.46 instead of 5.35 (95 %: 5.41 to 5.51)."
        );
        // A step that would vanish in the last decimal gets one more.
        assert_eq!(
            said(MarkedOn::Sight, -0.014, 0.006, Some(5.35)),
            "At 30 m expect the sight to read 5.336 instead of 5.350 (95 %: 5.330 to 5.342)."
        );
        assert_eq!(
            said(MarkedOn::Sight, 0.05, 0.1, Some(5.35)),
            "At 30 m the sight may read anything from 5.30 to 5.50 now, instead of 5.35."
        );
        assert_eq!(
            said(MarkedOn::Crawl, 2.0, 1.0, Some(24.0)),
            "At 30 m expect the crawl to be 26 mm instead of 24 mm (95 %: 25 mm to 27 mm)."
        );
        assert_eq!(
            said(MarkedOn::Gap, 40.0, 10.0, Some(-300.0)),
            "At 30 m expect the gap to be -260 mm instead of -300 mm (95 %: -270 mm to -250 mm)."
        );
        assert_eq!(
            said(MarkedOn::Sight, -0.2, 0.1, None),
            "At 30 m expect the sight to read 0.2 less than it did (95 %: 0.3 less to 0.1 less)."
        );
    }

    #[test]
    fn a_crawl_that_takes_the_eye_along_too_far_says_nothing() {
        let noted = [12.0, 18.0, 25.0, 30.0, 40.0];
        let input = MarksInput {
            what: MarkedOn::Crawl,
            marks: noted
                .map(|d| Reading { distance_m: d, reading: read(MarkedOn::Crawl, -720.0, 57.0, d) })
                .to_vec(),
            speed_m_s: Some(57.0),
            flight: Flight::default(),
            resolution: Some(0.01),
            confidence: 0.95,
            at_m: Vec::new(),
        };
        let figures = marks(&input).unwrap();
        let by = |slope: f64, d: f64| {
            let figures = Marks {
                slope: Some(slope),
                slope_interval: Some([slope - 1.0, slope + 1.0]),
                ..figures.clone()
            };
            moved_mark(&figures, Step { value: 1.0, half: 0.1 }, d)
        };
        // 1 - 0.72 / 18 = 0.96; 1 - 0.72 / 0.72 = 0; 1 - 0.72 / 0.5 < 0; 1 - 0.72 / 0.75 = 0.04.
        assert!((by(-720.0, 18.0).unwrap().value - 0.72 / 0.96).abs() < 1e-9);
        assert!([0.72, 0.5, 0.75].iter().all(|d| by(-720.0, *d).is_none()));
    }
}
