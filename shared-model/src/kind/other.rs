//! Kinds that carry little of their own: baselines, sessions, marks, notes, and what was measured on a bow.

use super::Kind;
use crate::{ModelError, id::ThingId};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// What a mark can be read on.
pub const MARKED_ON: &[&str] = &["sight", "crawl", "gap"];
/// How a pair of limbs can sit in the pockets of a riser.
pub const FITS: &[&str] = &["tight", "true", "loose"];

macro_rules! kind {
    ($(#[$doc:meta])* $name:ident, $text:literal, { $($(#[$fdoc:meta])* $field:ident : $type:ty),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        #[serde(default)]
        pub struct $name {
            $($(#[$fdoc])* #[serde(skip_serializing_if = "Option::is_none")] pub $field: Option<$type>,)*
            /// Whether it is out of use.
            #[serde(skip_serializing_if = "std::ops::Not::not")]
            pub retired: bool,
        }

        impl Kind for $name {
            const NAME: &'static str = $text;
        }
    };
}

kind!(
    /// A setup that someone named to come back to.
    Baseline, "baseline", {
        /// What it is called.
        name: String,
        /// The bow.
        bow: ThingId,
        /// The settings and their values.
        settings: BTreeMap<String, Value>,
        /// How far off a setting may be after a rebuild, in its unit, where the archer says so.
        tolerances: BTreeMap<String, f64>,
        /// Anything else worth knowing.
        note: String,
    }
);
kind!(
    /// An outing: several ends by one archer under the same conditions.
    Session, "session", {
        /// What it is called.
        name: String,
        /// When it began, RFC 3339.
        at: String,
        /// Who shot.
        archer: ThingId,
        /// Wind, light and the like.
        conditions: String,
        /// Anything else worth knowing.
        note: String,
    }
);
kind!(
    /// A sight reading, crawl or gap that belongs to a distance.
    Mark, "mark", {
        /// The bow.
        bow: ThingId,
        /// Who shoots by it.
        archer: ThingId,
        /// The arrow set that it was found with.
        arrows: ThingId,
        /// Distance in m.
        distance_m: f64,
        /// What is read: `sight`, `crawl` or `gap`; a sight where nothing else is said.
        what: String,
        /// The reading on the sight's own scale.
        sight_mark: f64,
        /// How far below the nock the fingers take the string, mm.
        crawl_mm: f64,
        /// How far above the middle of the target the point is held, mm at the target; below it is negative.
        gap_mm: f64,
        /// When it was found, RFC 3339.
        at: String,
        /// Anything else worth knowing.
        note: String,
    }
);
impl Mark {
    /// Checks that a mark has the reading of what it is read on.
    ///
    /// # Errors
    /// `bad_mark` where it is read on something else than it says.
    pub fn check(&self) -> Result<(), ModelError> {
        let what = self.what.as_deref().unwrap_or("sight");
        let (has, field) = match what {
            "crawl" => (self.crawl_mm.is_some(), "crawl_mm"),
            "gap" => (self.gap_mm.is_some(), "gap_mm"),
            _ => (self.sight_mark.is_some(), "sight_mark"),
        };
        if has {
            return Ok(());
        }
        let message = format!(
            "a mark of a {what} needs its {field}: give both, or note a new mark and retire this one"
        );
        Err(ModelError::new("bad_mark", message).at("what"))
    }
}

kind!(
    /// A remark about anything.
    Note, "note", {
        /// What it is about.
        about: ThingId,
        /// The bow, when it concerns one.
        bow: ThingId,
        /// The words.
        text: String,
        /// When, RFC 3339.
        at: String,
    }
);
kind!(
    /// How a pair of limbs sits on the riser of a bow, and what made it true.
    Pair, "pair", {
        /// The bow, which is a riser and what is on it.
        bow: ThingId,
        /// The riser, where it is a part of the records.
        riser: ThingId,
        /// The pair of limbs.
        limbs: ThingId,
        /// How the limbs sit in the pockets: one of [`FITS`].
        fit: String,
        /// Turns of the top limb bolt out from fully in.
        limb_bolt_top_turns: f64,
        /// Turns of the bottom limb bolt out from fully in.
        limb_bolt_bottom_turns: f64,
        /// How far the string runs to the right of the middle of the upper limb before the pocket is set, mm.
        limb_lateral_top_mm: f64,
        /// The same of the lower limb.
        limb_lateral_bottom_mm: f64,
        /// Tiller that came out, mm.
        tiller_mm: f64,
        /// When it was measured, RFC 3339.
        at: String,
        /// Anything else worth knowing.
        note: String,
    }
);
kind!(
    /// A draw curve: weights that a scale showed at some draws.
    Curve, "curve", {
        /// The bow.
        bow: ThingId,
        /// When it was measured, RFC 3339; what was on the bow then follows from its timeline.
        at: String,
        /// Draw lengths by the AMO measure, inches, rising.
        draw_in: Vec<f64>,
        /// The weight at each, lbf.
        weight_lbf: Vec<f64>,
        /// The draw without weight, inches, where it was added and not measured: brace height as it was then, and 1.75 in.
        no_weight_draw_in: f64,
        /// Anything else worth knowing.
        note: String,
    }
);
kind!(
    /// How fast an arrow left a bow.
    Speed, "speed", {
        /// The bow.
        bow: ThingId,
        /// Who drew it.
        archer: ThingId,
        /// The arrow set.
        arrows: ThingId,
        /// When it was measured, RFC 3339.
        at: String,
        /// Speed of the arrow in ft/s.
        speed_fps: f64,
        /// Anything else worth knowing.
        note: String,
    }
);
kind!(
    /// Arrows shot without being placed: a plain count, for the wear.
    Practice, "practice", {
        /// The bow.
        bow: ThingId,
        /// Who shot.
        archer: ThingId,
        /// The arrow set.
        arrows: ThingId,
        /// When, RFC 3339.
        at: String,
        /// How many arrows.
        count: u32,
        /// Anything else worth knowing.
        note: String,
    }
);
