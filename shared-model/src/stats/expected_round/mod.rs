//! The score to be expected of a round, with an interval for one round, and where the lost points go.
//!
//! # Formula
//! By axis, in mrad: mean of each distance + session + end + arrow, by REML ([`super::mixed`]); the arrow's
//! covariance is pooled within ends, and a session has a spread of its own ([`super::spread_steps`]).
//! Expected points of an arrow are those of the normal law with all three covariances added. One round is
//! drawn 4000 times, arrow by arrow, with a session effect for the round, an end effect for each end, and
//! the mean and spread drawn from what is known of them; its interval is that of the draws. Lost to spread:
//! the most the round gives less the points with the mean on the centre; lost to the mean: those less the
//! points with the mean where it is. A part of the arrows as large as lately misses, and scores nothing, or is
//! a flyer, and scores where one of the flyers struck; what is not known of these parts is drawn with each round
//! (a Dirichlet law of the counts). Lost to strays: the points without them less the points.
//! # Units
//! Points in mm on the face; distances in m; scores in points.
//! # Source
//! Expected points: [`super::expected_score`]. Prediction by drawing parameters: Gelman and others, Bayesian
//! Data Analysis, 3rd ed. (2013), section 3.
//! # Limits
//! Two ends of two arrows or more. A distance that was not shot takes the spread over in mrad and its mean as
//! centred. A round is shot as practice was: nerves, wind and tiredness of the day are not known.

mod archer;
mod strays;

use super::{effects::Group, expected_score::expected_score};
use crate::{
    ModelError,
    face::{Face, check_shaft},
    rng::{Rng, Seed},
};
use archer::Archer;
use serde::Serialize;

/// Arrows of a round at one face from one distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The face.
    pub face: Face,
    /// Distance in m.
    pub distance_m: f64,
    /// How many arrows.
    pub arrows: usize,
    /// How many of them an end.
    pub arrows_per_end: usize,
}

/// What a round is expected to score.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExpectedRound {
    /// Expected points of the round.
    pub points: f64,
    /// The interval in which one round lies.
    pub points_interval: [f64; 2],
    /// The most that it gives.
    pub most_points: f64,
    /// Points lost to the spread, with the mean on the centre.
    pub lost_to_spread_points: f64,
    /// Points lost to a mean off the centre at the distances that were shot: what a sight correction is worth;
    /// null where none of the round's was.
    pub lost_to_mean_points: Option<f64>,
    /// The interval of that, from what is known of the mean.
    pub lost_to_mean_points_interval: Option<[f64; 2]>,
    /// Points lost to misses and flyers, by their share lately.
    pub lost_to_strays_points: f64,
    /// Misses that it rests on.
    pub misses: usize,
    /// Flyers that it rests on.
    pub flyers: usize,
    /// Part by part.
    pub parts: Vec<PartScore>,
    /// Sessions and arrows that it rests on.
    pub sessions: usize,
    /// Arrows that its spread and mean rest on.
    pub arrows: usize,
    /// What was assumed.
    pub notes: Vec<String>,
}

/// What a part is expected to score with arrows of the spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PartScore {
    /// Distance in m.
    pub distance_m: f64,
    /// Expected points of an arrow.
    pub points_per_arrow: f64,
    /// The same with the mean on the centre.
    pub points_per_arrow_centred: f64,
    /// Mean point of impact, mm; null at a distance that was not shot.
    pub mean_mm: Option<[f64; 2]>,
    /// SD of an arrow on each axis, all that varies added, mm.
    pub sd_mm: [f64; 2],
}

const DRAWS: usize = 4000;

/// Returns what a round is expected to score after what was shot lately, `misses` arrows of which were not found.
///
/// # Errors
/// `too_few` when there is not enough to tell the spread; `out_of_range` for a round that cannot be.
pub fn expected_round(
    groups: &[Group],
    misses: usize,
    round: &[Part],
    shaft_diameter_mm: f64,
    confidence: f64,
    seed: Seed,
) -> Result<ExpectedRound, ModelError> {
    check(round, shaft_diameter_mm)?;
    let archer = Archer::of(groups, misses)?;
    let parts = round.iter().map(|part| part_score(&archer, part, shaft_diameter_mm));
    let parts = parts.collect::<Result<Vec<_>, _>>()?;
    let total = |value: fn(&PartScore) -> f64| -> f64 {
        parts.iter().zip(round).map(|(score, part)| value(score) * part.arrows as f64).sum()
    };
    let (good, centred) = (total(|p| p.points_per_arrow), total(|p| p.points_per_arrow_centred));
    let points = with_strays(&archer, &parts, round, shaft_diameter_mm);
    let most: f64 = round.iter().map(|p| f64::from(best(&p.face)) * p.arrows as f64).sum();
    let mut rng = Rng::new(seed);
    let draws = (0..DRAWS).map(|_| archer.draw(round, shaft_diameter_mm, &mut rng)).collect();
    let shot = parts.iter().any(|part| part.mean_mm.is_some());
    let lost =
        shot.then(|| archer.lost_to_mean(round, shaft_diameter_mm, confidence, &mut rng)).transpose()?;
    Ok(ExpectedRound {
        points,
        points_interval: interval(draws, confidence),
        most_points: most,
        lost_to_spread_points: most - centred,
        lost_to_mean_points: shot.then_some(centred - good),
        lost_to_mean_points_interval: lost,
        lost_to_strays_points: good - points,
        misses,
        flyers: archer.strays.flyers.len(),
        sessions: archer.sessions,
        arrows: archer.arrows,
        notes: archer.notes.iter().cloned().chain(parts_notes(&parts)).collect(),
        parts,
    })
}

fn with_strays(archer: &Archer, parts: &[PartScore], round: &[Part], shaft_diameter_mm: f64) -> f64 {
    let of = |(score, part): (&PartScore, &Part)| {
        archer.strays.points_per_arrow(score.points_per_arrow, part, shaft_diameter_mm) * part.arrows as f64
    };
    parts.iter().zip(round).map(of).sum()
}

fn parts_notes(parts: &[PartScore]) -> Vec<String> {
    let unshot = parts.iter().filter(|part| part.mean_mm.is_none());
    let note = |part: &PartScore| {
        let d = part.distance_m;
        format!("nothing was shot at {d} m: the spread is taken over in mrad, the mean as centred")
    };
    unshot.map(note).collect()
}

fn check(round: &[Part], shaft_diameter_mm: f64) -> Result<(), ModelError> {
    check_shaft(shaft_diameter_mm)?;
    if round.is_empty() {
        let message = "the round has no parts; give face, distance and arrows of at least one";
        return Err(ModelError::new("too_few", message).at("round"));
    }
    let total: usize = round.iter().fold(0, |sum, p| sum.saturating_add(p.arrows));
    if total > 1000 {
        let message = format!("the round has {total} arrows; at most 1000");
        return Err(ModelError::new("too_many", message).at("round"));
    }
    for (i, part) in round.iter().enumerate() {
        let wrong = |field: &str, what: String| {
            Err(ModelError::new("out_of_range", what).at(format!("round[{i}].{field}")))
        };
        if part.arrows == 0 || part.arrows_per_end == 0 {
            return wrong("arrows", "a part has at least one arrow, and one an end".into());
        }
        if !(0.5..=400.0).contains(&part.distance_m) {
            let what = format!("a distance of {} m is not between 0.5 m and 400 m", part.distance_m);
            return wrong("distance_m", what);
        }
    }
    Ok(())
}

fn best(face: &Face) -> u32 {
    face.zones().iter().map(|z| z.points).max().unwrap_or(0)
}

fn part_score(archer: &Archer, part: &Part, shaft_diameter_mm: f64) -> Result<PartScore, ModelError> {
    let d = part.distance_m;
    let mean = archer.mean(part).map(|m| m.map(|a| a.estimate * d));
    let covariance = archer.all().map(|row| row.map(|v| v * d * d));
    let score = |mean| expected_score(&part.face, shaft_diameter_mm, mean, covariance);
    Ok(PartScore {
        distance_m: d,
        points_per_arrow: score(mean.unwrap_or([0.0; 2]))?.points_per_arrow,
        points_per_arrow_centred: score([0.0; 2])?.points_per_arrow,
        mean_mm: mean,
        sd_mm: [covariance[0][0].sqrt(), covariance[1][1].sqrt()],
    })
}

fn interval(mut draws: Vec<f64>, confidence: f64) -> [f64; 2] {
    draws.sort_by(f64::total_cmp);
    let tail = 0.5 * (1.0 - confidence);
    let last = (draws.len() - 1) as f64;
    [draws[libm::floor(tail * last) as usize], draws[libm::ceil((1.0 - tail) * last) as usize]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moment::Moment;

    const SHAFT: f64 = 5.5;

    /// A season of an archer who shoots 1 mrad on each axis about a mean that is `off` mrad to the right, with
    /// sessions that move by 0.5 mrad and vary in spread by a tenth, and ends that move by 0.3.
    fn groups(rng: &mut Rng, sessions: usize, ends: usize, off: f64) -> Vec<Group> {
        let mut groups = Vec::new();
        for s in 0..sessions {
            let day = [off + 0.5 * rng.normal(), 0.5 * rng.normal()];
            let spread = libm::exp(0.1 * rng.normal());
            for e in 0..ends {
                let end = day.map(|v| v + 0.3 * rng.normal());
                groups.push(Group {
                    at: Moment::new((s as i64 * 24 + e as i64) * 3_600_000, 0).expect("a moment"),
                    session: Some(s.to_string()),
                    end: None,
                    distance_m: 50.0,
                    points_mm: (0..6).map(|_| end.map(|v| 50.0 * (v + spread * rng.normal()))).collect(),
                    flyers: Vec::new(),
                    sight: None,
                    sight_offset_mrad: None,
                });
            }
        }
        groups
    }

    fn round() -> Vec<Part> {
        let face = Face::by_code("wa_80").expect("a face");
        vec![Part { face, distance_m: 50.0, arrows: 36, arrows_per_end: 6 }]
    }

    #[test]
    fn nineteen_of_twenty_rounds_lie_in_their_interval() {
        let round = round();
        let mut inside = 0;
        let seasons = 150;
        for seed in 0..seasons {
            let mut rng = Rng::new(Seed(1000 + seed));
            let known = groups(&mut rng, 8, 6, 0.4);
            let found = expected_round(&known, 0, &round, SHAFT, 0.95, Seed(seed)).expect("a round");
            let shot = groups(&mut rng, 1, 6, 0.4);
            let score = |p: &[f64; 2]| f64::from(round[0].face.score(*p, SHAFT).points);
            let score: f64 = shot.iter().flat_map(|g| &g.points_mm).map(score).sum();
            let [low, high] = found.points_interval;
            inside += usize::from((low..=high).contains(&score));
        }
        // 95 % of 150 are 142.5 with an SD of 2.7.
        assert!((134..=149).contains(&inside), "{inside} of {seasons}");
    }

    #[test]
    fn lost_points_add_up_and_a_mean_off_centre_costs() {
        let mut rng = Rng::new(Seed(7));
        let off = expected_round(&groups(&mut rng, 10, 6, 2.0), 0, &round(), SHAFT, 0.95, Seed(1))
            .expect("a round");
        let mean = off.lost_to_mean_points.expect("the distance was shot");
        let lost = off.lost_to_spread_points + mean;
        assert!((off.most_points - off.points - lost).abs() < 1e-9 && off.most_points == 360.0);
        let [least, _] = off.lost_to_mean_points_interval.expect("the distance was shot");
        assert!(mean > 20.0 && least > 5.0, "{off:?}");
        let near = expected_round(&groups(&mut rng, 10, 6, 0.0), 0, &round(), SHAFT, 0.95, Seed(1))
            .expect("a round");
        assert!(near.lost_to_mean_points.is_some_and(|lost| lost < 3.0), "{near:?}");
        assert_eq!((near.sessions, near.arrows), (10, 360));
    }

    #[test]
    fn a_distance_that_was_not_shot_is_said_and_bad_rounds_are_refused() {
        let mut rng = Rng::new(Seed(7));
        let known = groups(&mut rng, 4, 4, 0.0);
        let mut far = round();
        far[0].distance_m = 70.0;
        let found = expected_round(&known, 0, &far, SHAFT, 0.95, Seed(1)).expect("a round");
        assert_eq!((found.lost_to_mean_points, found.lost_to_mean_points_interval), (None, None));
        assert!(found.parts[0].mean_mm.is_none() && found.notes[0].contains("70 m"), "{:?}", found.notes);
        let field =
            |round: &[Part]| expected_round(&known, 0, round, SHAFT, 0.95, Seed(1)).expect_err("bad").field;
        assert_eq!(field(&[]).as_deref(), Some("round"));
        far[0].arrows = 0;
        assert_eq!(field(&far).as_deref(), Some("round[0].arrows"));
        far[0].arrows = 5000;
        assert_eq!(field(&far).as_deref(), Some("round"));
        let e = expected_round(&known[..0], 0, &round(), SHAFT, 0.95, Seed(1)).expect_err("nothing shot");
        assert_eq!(e.code, "too_few");
    }

    #[test]
    fn misses_and_flyers_cost_what_they_cost_and_one_round_lies_in_its_interval() {
        let (round, mut inside, seasons) = (round(), 0, 150);
        // One arrow in ten misses, one in twenty flies to where nothing is scored.
        let strays = |rng: &mut Rng, groups: &mut Vec<Group>| {
            let mut misses = 0;
            for group in groups {
                let mut kept = Vec::new();
                for point in std::mem::take(&mut group.points_mm) {
                    match rng.below(20) {
                        0 | 1 => misses += 1,
                        2 => {
                            group.flyers.push(kept.len());
                            kept.push([900.0, 0.0]);
                        }
                        _ => kept.push(point),
                    }
                }
                group.points_mm = kept;
            }
            misses
        };
        for seed in 0..seasons {
            let mut rng = Rng::new(Seed(1000 + seed));
            let mut known = groups(&mut rng, 8, 6, 0.4);
            let clean = expected_round(&known, 0, &round, SHAFT, 0.95, Seed(seed)).expect("a round");
            let misses = strays(&mut rng, &mut known);
            let found = expected_round(&known, misses, &round, SHAFT, 0.95, Seed(seed)).expect("a round");
            let gone = (misses + found.flyers) as f64 / 288.0;
            let lost = gone * (found.points + found.lost_to_strays_points);
            assert!((found.lost_to_strays_points - lost).abs() < 1e-9 && found.points < clean.points);
            let mut shot = groups(&mut rng, 1, 6, 0.4);
            strays(&mut rng, &mut shot);
            let score = |p: &[f64; 2]| f64::from(round[0].face.score(*p, SHAFT).points);
            let score: f64 = shot.iter().flat_map(|g| &g.points_mm).map(score).sum();
            let [low, high] = found.points_interval;
            inside += usize::from((low..=high).contains(&score));
        }
        assert!((134..=149).contains(&inside), "{inside} of {seasons}");
    }
}
