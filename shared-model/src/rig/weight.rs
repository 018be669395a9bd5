//! The weight on the fingers, as a range, from what is marked on the limbs.
//!
//! # Formula
//! marked × (1 + d + r + b): d is 4 to 6 % for every inch of draw above 28 in (below it, less by as much), r is 2 to 3 %
//! for every inch that the riser is shorter than 25 in (longer, less by as much), b is −5 to +5 % by the limb bolts.
//! # Units
//! lbf and inches; draw length by the AMO measure.
//! # Source
//! That a bow's weight is rated at 28 in draw: from memory (AMO bow weight standard). Everything else: common practice,
//! no source.
//! # Limits
//! Draws from 24 to 33 in, risers from 19 to 29 in. Where to start from: a bow scale at one's own draw says more, and
//! some limbs are marked for another riser, as their maker says.

/// The draw length at which weights are marked, in.
const MARKED_AT_IN: f64 = 28.0;
/// The riser for which weights are marked, in.
const MARKED_ON_IN: f64 = 25.0;
/// What an inch of draw adds, as a share of the marked weight: at least, at most.
const OF_DRAW: [f64; 2] = [0.04, 0.06];
/// What an inch less of riser adds.
const OF_RISER: [f64; 2] = [0.02, 0.03];
/// What the limb bolts add or take away.
const OF_BOLTS: f64 = 0.05;

/// Returns the least and the most weight on the fingers to be expected, lbf; nothing outside the rule.
pub fn weight_range_lbf(marked_lbf: f64, draw_length_in: f64, riser_in: f64) -> Option<[f64; 2]> {
    let within = (24.0..=33.0).contains(&draw_length_in)
        && (19.0..=29.0).contains(&riser_in)
        && (1.0..=100.0).contains(&marked_lbf);
    let part = |inches: f64, share: [f64; 2]| {
        let [a, b] = share.map(|share| inches * share);
        [a.min(b), a.max(b)]
    };
    let draw = part(draw_length_in - MARKED_AT_IN, OF_DRAW);
    let riser = part(MARKED_ON_IN - riser_in, OF_RISER);
    let of = |end: usize, bolts: f64| marked_lbf * (1.0 + draw[end] + riser[end] + bolts);
    within.then(|| [of(0, -OF_BOLTS), of(1, OF_BOLTS)])
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn check(marked: f64, draw: f64, riser: f64, low: f64, high: f64) {
        let [least, most] = weight_range_lbf(marked, draw, riser).unwrap();
        assert!((least - low).abs() < 1e-9 && (most - high).abs() < 1e-9, "{least} to {most}");
    }

    #[test]
    fn the_range_is_the_rule_by_hand() {
        check(40.0, 28.0, 25.0, 38.0, 42.0); // the bolts alone: 5 % of the marked weight (trade_facts.json)
        check(40.0, 30.0, 25.0, 40.0 * 1.03, 40.0 * 1.17); // + 8 to 12 %
        check(36.0, 26.0, 23.0, 36.0 * 0.87, 36.0 * 1.03); // - 12 to - 8 %, + 4 to 6 %
    }

    #[test]
    fn outside_the_rule_nothing_is_said() {
        for (marked, draw, riser) in
            [(40.0, 23.9, 25.0), (40.0, 28.0, 30.0), (0.0, 28.0, 25.0), (f64::NAN, 28.0, 25.0)]
        {
            assert_eq!(weight_range_lbf(marked, draw, riser), None);
        }
    }
}
