//! The bows that one's own risers and limbs make: how long, how heavy, whether they suit, best first and why.
//!
//! # Formula
//! Bow length, limb class and string as in [`fit`](crate::stats::fit), weight on the fingers as in [`weight`](super::weight).
//! Limbs that were found loose or tight in the pockets come last of all. The others in order of: makers' limits kept (then: may be passed; then: passed) > limb length for this draw (the rule gives it; its
//! edge is near; not known; another) > a string at hand > a pair found true (then: not measured) >
//! riser of the discipline > nearest to the wanted weight (middle of the range) > the order in which risers, then limbs, were
//! given. The weight of a combination that was measured is that, without a range.
//! Makers' limits are passed too where one asks for a higher brace height than another allows.
//! # Units
//! Lengths in inches, weights in lbf, brace height in mm.
//! # Source
//! Order, lengths and weights: common practice, no source; the limits are the makers'.
//! # Limits
//! It knows what was noted. How limbs sit in a riser's pockets is only known of pairs that were measured.

use super::{
    caution,
    limits::{above, below},
    pair::fit_caution,
    weight::{MARKED_AT_IN, MARKED_ON_IN, Marked, bolt_shares},
};
use crate::{
    stats::fit::{LimbLength, Suits, bow_length_in, suits},
    verdict::Units,
};
use std::cmp::Ordering;

mod brace;
mod words;

pub use brace::Brace;
use brace::by_makers;
pub use words::{Reason, title};

/// A string that is for a bow no further off than this, in, is for it.
const SAME_IN: f64 = 0.5;

/// What the maker of a part allows.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Limits {
    /// Least draw weight, lbf.
    pub least_weight_lbf: Option<f64>,
    /// Most draw weight, lbf.
    pub most_weight_lbf: Option<f64>,
    /// Longest draw, in.
    pub most_draw_in: Option<f64>,
    /// Least and most brace height, mm.
    pub brace_mm: [Option<f64>; 2],
}

/// A riser of one's own.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnRiser {
    /// What it is called.
    pub name: String,
    /// Its length, in.
    pub riser_in: f64,
    /// What it is shot for.
    pub discipline: Option<String>,
    /// What its maker allows.
    pub limits: Limits,
}

/// A pair of limbs of one's own.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnLimbs {
    /// What they are called.
    pub name: String,
    /// Their length class.
    pub limb_length: Option<LimbLength>,
    /// Whether they are longbow limbs.
    pub longbow: bool,
    /// The weight marked on them, lbf.
    pub marked_weight_lbf: Option<f64>,
    /// The draw length that it was marked at, in.
    pub marked_draw_in: Option<f64>,
    /// The riser that it was marked on, in.
    pub marked_riser_in: Option<f64>,
    /// What their maker allows.
    pub limits: Limits,
}

/// A string of one's own.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnString {
    /// What it is called.
    pub name: String,
    /// The length of the bow that it is for, in.
    pub bow_in: Option<f64>,
    /// The bow that it is on.
    pub on: Option<String>,
    /// What its maker allows.
    pub limits: Limits,
}

/// How a pair of limbs sits in the pockets of a riser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sits {
    /// Hard to snap on.
    Tight,
    /// As it should.
    True,
    /// With play.
    Loose,
}

impl Sits {
    /// Every way, with its word.
    pub const WORDS: [(&'static str, Self); 3] =
        [("tight", Self::Tight), ("true", Self::True), ("loose", Self::Loose)];

    /// Returns its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// A pair that was measured, by the places of riser and limbs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OwnPair {
    /// Which riser.
    pub riser: usize,
    /// Which limbs.
    pub limbs: usize,
    /// How they sit.
    pub sits: Sits,
    /// Whether the bolts were beyond what the makers allow: then sitting true counts for nothing.
    pub beyond: bool,
}

/// The weight on the fingers of a combination as it was measured, by the places of riser and limbs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnWeight {
    /// Which riser.
    pub riser: usize,
    /// Which limbs.
    pub limbs: usize,
    /// The weight at the archer's draw, lbf.
    pub lbf: f64,
}

/// What there is to combine, and for whom.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Own {
    /// The archer's draw length, in.
    pub draw_in: Option<f64>,
    /// What is to be shot.
    pub discipline: Option<String>,
    /// The weight on the fingers that is wanted, lbf.
    pub wanted_lbf: Option<f64>,
    /// The risers.
    pub risers: Vec<OwnRiser>,
    /// The pairs of limbs.
    pub limbs: Vec<OwnLimbs>,
    /// The strings.
    pub strings: Vec<OwnString>,
    /// The pairs that were measured; of several of one pair the last counts.
    pub pairs: Vec<OwnPair>,
    /// The weights that were measured; of several of one combination the last counts.
    pub weights: Vec<OwnWeight>,
    /// In which units lengths are told in words.
    pub units: Units,
}

/// Whether a bow keeps to what the makers allow, as far as that is noted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Keeps {
    /// It does, or no limit is noted.
    Kept,
    /// A part of the weights to be expected lies beyond.
    MayPass,
    /// It does not.
    Passed,
}

impl Keeps {
    /// Returns its word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::MayPass => "may_pass",
            Self::Passed => "passed",
        }
    }
}

/// A riser with a pair of limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct Combination {
    /// Which riser.
    pub riser: usize,
    /// Which limbs.
    pub limbs: usize,
    /// The bow that they make, in; none where the limb length is not noted.
    pub bow_in: Option<f64>,
    /// How the limb length goes with the draw.
    pub suits: Suits,
    /// The weight on the fingers to be expected, lbf; both ends alike where it was measured.
    pub weight_lbf: Option<[f64; 2]>,
    /// Whether that was measured.
    pub weight_measured: bool,
    /// Whether the makers' limits are kept.
    pub limits: Keeps,
    /// The strings for a bow of that length.
    pub strings: Vec<usize>,
    /// How the limbs sit, where that was measured.
    pub pair: Option<Sits>,
    /// Whether that was measured with bolts beyond what the makers allow.
    pub pair_beyond: bool,
    /// Whether the riser is one of the discipline; none where no discipline is given, or none is noted of the riser.
    pub of_discipline: Option<bool>,
    /// How far the middle of the weights lies off the one that is wanted, lbf.
    pub off_wanted_lbf: Option<f64>,
    /// The brace heights to start from.
    pub brace: Brace,
    /// Why it stands where it does, each with its source.
    pub reasons: Vec<Reason>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

impl Combination {
    /// Returns whether the limbs were found loose or tight in the pockets: such a bow is not shot.
    pub fn do_not_shoot(&self) -> bool {
        matches!(self.pair, Some(Sits::Tight | Sits::Loose))
    }
}

/// Returns every riser with every pair of limbs, best first.
pub fn combinations(own: &Own) -> Vec<Combination> {
    let mut all = Vec::new();
    for riser in 0..own.risers.len() {
        all.extend((0..own.limbs.len()).map(|limbs| own.combined(riser, limbs)));
    }
    all.sort_by(by_worth);
    all
}

/// Compares two combinations, the better one first.
fn by_worth(a: &Combination, b: &Combination) -> Ordering {
    let suit = |c: &Combination| match c.suits {
        Suits::Suits => 0,
        Suits::NearEdge => 1,
        Suits::Unknown => 2,
        Suits::Other => 3,
    };
    let pair = |c: &Combination| c.pair != Some(Sits::True) || c.pair_beyond;
    let steps = |c: &Combination| {
        let fits = (suit(c), c.strings.is_empty(), pair(c), c.of_discipline != Some(true));
        (c.do_not_shoot(), c.limits, fits)
    };
    let off = |c: &Combination| c.off_wanted_lbf.unwrap_or(f64::INFINITY);
    steps(a).cmp(&steps(b)).then(off(a).total_cmp(&off(b))).then((a.riser, a.limbs).cmp(&(b.riser, b.limbs)))
}

/// Returns the weight on the fingers to be expected, lbf. The one place where the rule of the weight is asked.
fn expected_lbf(limbs: &OwnLimbs, draw_in: f64, riser_in: f64) -> Option<[f64; 2]> {
    let marked = Marked {
        weight_lbf: limbs.marked_weight_lbf?,
        draw_in: limbs.marked_draw_in.unwrap_or(MARKED_AT_IN),
        riser_in: limbs.marked_riser_in.unwrap_or(MARKED_ON_IN),
    };
    // How far the bolts are turned is a matter of the bow that is set up, not of what could be.
    marked.range_lbf(draw_in, riser_in, bolt_shares(None, None).0)
}

impl Own {
    fn combined(&self, riser: usize, limbs: usize) -> Combination {
        let (of_riser, of_limbs) = (&self.risers[riser], &self.limbs[limbs]);
        let bow_in = of_limbs.limb_length.and_then(|l| bow_length_in(of_riser.riser_in, l).ok().flatten());
        let class = self.draw_in.zip(of_limbs.limb_length).and_then(|(draw, l)| suits(draw, l).ok());
        let measured = self.weights.iter().rev().find(|one| (one.riser, one.limbs) == (riser, limbs));
        let expected = || expected_lbf(of_limbs, self.draw_in?, of_riser.riser_in);
        let weight_lbf = measured.map(|one| [one.lbf; 2]).or_else(expected);
        let for_it = |string: &OwnString| {
            string.bow_in.zip(bow_in).is_some_and(|(of, bow)| (of - bow).abs() <= SAME_IN)
        };
        let strings: Vec<usize> =
            self.strings.iter().enumerate().filter(|(_, s)| for_it(s)).map(|(i, _)| i).collect();
        let of_strings: Vec<Limits> = strings.iter().map(|i| self.strings[*i].limits).collect();
        let parts = [of_limbs.limits, of_riser.limits];
        let brace = Brace::of(parts, &of_strings, bow_in, of_limbs.longbow);
        let pair = self.pairs.iter().rev().find(|pair| (pair.riser, pair.limbs) == (riser, limbs));
        let of_discipline = self.discipline.as_ref().zip(of_riser.discipline.as_ref()).map(|(a, b)| a == b);
        let off = |wanted: f64, [low, high]: [f64; 2]| ((low + high) / 2.0 - wanted).abs();
        let mut made = Combination {
            riser,
            limbs,
            bow_in,
            suits: class.unwrap_or(Suits::Unknown),
            weight_lbf,
            weight_measured: measured.is_some(),
            limits: self.keeps([of_riser.limits, of_limbs.limits], weight_lbf),
            strings,
            pair: pair.map(|pair| pair.sits),
            pair_beyond: pair.is_some_and(|pair| pair.beyond),
            of_discipline,
            off_wanted_lbf: self.wanted_lbf.zip(weight_lbf).map(|(wanted, range)| off(wanted, range)),
            brace,
            reasons: Vec::new(),
            cautions: Vec::new(),
        };
        made.reasons = words::reasons(self, &made);
        made.cautions = cautions(&made);
        made
    }

    /// Returns whether a weight, the draw and some brace height keep to the limits of riser and limbs.
    fn keeps(&self, limits: [Limits; 2], weight_lbf: Option<[f64; 2]>) -> Keeps {
        if apart(limits).is_some() {
            return Keeps::Passed;
        }
        let one = |limit: &Limits| {
            let draw = self.draw_in.and_then(|draw| above(draw, limit.most_draw_in)).is_some();
            let Some([low, high]) = weight_lbf else { return if draw { Keeps::Passed } else { Keeps::Kept } };
            let beyond = |lightest: f64, heaviest: f64| {
                above(lightest, limit.most_weight_lbf).or(below(heaviest, limit.least_weight_lbf)).is_some()
            };
            if draw || beyond(low, high) {
                Keeps::Passed
            } else if beyond(high, low) {
                Keeps::MayPass
            } else {
                Keeps::Kept
            }
        };
        limits.iter().map(one).max().unwrap_or(Keeps::Kept)
    }
}

/// Returns the least brace height that one maker asks for and the most that another allows, where none keeps both.
fn apart(limits: [Limits; 2]) -> Option<[f64; 2]> {
    let [least, most] = by_makers(limits.iter());
    least.zip(most).filter(|(least, most)| least > most).map(|(least, most)| [least, most])
}

fn cautions(made: &Combination) -> Vec<&'static str> {
    let mut all = Vec::new();
    match made.limits {
        Keeps::Kept => {}
        Keeps::MayPass => all.extend([caution::LIMB_BOLTS, caution::BEYOND]),
        Keeps::Passed => all.push(caution::BEYOND),
    }
    if let Some(care) = made.pair.and_then(|sits| fit_caution(sits.word())) {
        all.extend([care, caution::LIMBS]);
    }
    all
}

#[cfg(test)]
mod tests;
