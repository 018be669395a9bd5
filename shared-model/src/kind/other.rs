//! Kinds that carry little of their own: baselines, sessions, marks and notes.

use super::Kind;
use crate::id::ThingId;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

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
        /// Distance in m.
        distance_m: f64,
        /// The reading on the sight's own scale.
        sight_mark: f64,
        /// When it was found, RFC 3339.
        at: String,
        /// Anything else worth knowing.
        note: String,
    }
);
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
