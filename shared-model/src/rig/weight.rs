//! The weight on the fingers, as a range, from what is marked on the limbs.
//!
//! # Formula
//! marked × (1 + d + r + b): d is 4 to 6 % for every inch of draw above that at which the limbs were marked (below it, less
//! by as much), r is 2 to 3 % for every inch that the riser is shorter than that on which they were marked (longer, less by
//! as much), b is −5 to +5 % by the limb bolts. Where the bolts and the maker's range are known, b is 5 % (1 − 2p) with
//! 2.5 % to either side and never beyond 5 %; p is how far the bolts are out, 0 at the fewest turns and 1 at the most.
//! # Units
//! lbf and inches; draw length by the AMO measure; bolts in turns out from fully in.
//! # Source
//! That a bow's weight is rated at 28 in draw: from memory (AMO bow weight standard). Everything else: common practice,
//! no source.
//! # Limits
//! Draws from 24 to 33 in, risers from 19 to 29 in. Where to start from: a bow scale at one's own draw says more, and
//! some limbs are marked for another riser, as their maker says.

/// The draw length at which weights are marked where nothing else is said, in.
pub const MARKED_AT_IN: f64 = 28.0;
/// The riser for which weights are marked where nothing else is said, in.
pub const MARKED_ON_IN: f64 = 25.0;
/// What an inch of draw adds, as a share of the marked weight: at least, at most.
const OF_DRAW: [f64; 2] = [0.04, 0.06];
/// What an inch less of riser adds.
const OF_RISER: [f64; 2] = [0.02, 0.03];
/// What the limb bolts add or take away.
const OF_BOLTS: f64 = 0.05;

/// What is marked on limbs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marked {
    /// The weight, lbf.
    pub weight_lbf: f64,
    /// At which draw, in.
    pub draw_in: f64,
    /// On which riser, in.
    pub riser_in: f64,
}

impl Marked {
    /// Returns a weight marked as most are: at 28 in, on a 25 in riser.
    pub fn usual(weight_lbf: f64) -> Self {
        Self { weight_lbf, draw_in: MARKED_AT_IN, riser_in: MARKED_ON_IN }
    }

    /// Returns the least and the most weight on the fingers to be expected, lbf; nothing outside the rule. `bolts` are the
    /// shares of the marked weight that [`bolt_shares`] gives.
    pub fn range_lbf(&self, draw_length_in: f64, riser_in: f64, bolts: [f64; 2]) -> Option<[f64; 2]> {
        let within = [draw_length_in, self.draw_in].iter().all(|draw| (24.0..=33.0).contains(draw))
            && [riser_in, self.riser_in].iter().all(|riser| (19.0..=29.0).contains(riser))
            && (1.0..=100.0).contains(&self.weight_lbf);
        let part = |inches: f64, share: [f64; 2]| {
            let [a, b] = share.map(|share| inches * share);
            [a.min(b), a.max(b)]
        };
        let draw = part(draw_length_in - self.draw_in, OF_DRAW);
        let riser = part(self.riser_in - riser_in, OF_RISER);
        let of = |end: usize| self.weight_lbf * (1.0 + draw[end] + riser[end] + bolts[end]);
        within.then(|| [of(0), of(1)])
    }
}

/// Returns the least and the most weight on the fingers to be expected of limbs that are marked as most are, lbf.
pub fn weight_range_lbf(marked_lbf: f64, draw_length_in: f64, riser_in: f64) -> Option<[f64; 2]> {
    Marked::usual(marked_lbf).range_lbf(draw_length_in, riser_in, [-OF_BOLTS, OF_BOLTS])
}

/// Returns what the limb bolts take away at most and add at most, as shares of the marked weight, and whether that is
/// narrower than the whole rule: only where the maker's range is known and the bolts, turns out from fully in, are in it.
pub fn bolt_shares(turns: Option<f64>, range: Option<[f64; 2]>) -> ([f64; 2], bool) {
    let place = turns.zip(range).and_then(|(turns, [least, most])| {
        let place = (turns - least) / (most - least);
        (most - least >= 0.5 && (0.0..=1.0).contains(&place)).then_some(place)
    });
    match place {
        None => ([-OF_BOLTS, OF_BOLTS], false),
        Some(p) => {
            let middle = OF_BOLTS * (1.0 - 2.0 * p);
            let half = 0.5 * OF_BOLTS;
            ([(middle - half).max(-OF_BOLTS), (middle + half).min(OF_BOLTS)], true)
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn same([least, most]: [f64; 2], low: f64, high: f64) {
        assert!((least - low).abs() < 1e-9 && (most - high).abs() < 1e-9, "{least} to {most}");
    }

    #[track_caller]
    fn check(marked: f64, draw: f64, riser: f64, low: f64, high: f64) {
        same(weight_range_lbf(marked, draw, riser).unwrap(), low, high);
    }

    #[test]
    fn the_range_is_the_rule_by_hand() {
        check(40.0, 28.0, 25.0, 38.0, 42.0); // the bolts alone: 5 % of the marked weight (trade_facts.json)
        check(40.0, 30.0, 25.0, 40.0 * 1.03, 40.0 * 1.17); // + 8 to 12 %
        check(36.0, 26.0, 23.0, 36.0 * 0.87, 36.0 * 1.03); // - 12 to - 8 %, + 4 to 6 %
    }

    #[test]
    fn limbs_that_were_marked_otherwise_are_taken_from_there() {
        let bolts = [-OF_BOLTS, OF_BOLTS];
        let marked = |draw_in, riser_in| Marked { weight_lbf: 40.0, draw_in, riser_in };
        // Drawn as marked, on the riser as marked: the bolts alone, whatever both are.
        same(marked(30.0, 21.0).range_lbf(30.0, 21.0, bolts).unwrap(), 38.0, 42.0);
        // An inch less than marked: 4 to 6 % less; a riser 2 in longer: 4 to 6 % less.
        same(marked(29.0, 23.0).range_lbf(28.0, 25.0, bolts).unwrap(), 40.0 * 0.83, 40.0 * 0.97);
        assert_eq!(marked(20.0, 25.0).range_lbf(28.0, 25.0, bolts), None);
    }

    #[test]
    fn bolts_within_a_known_range_narrow_their_share() {
        let shares = |turns, range| bolt_shares(turns, range);
        assert_eq!(shares(None, Some([0.0, 4.0])), ([-0.05, 0.05], false));
        assert_eq!(shares(Some(2.0), None), ([-0.05, 0.05], false));
        assert_eq!(
            shares(Some(5.0), Some([0.0, 4.0])),
            ([-0.05, 0.05], false),
            "beyond the range nothing is said"
        );
        assert_eq!(shares(Some(f64::NAN), Some([0.0, 4.0])), ([-0.05, 0.05], false));
        for (turns, low, high) in [(0.0, 0.025, 0.05), (2.0, -0.025, 0.025), (4.0, -0.05, -0.025)] {
            same(shares(Some(turns), Some([0.0, 4.0])).0, low, high);
        }
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
