//! Bare shafts: where they land beside the fletched arrows of the same end, and how that is read.
//!
//! # Formula
//! In every end that holds both, d = mean of the bare shafts − mean of the fletched arrows, in mrad, with weight
//! w = 1 / (1/bare + 1/fletched). From three such ends on the noise is the scatter of d over ends; with fewer it
//! is the scatter of arrows about the mean of their kind within the end, pooled. Weighted mean with Hotelling's
//! T²; on each axis a t interval at 1 − (1 − confidence)/2, so both hold together. An axis is read only where
//! its interval leaves out nothing. A dial that moves the difference by s a unit closes it with
//! u = −Σ g s / Σ s² units, over the axes that are read.
//! # Units
//! Points in mm, distances in m; differences in mrad, and in mm at the distance with the most arrows.
//! # Source
//! Numbers: Johnson and Wichern, Applied Multivariate Statistical Analysis, 6th ed. (2007), sections 5.2 and
//! 5.4. Readings: common practice, no source.
//! # Limits
//! The reading holds only where the fletched group is centred and the archer's form is steady. With fewer than
//! three ends bare shafts are taken to scatter like fletched arrows, which they seldom do: the interval is then
//! too narrow. The setup has to be the same throughout.

use super::{
    compare::{FTest, side},
    effects::distance_with_most_arrows,
    shots::{Placed, ShotGroup, ends, mean},
    weighted_mean::{Weighed, WeightedMean, weighted_mean},
};
use crate::{
    ModelError,
    kind::{BowArm, Hook},
};
use serde::Serialize;

/// From how many ends on the noise is seen between them.
const ENDS_FOR_NOISE: usize = 3;
/// Where the readings come from.
pub const READING_SOURCE: &str = "common practice, no source";
/// When a reading holds.
pub const CONDITION: &str =
    "the reading holds only where the fletched group is centred and the archer's form is steady";
/// What comes before any change.
pub const SAFETY: &str = "stay within the limits of the makers of bow, limbs and arrows, go in small steps and shoot \
                          again after each, and ask a qualified coach";

/// What is asked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Asked {
    /// The arm that holds the bow; without it nothing is read sideways.
    pub bow_arm: Option<BowArm>,
    /// How the fingers hold the string.
    pub hook: Option<Hook>,
    /// The archer's own dials.
    pub dials: Vec<Dial>,
}

/// What a unit of a setting does, measured by this archer with this bow.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// The setting, for example `plunger_turns`.
    pub setting: String,
    /// How far a unit moves the bare shafts beside the fletched arrows, mrad right and high.
    pub shift_per_unit_mrad: [f64; 2],
}

/// Where bare shafts land beside fletched ones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BareShaft {
    /// The distance with the most arrows, at which mm are told.
    pub distance_m: f64,
    /// Ends that hold both.
    pub ends: usize,
    /// Bare shafts in them.
    pub bare: usize,
    /// Fletched arrows in them.
    pub fletched: usize,
    /// Where the fletched arrows of these ends lie on average, from the centre of the face.
    pub fletched_mpi_mm: [f64; 2],
    /// Bare less fletched: right and high.
    pub difference_mrad: [f64; 2],
    /// The same at the distance with the most arrows.
    pub difference_mm: [f64; 2],
    /// What the noise is known by.
    pub basis: Basis,
    /// Its degrees of freedom.
    pub df: f64,
    /// Intervals of the difference by axis, which hold together.
    pub interval_mrad: Option<[[f64; 2]; 2]>,
    /// The same at the distance with the most arrows.
    pub interval_mm: Option<[[f64; 2]; 2]>,
    /// P-value of no difference, axis by axis, not corrected.
    pub p: Option<[f64; 2]>,
    /// Test of no difference on both axes together.
    pub hotelling: Option<FTest>,
    /// How it is read sideways.
    pub sideways: Reading,
    /// How it is read up and down.
    pub up_down: Reading,
    /// What would close the difference, a dial each.
    pub closing: Vec<Closing>,
    /// Where the readings come from.
    pub reading_source: &'static str,
    /// When a reading holds, and what comes before any change.
    pub conditions: [&'static str; 2],
    /// What could not be had, and why.
    pub notes: Vec<String>,
}

/// What the noise of the difference is known by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The differences of the ends.
    Ends,
    /// The arrows within the ends.
    WithinEnd,
}

/// How the difference on an axis is read.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// Whether the interval leaves out nothing.
    pub shown: bool,
    /// Where the bare shafts land: `left`, `right`, `low` or `high`; null when not shown.
    pub side: Option<&'static str>,
    /// What that is read as; null when not shown, or sideways when the bow arm is not known.
    pub reading: Option<Sign>,
}

/// What bare shafts to one side are read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sign {
    /// The shaft acts stiff.
    Stiff,
    /// The shaft acts weak.
    Weak,
    /// The nocking point is low.
    NockingPointLow,
    /// The nocking point is high.
    NockingPointHigh,
}

/// The change of a dial that would close the difference.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Closing {
    /// The setting.
    pub setting: String,
    /// By how many units; null when nothing is shown, or the dial does not move the axis that is.
    pub units: Option<f64>,
    /// The difference that would be left, right and high.
    pub left_over_mrad: Option<[f64; 2]>,
}

/// The arrows of an end, by kind.
struct Pair {
    difference: Weighed,
    bare: Vec<[f64; 2]>,
    fletched: Vec<[f64; 2]>,
}

/// Returns where bare shafts land beside fletched ones, and how that is read.
///
/// # Errors
/// `too_few` when no end holds both a bare shaft and a fletched arrow.
pub fn bare_shaft(groups: &[ShotGroup], asked: &Asked, confidence: f64) -> Result<BareShaft, ModelError> {
    let pairs: Vec<Pair> = ends(groups).iter().filter_map(|end| pair(end)).collect();
    let differences: Vec<Weighed> = pairs.iter().map(|p| p.difference).collect();
    let most = distance_with_most_arrows(groups.iter().map(|g| (g.distance_m, g.shots.len())));
    let (Some(found), Some(distance_m)) = (weighted_mean(&differences), most) else {
        let message = "no end holds both a bare shaft and a fletched arrow; shoot both in one end and mark the bare \
                       shafts";
        return Err(ModelError::new("too_few", message).at("groups"));
    };
    let (found, basis) = if pairs.len() >= ENDS_FOR_NOISE {
        (found, Basis::Ends)
    } else {
        let (scatter, df) = within(&pairs);
        (found.with_noise(scatter, df), Basis::WithinEnd)
    };
    Ok(describe(&pairs, found, basis, distance_m, asked, confidence))
}

fn describe(
    pairs: &[Pair],
    found: WeightedMean,
    basis: Basis,
    distance_m: f64,
    asked: &Asked,
    confidence: f64,
) -> BareShaft {
    let by_axis = found.by_axis(0.5 * (1.0 + confidence));
    let interval = by_axis.map(|axes| axes.map(|(interval, _)| interval));
    let scale = |v: f64| v * distance_m;
    let readings = read(found.mean, interval, asked.bow_arm);
    let fletched = pairs.iter().flat_map(|p| &p.fletched);
    let (mpi, count) = mean(fletched.copied()).unwrap_or_default();
    BareShaft {
        distance_m,
        ends: pairs.len(),
        bare: pairs.iter().map(|p| p.bare.len()).sum(),
        fletched: count as usize,
        fletched_mpi_mm: mpi.map(scale),
        difference_mrad: found.mean,
        difference_mm: found.mean.map(scale),
        basis,
        df: found.df,
        interval_mrad: interval,
        interval_mm: interval.map(|axes| axes.map(|bounds| bounds.map(scale))),
        p: by_axis.map(|axes| axes.map(|(_, p)| p)),
        hotelling: found.hotelling(),
        sideways: readings[0],
        up_down: readings[1],
        closing: asked.dials.iter().map(|dial| closing(dial, found.mean, readings)).collect(),
        reading_source: READING_SOURCE,
        conditions: [CONDITION, SAFETY],
        notes: notes(asked, basis, interval.is_some(), pairs.len()),
    }
}

fn pair(end: &[Placed]) -> Option<Pair> {
    let of = |bare: bool| -> Vec<[f64; 2]> {
        end.iter().filter(|p| p.shot.bare == bare).map(|p| p.mrad).collect()
    };
    let (bare, fletched) = (of(true), of(false));
    let (at, n) = mean(bare.iter().copied())?;
    let (from, m) = mean(fletched.iter().copied())?;
    let difference = ([at[0] - from[0], at[1] - from[1]], 1.0 / (1.0 / n + 1.0 / m));
    Some(Pair { difference, bare, fletched })
}

/// Returns the scatter of arrows about the mean of their kind in their end, and its degrees of freedom.
fn within(pairs: &[Pair]) -> ([f64; 3], f64) {
    let (mut scatter, mut df) = ([0.0; 3], 0.0);
    for arrows in pairs.iter().flat_map(|p| [&p.bare, &p.fletched]) {
        let kind = side(arrows);
        scatter = [0, 1, 2].map(|i| scatter[i] + kind.ss[i]);
        df += kind.n - 1.0;
    }
    (scatter, df)
}

fn read(mean: [f64; 2], interval: Option<[[f64; 2]; 2]>, bow_arm: Option<BowArm>) -> [Reading; 2] {
    let shown = |axis: usize| interval.is_some_and(|i| i[axis][0] > 0.0 || i[axis][1] < 0.0);
    let sides = [["left", "right"], ["low", "high"]];
    let mut readings = [0, 1].map(|axis| {
        let side = shown(axis).then(|| sides[axis][usize::from(mean[axis] > 0.0)]);
        Reading { shown: shown(axis), side, reading: None }
    });
    readings[0].reading = match (readings[0].side, bow_arm) {
        (Some("left"), Some(BowArm::Left)) | (Some("right"), Some(BowArm::Right)) => Some(Sign::Stiff),
        (Some(_), Some(_)) => Some(Sign::Weak),
        _ => None,
    };
    readings[1].reading = readings[1]
        .side
        .map(|side| if side == "high" { Sign::NockingPointLow } else { Sign::NockingPointHigh });
    readings
}

fn closing(dial: &Dial, gap: [f64; 2], readings: [Reading; 2]) -> Closing {
    let s = dial.shift_per_unit_mrad;
    let over = |f: &dyn Fn(usize) -> f64| -> f64 { (0..2).filter(|a| readings[*a].shown).map(f).sum() };
    let units = Some(-over(&|a| gap[a] * s[a]) / over(&|a| s[a] * s[a])).filter(|u| u.is_finite());
    let left_over = units.map(|u| [gap[0] + u * s[0], gap[1] + u * s[1]]);
    Closing { setting: dial.setting.clone(), units, left_over_mrad: left_over }
}

fn notes(asked: &Asked, basis: Basis, known: bool, ends: usize) -> Vec<String> {
    let told = [
        (
            !known && ends >= ENDS_FOR_NOISE,
            "no interval: on one axis the ends do not differ at all; record where arrows struck more finely",
        ),
        (
            !known && ends < ENDS_FOR_NOISE,
            "no interval: needs three ends with both kinds, or more than one arrow of a kind, not in one hole",
        ),
        (
            known && basis == Basis::WithinEnd,
            "fewer than three ends: bare shafts are taken to scatter like fletched arrows, so the interval is rather \
             too narrow; three ends and more show the scatter themselves",
        ),
        (asked.bow_arm.is_none(), "bow_arm is not known, so left and right are not read"),
        (
            asked.hook == Some(Hook::ThreeUnder),
            "three fingers under the nock: up and down hold for one place on the string only, so compare at one crawl",
        ),
        (
            !asked.dials.is_empty(),
            "a dial closes the difference only if its shift is that of the bare shafts beside the fletched arrows; one \
             measured on fletched groups alone tells where the sight has to go, not this",
        ),
    ];
    told.into_iter().filter(|(holds, _)| *holds).map(|(_, note)| note.to_owned()).collect()
}

#[cfg(test)]
mod tests;
