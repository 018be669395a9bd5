//! Draws, weights and energies in words.

use crate::{
    rig::{
        arrow::ftlbf,
        stacking::{Gain, Stacking},
    },
    stats::fit::{BEYOND_PIVOT_IN, STANDARD},
    verdict::units::{Units, trimmed},
};

/// A pound-force in kgf (NIST SP 811).
const LBF_KGF: f64 = 0.453_592_37;

/// Returns a draw length, for example `28 in (71.1 cm)`.
pub(super) fn draw(inches: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} in ({} cm)", trimmed(inches, 2), trimmed(inches * 2.54, 1)),
        Units::Imperial => format!("{} in", trimmed(inches, 2)),
    }
}

/// Returns a draw weight, for example `37.8 lbf (17.1 kgf)`.
pub(super) fn weight(lbf: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} lbf ({} kgf)", trimmed(lbf, 1), trimmed(lbf * LBF_KGF, 1)),
        Units::Imperial => format!("{} lbf", trimmed(lbf, 1)),
    }
}

/// Returns an energy, for example `32.1 ft·lbf (43.5 J)`.
pub(super) fn energy(joules: f64) -> String {
    format!("{} ft·lbf ({} J)", trimmed(ftlbf(joules), 1), trimmed(joules, 1))
}

/// Says how the points of a curve are typed.
pub(super) fn how() -> String {
    format!(
        "Draws rise from row to row, each to the grip's pivot point and {BEYOND_PIVOT_IN} in added ({STANDARD}). Without a \
         unit draws are in inches and weights in lbf; cm and kgf are read as well. Never draw past the makers' limits."
    )
}

/// Says how the last inch gains weight beside the middle.
pub(super) fn gain(found: &Stacking, full_in: f64, units: Units) -> String {
    let (last, middle) = (trimmed(found.last_lbf_per_in, 1), trimmed(found.middle_lbf_per_in, 1));
    let figures = format!(
        "The last inch to {} gains {last} lbf, the middle of the draw {middle} lbf an inch",
        draw(full_in, units)
    );
    match found.gain() {
        Some(Gain::Stacks) => {
            format!(
                "{figures}: the bow stacks there; longer limbs or a longer riser would be smoother at this draw."
            )
        }
        Some(Gain::Quickens) => format!("{figures}: it gains faster towards full draw."),
        Some(Gain::Even) => format!("{figures}: no stacking."),
        None => format!("{figures}."),
    }
}
