//! What the records know when something is written: names, what the last end was shot with, what an arrow scored,
//! which end of a plan comes next. Command line and page ask here, so that both answer alike.

mod arrows;
mod assumed;
mod differences;
mod marked;
mod mended;
mod notes;
mod plan_terms;
mod planned;
mod scoring;
mod setting;
mod shown;

pub use crate::named::{Called, NAMED, Named, all, called, name_of, named, names, taken};
pub use arrows::{arrows_of, shots_of};
pub use assumed::{Usual, last_arrows, last_group, last_or_only, last_sight, usual_face};
pub use differences::{Difference, Rival, differences, differences_of};
pub use marked::{TypedMark, marked, marked_words};
pub use mended::{check_draft, held, setup_before};
pub use notes::{Noted, author, notes, unix_ms};
pub use plan_terms::{PlanTerms, check_setups, design, last_distance_m};
pub use planned::{NotNext, open_settings, tick};
pub use scoring::{arrow_set, beyond_set, left_out, off_face, scores, shaft_mm};
pub use setting::{Meant, added, meant_setting, part_of_setting, setting_place};
pub use shown::{day_and_time, field_shown, mended_words, plain, shown};
