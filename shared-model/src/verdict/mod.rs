//! Words for people: sentences for verdicts, the team report, terminal pictures.

mod altered;
mod answer;
mod bare;
mod bow;
mod day;
mod dial;
mod dial_words;
mod far_off;
pub mod figures;
mod head;
mod looks;
mod luck;
mod numbered;
mod pictured;
mod plan;
pub mod plot;
mod report;
mod round;
mod sentence;
mod sight;
#[cfg(test)]
mod tests;
mod units;
mod walk;

pub use altered::{altered, changed, name_and_unit, quantity, unit_beside};
pub use answer::ArcherAnswer;
pub use bare::bare_sentences;
pub use bow::{ArcherVerdict, BowVerdict, Judged, bow_verdict, names as thing_names};
pub use day::last_days;
pub use dial::{ArcherDial, BowDial, bow_dial, dial_plot, dial_table};
pub use far_off::FarOff;
pub use looks::look_note;
pub use luck::{Luck, luck};
pub use numbered::numbered_sentences;
pub use pictured::{AxisBand, Pictured, pictured};
pub use plan::{NextEnd, PlanState, block_session, is_set_up, plan_state};
pub use report::{PartOfReport, Report, Reporter, Row, report};
pub use round::expected_rounds;
pub use sentence::upper_first;
pub use sentence::{Told, sentence};
pub use units::Units;
pub use walk::walk_sentences;
