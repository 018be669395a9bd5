//! Plans an experiment on a bow: how many ends of which setup, in which order, to find a change.
//!
//! # Formula
//! Setups A and B are shot in blocks of four ends, ABBA or BAAB by lot: B less A within a block is free of the
//! session and of a steady drift. A block's difference has the variance σ_end² + σ_arrow²/m on an axis, m the
//! arrows an end; its log SD ratio has ψ'(2 (m − 1))/2. The verdict is the running t-test of
//! [`super::anytime`] over blocks, each axis at α/2, so that one may look after every end; power is the
//! share of 4000 drawn series that reject by the last block, on the axis that varies most.
//! # Units
//! mrad (mm at 1 m); minutes.
//! # Source
//! Counterbalancing: Cox, Planning of Experiments (1958), chapter 14, citation from memory; the test: see
//! [`super::anytime`].
//! # Limits
//! Two arrows an end or more, at most 200 blocks. Each block within one session, the sight left alone.

use super::{anytime::Running, special::fewest::fewest, spread_steps::trigamma};
use crate::{
    ModelError,
    rng::{Rng, Seed},
};
use serde::Serialize;

/// Ends of a block.
pub const ENDS_PER_BLOCK: usize = 4;
/// The most blocks that are planned.
const MOST_BLOCKS: usize = 200;
const SERIES: u64 = 4000;
/// Drawn series while the number of blocks is looked for.
const SEARCH_SERIES: u64 = 1000;

/// What a plan is to find, and what it costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// The shift to find, mrad, or none.
    pub shift_mrad: Option<f64>,
    /// The SD ratio to find, B over A, or none.
    pub sd_ratio: Option<f64>,
    /// Chance of finding it.
    pub power: f64,
    /// Error rate of the verdict.
    pub alpha: f64,
    /// SD of an end's mean within its session by axis, mrad.
    pub sd_end_mrad: [f64; 2],
    /// SD of an arrow about its end by axis, mrad.
    pub sd_arrow_mrad: [f64; 2],
    /// Arrows an end.
    pub arrows_per_end: usize,
    /// Minutes an end, with walking.
    pub minutes_per_end: f64,
    /// Minutes to change from one setup to the other.
    pub minutes_per_change: f64,
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Design {
    /// Blocks of four ends.
    pub blocks: usize,
    /// Ends in all.
    pub ends: usize,
    /// The setups in order, an end each.
    pub order: String,
    /// Chance of finding the shift by the last block; null without a shift.
    pub power_shift: Option<f64>,
    /// Chance of finding the change of spread; null without one.
    pub power_spread: Option<f64>,
    /// Blocks after which half of such experiments have found it.
    pub median_blocks: Option<usize>,
    /// Changes between the setups.
    pub changes: usize,
    /// How long it takes, minutes.
    pub minutes: f64,
}

/// Plans an experiment whose order is drawn from `seed`.
///
/// # Errors
/// `out_of_range` or `missing_field` with the field; `not_computable` when 200 blocks are too few.
pub fn plan(wanted: &Wanted, seed: Seed) -> Result<Design, ModelError> {
    check(wanted)?;
    let effects = [shift_effect(wanted), spread_effect(wanted)];
    let reached = |blocks: usize, series: u64| powers(&effects, wanted.alpha, blocks, series);
    let all = |found: [Option<Found>; 2]| found.iter().flatten().all(|p| p.power >= wanted.power);
    let enough = |blocks: usize| all(reached(blocks, SEARCH_SERIES));
    let mut blocks = fewest(1, MOST_BLOCKS, enough).ok_or_else(|| {
        let message =
            "more than 200 blocks (800 ends) would be needed; ask for a larger change or less power";
        ModelError::new("not_computable", message).at("shift_mrad")
    })?;
    let mut found = reached(blocks, SERIES);
    while !all(found) && blocks < MOST_BLOCKS {
        blocks += 1;
        found = reached(blocks, SERIES);
    }
    Ok(design(wanted, blocks, found, seed))
}

/// Plans an experiment of so many blocks, whatever its chance of finding what is wanted.
///
/// # Errors
/// `out_of_range` or `missing_field` with the field.
pub fn plan_of(wanted: &Wanted, blocks: usize, seed: Seed) -> Result<Design, ModelError> {
    check(wanted)?;
    check_blocks(blocks)?;
    let found = powers(&[shift_effect(wanted), spread_effect(wanted)], wanted.alpha, blocks, SERIES);
    Ok(design(wanted, blocks, found, seed))
}

/// Returns the shift, mrad, that so many blocks find with the power that is wanted; nothing where none does.
///
/// # Errors
/// `out_of_range` or `missing_field` with the field.
pub fn findable_shift_mrad(wanted: &Wanted, blocks: usize) -> Result<Option<f64>, ModelError> {
    check(wanted)?;
    check_blocks(blocks)?;
    let enough = |effect: f64| found(effect, 0.5 * wanted.alpha, blocks, SEARCH_SERIES).power >= wanted.power;
    let Some(mut high) = (0..10).map(|n| f64::from(1 << n)).find(|effect| enough(*effect)) else {
        return Ok(None);
    };
    let mut low = if high > 1.0 { 0.5 * high } else { 0.0 };
    for _ in 0..10 {
        let middle = 0.5 * (low + high);
        if enough(middle) { high = middle } else { low = middle }
    }
    Ok(Some(high * block_sd_mrad(wanted)))
}

fn check_blocks(blocks: usize) -> Result<(), ModelError> {
    if (2..=MOST_BLOCKS).contains(&blocks) {
        return Ok(());
    }
    let message = format!("{blocks} blocks; a plan has 2 to {MOST_BLOCKS} blocks of four ends");
    Err(ModelError::new("out_of_range", message).at("blocks"))
}

fn design(wanted: &Wanted, blocks: usize, [shift, spread]: [Option<Found>; 2], seed: Seed) -> Design {
    let order = order(blocks, seed);
    let changes = order.as_bytes().windows(2).filter(|pair| pair[0] != pair[1]).count();
    let ends = blocks * ENDS_PER_BLOCK;
    Design {
        blocks,
        ends,
        order,
        power_shift: shift.map(|p| p.power),
        power_spread: spread.map(|p| p.power),
        median_blocks: shift.iter().chain(&spread).filter_map(|p| p.median).max(),
        changes,
        minutes: ends as f64 * wanted.minutes_per_end + changes as f64 * wanted.minutes_per_change,
    }
}

fn check(w: &Wanted) -> Result<(), ModelError> {
    if w.shift_mrad.is_none() && w.sd_ratio.is_none() {
        let message = "a plan needs what it is to find: a shift, an SD ratio, or both";
        return Err(ModelError::new("missing_field", message).at("shift_mrad"));
    }
    let [ex, ey] = w.sd_end_mrad;
    let [ax, ay] = w.sd_arrow_mrad;
    let rules = [
        ("shift_mrad", w.shift_mrad.unwrap_or(1.0), 1e-6, 1e3),
        ("sd_ratio", w.sd_ratio.unwrap_or(0.5), 0.05, 20.0),
        ("alpha", w.alpha, 1e-6, 0.5),
        ("power", w.power, w.alpha, 0.999),
        ("sd_end_mrad", ex.min(ey), 0.0, 1e3),
        ("sd_end_mrad", ex.max(ey), 0.0, 1e3),
        ("sd_arrow_mrad", ax.min(ay), 1e-6, 1e3),
        ("sd_arrow_mrad", ax.max(ay), 1e-6, 1e3),
        ("arrows_per_end", w.arrows_per_end as f64, 2.0, 500.0),
        ("minutes_per_end", w.minutes_per_end, 0.0, 600.0),
        ("minutes_per_change", w.minutes_per_change, 0.0, 600.0),
    ];
    if let Some((field, value, low, high)) = rules.iter().find(|(_, v, low, high)| !(low..=high).contains(&v))
    {
        let message = format!("'{field}' is {value}; it has to be from {low} to {high}");
        return Err(ModelError::new("out_of_range", message).at(*field));
    }
    if w.sd_ratio == Some(1.0) {
        let message = "'sd_ratio' is 1, which is no change; give another ratio";
        return Err(ModelError::new("out_of_range", message).at("sd_ratio"));
    }
    Ok(())
}

/// What is to be found, in SDs of a block's value, and the level at which it is tested.
#[derive(Clone, Copy)]
struct Sought {
    effect: f64,
    share_of_alpha: f64,
}

fn shift_effect(w: &Wanted) -> Option<Sought> {
    w.shift_mrad.map(|shift| Sought { effect: shift / block_sd_mrad(w), share_of_alpha: 0.5 })
}

/// Returns the SD of a block's difference on the axis that varies most.
fn block_sd_mrad(w: &Wanted) -> f64 {
    let m = w.arrows_per_end as f64;
    let variance =
        |a: usize| w.sd_end_mrad[a] * w.sd_end_mrad[a] + w.sd_arrow_mrad[a] * w.sd_arrow_mrad[a] / m;
    variance(0).max(variance(1)).sqrt()
}

fn spread_effect(w: &Wanted) -> Option<Sought> {
    let df = 4.0 * (w.arrows_per_end as f64 - 1.0);
    // The log variance of either side has the variance ψ'(df/2); the log SD ratio half the difference.
    let sd = (0.5 * trigamma(0.5 * df)).sqrt();
    w.sd_ratio.map(|ratio| Sought { effect: libm::log(ratio).abs() / sd, share_of_alpha: 1.0 })
}

#[derive(Clone, Copy)]
struct Found {
    power: f64,
    median: Option<usize>,
}

fn powers(effects: &[Option<Sought>; 2], alpha: f64, blocks: usize, series: u64) -> [Option<Found>; 2] {
    effects.map(|sought| sought.map(|s| found(s.effect, s.share_of_alpha * alpha, blocks, series)))
}

fn found(effect: f64, alpha: f64, blocks: usize, series: u64) -> Found {
    let start = Running::new(alpha, blocks);
    let first = |one: u64| {
        let mut rng = Rng::new(Seed(one));
        let mut test = start;
        (1..=blocks).find(|_| {
            test.take(effect + rng.normal());
            test.rejects()
        })
    };
    let mut stops: Vec<usize> = (0..series).filter_map(first).collect();
    stops.sort_unstable();
    let power = stops.len() as f64 / series as f64;
    Found { power, median: stops.get(series as usize / 2).copied() }
}

/// Draws ABBA or BAAB for every block.
fn order(blocks: usize, seed: Seed) -> String {
    let mut rng = Rng::new(seed);
    (0..blocks).map(|_| if rng.below(2) == 0 { "ABBA" } else { "BAAB" }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const WANTED: Wanted = Wanted {
        shift_mrad: Some(0.5),
        sd_ratio: None,
        power: 0.8,
        alpha: 0.05,
        sd_end_mrad: [0.3, 0.2],
        sd_arrow_mrad: [1.0, 1.1],
        arrows_per_end: 6,
        minutes_per_end: 6.0,
        minutes_per_change: 4.0,
    };

    #[test]
    fn a_plan_is_counterbalanced_drawn_by_its_seed_and_long_enough() {
        let design = plan(&WANTED, Seed(3)).expect("a plan");
        assert_eq!(design.order.len(), design.ends);
        assert_eq!(design.order.matches('A').count() * 2, design.ends);
        assert_eq!(design, plan(&WANTED, Seed(3)).expect("a plan"));
        assert!((0.8..0.9).contains(&design.power_shift.expect("a shift")), "{design:?}");
        let larger = plan(&Wanted { shift_mrad: Some(1.0), ..WANTED }, Seed(3)).expect("a plan");
        assert!(larger.blocks < design.blocks);
    }

    #[test]
    fn the_shift_that_so_many_blocks_find_is_found_with_the_power_wanted() {
        for blocks in [3, 6, 10] {
            let shift = findable_shift_mrad(&WANTED, blocks).expect("an answer").expect("a shift");
            let wanted = Wanted { shift_mrad: Some(shift), ..WANTED };
            let power = plan_of(&wanted, blocks, Seed(1)).expect("a plan").power_shift.expect("a power");
            assert!((power - 0.8).abs() < 0.03, "{blocks} blocks find {shift} with {power}");
        }
        let field = |blocks| findable_shift_mrad(&WANTED, blocks).expect_err("wrong").field;
        assert_eq!((field(1).as_deref(), field(201).as_deref()), (Some("blocks"), Some("blocks")));
    }

    #[test]
    fn what_cannot_be_planned_is_said_with_its_field() {
        let field = |wanted: Wanted| plan(&wanted, Seed(1)).expect_err("wrong").field;
        assert_eq!(field(Wanted { shift_mrad: None, ..WANTED }).as_deref(), Some("shift_mrad"));
        assert_eq!(field(Wanted { shift_mrad: Some(0.001), ..WANTED }).as_deref(), Some("shift_mrad"));
        assert_eq!(field(Wanted { sd_ratio: Some(1.0), ..WANTED }).as_deref(), Some("sd_ratio"));
        assert_eq!(field(Wanted { arrows_per_end: 1, ..WANTED }).as_deref(), Some("arrows_per_end"));
        assert_eq!(field(Wanted { power: f64::NAN, ..WANTED }).as_deref(), Some("power"));
    }
}
