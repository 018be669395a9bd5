//! What the records know when something is written: names, what the last end was shot with, what an arrow scored,
//! which end of a plan comes next. Command line and page ask here, so that both answer alike.

mod arrows;
mod assumed;
mod baselines;
mod differences;
mod draw_curve;
mod here;
mod limb_pair;
mod marked;
mod mended;
mod notes;
mod plan_terms;
mod planned;
mod put_back;
mod scoring;
mod setting;
mod shafts;
mod shown;

pub use crate::named::{Called, NAMED, Named, all, called, name_of, named, names, taken};
pub use arrows::{arrows_of, shots_of};
pub use assumed::{Usual, last_arrows, last_group, last_or_only, last_sight, usual_face};
pub use baselines::{
    NamedSetup, Saved, Saving, baseline_called, baseline_of, baseline_taken, baselines, beside, differing,
    read_tolerance, save_baseline, set_tolerances,
};
pub use differences::{Difference, Rival, differences, differences_of};
pub(crate) use draw_curve::part_on;
pub use draw_curve::{Measured, curve_pair, draw_in, new_curve, new_speed};
pub use here::{Here, setup_here, setup_here_at};
pub use limb_pair::new_pair;
pub(crate) use limb_pair::{own_limbs, own_parts, part_id, setting_words, settings_of};
pub use marked::{TypedMark, marked, marked_words, speed_m_s};
pub use mended::{check_draft, held, setup_before};
pub use notes::{Noted, author, notes, unix_ms};
pub use plan_terms::{PlanTerms, check_setups, design, last_distance_m};
pub use planned::{NotNext, open_settings, tick};
pub(crate) use put_back::out_of_use_words;
pub use put_back::{PartNews, PutBack, part_news, put_back};
pub use scoring::{arrow_set, beyond_set, left_out, off_face, scores, shaft_mm};
pub use setting::{Meant, added, check_sort, meant_setting, part_of_setting, setting_place};
pub use shafts::{read_shafts, shaft_words};
pub use shown::{day_and_time, field_shown, mended_words, named_field, plain, shown};
