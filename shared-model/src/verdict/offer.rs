//! What a plan of so many ends would show, before one is made: in words and as bars.

use super::{
    sentence::percent,
    units::{Units, count},
};
use crate::{
    ModelError,
    chart::{PlanBar, PlanBars, plan_bars},
    rng::Seed,
    stats::plan::{Design, Wanted, findable_shift_mrad, plan},
};
use serde::Serialize;

/// Blocks of four ends that are always offered.
const BLOCKS: [usize; 5] = [2, 3, 4, 6, 10];
/// A bar longer than so many times the smallest movement says only that so few ends show nothing.
const TOO_LONG: f64 = 8.0;

/// What plans of several sizes would show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offer {
    /// The smallest movement that matters, mm.
    pub smallest_mm: f64,
    /// The same in words.
    pub smallest_words: String,
    /// From few ends to many.
    pub rows: Vec<Offered>,
    /// The bars, SVG.
    pub svg: String,
    /// What it says; the first says how many ends will do.
    pub sentences: Vec<String>,
    /// How many ends of each setup will do; none where more than 800 in all would be needed.
    pub ends_each: Option<usize>,
}

/// A size of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Offered {
    /// Ends of each setup.
    pub ends_each: usize,
    /// The smallest movement that so many ends show.
    pub finds_mm: f64,
    /// Whether that is enough.
    pub enough: bool,
}

/// Offers plans that are to find `smallest_mm` at a distance.
///
/// # Errors
/// Those of [`plan`] other than that no number of ends is enough.
pub fn offer(
    wanted: &Wanted,
    smallest_mm: f64,
    distance_m: f64,
    units: Units,
    seed: Seed,
) -> Result<Offer, ModelError> {
    let design = match plan(wanted, seed) {
        Ok(design) => Some(design),
        Err(e) if e.code == "not_computable" => None,
        Err(e) => return Err(e),
    };
    let needed = design.as_ref().map(|d| d.blocks);
    // Half of what is needed shows beside it how slowly more ends show less.
    let half = needed.map(|n| n / 2).filter(|n| *n > BLOCKS[BLOCKS.len() - 1]);
    let mut sizes: Vec<usize> = BLOCKS.into_iter().chain(half).chain(needed).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let mut rows = Vec::new();
    for blocks in sizes {
        let Some(shift) = findable_shift_mrad(wanted, blocks)? else { continue };
        let finds_mm = shift * distance_m;
        let enough = needed.is_some_and(|needed| blocks >= needed);
        if enough || finds_mm < TOO_LONG * smallest_mm || blocks == BLOCKS[BLOCKS.len() - 1] {
            rows.push(Offered { ends_each: 2 * blocks, finds_mm, enough });
        }
    }
    let smallest_words = units.length(smallest_mm);
    let sentences = sentences(wanted, design.as_ref(), &smallest_words, distance_m, units);
    let bars: Vec<PlanBar> = rows.iter().map(|row| bar(row, units)).collect();
    let label: Vec<String> = bars.iter().map(|b| format!("{} show {}", b.words, b.finds_words)).collect();
    let svg = plan_bars(&PlanBars {
        rows: &bars,
        smallest: units.reading(smallest_mm),
        smallest_words: &format!("you look for {smallest_words}"),
        label: &format!("{}. You look for {smallest_words}.", label.join("; ")),
    });
    let ends_each = needed.map(|blocks| 2 * blocks);
    Ok(Offer { smallest_mm, smallest_words, rows, svg, sentences, ends_each })
}

/// Returns what a plan costs: blocks, changes of the setup and time.
pub fn design_cost(design: &Design) -> String {
    let (hours, minutes) = ((design.minutes / 60.0).floor(), design.minutes % 60.0);
    let half = design.median_blocks.map_or_else(String::new, |blocks| {
        format!("; half of such plans are settled after {}", count(blocks, "block"))
    });
    format!(
        "{} with {} of the setup, about {hours:.0} h {minutes:.0} min{half}.",
        count(design.blocks, "block"),
        count(design.changes, "change")
    )
}

fn bar(row: &Offered, units: Units) -> PlanBar {
    PlanBar {
        words: format!("{n} + {n} ends", n = row.ends_each),
        finds: units.reading(row.finds_mm),
        finds_words: units.length(row.finds_mm),
        enough: row.enough,
    }
}

fn sentences(
    wanted: &Wanted,
    design: Option<&Design>,
    smallest: &str,
    distance_m: f64,
    units: Units,
) -> Vec<String> {
    let at = units.distance(distance_m);
    let Some(design) = design else {
        return vec![
            "No number of ends will do.".into(),
            format!(
                "To see {smallest} at {at}, more than 800 ends would be needed: look for a larger movement."
            ),
        ];
    };
    let each = design.ends / 2;
    let sd = |mrad: [f64; 2]| units.length(0.5 * (mrad[0] + mrad[1]) * distance_m);
    vec![
        format!("{each} + {each} ends will about do."),
        format!(
            "A movement of {smallest} at {at} then shows with a chance of {}, however often you look; a bar is the \
             movement that so many ends show.",
            percent(wanted.power)
        ),
        "Shot in blocks of four ends, old new new old or new old old new by lot, so that wind and tiredness hit both; each \
         block in one session with the sight left alone."
            .into(),
        format!("That is {}", design_cost(design)),
        format!(
            "From what was shot so far: an arrow strays by {} about its end, an end by {} about its session (SD on one \
             axis), {} an end.",
            sd(wanted.sd_arrow_mrad),
            sd(wanted.sd_end_mrad),
            count(wanted.arrows_per_end, "arrow")
        ),
    ]
}
