//! Words for people: sentences for verdicts, the team report, terminal pictures.

mod altered;
mod answer;
mod bare;
mod bow;
mod bow_sheet;
mod day;
mod dial;
mod dial_words;
mod far_off;
pub mod figures;
mod latest;
mod numbered;
mod plan;
pub mod plot;
mod rebuild;
mod report;
mod round;
mod sentence;
mod sight;
mod squad;
#[cfg(test)]
mod tests;
mod units;
mod walk;

pub use altered::{altered, changed, name_and_unit, quantity, unit_beside};
pub use answer::ArcherAnswer;
pub use bare::bare_sentences;
pub use bow::{ArcherVerdict, BowVerdict, Judged, bow_verdict, day_words, name_of, names};
pub use bow_sheet::{ArrowSet, BaselineRow, BowSheet, MarkRow, Said, SetupRow, WearRow, bow_sheet};
pub use day::last_days;
pub use dial::{ArcherDial, BowDial, bow_dial, dial_plot, dial_table};
pub use far_off::FarOff;
pub use latest::{Latest, Lie};
pub use numbered::{count, numbered_sentences};
pub use plan::{NextEnd, PlanState, block_session, is_set_up, plan_state};
pub use rebuild::{RebuildRow, RebuildSheet, rebuild_sheet};
pub use report::{Look, PartOfReport, Reason, Report, Reporter, Row, report};
pub use round::expected_rounds;
pub use sentence::{Told, directed, list, sentence, upper_first};
pub use squad::{ArcherNow, Missing, ShotBow, Squad, SquadRow, archer_now, squad};
pub use units::{Units, trimmed as decimal};
pub use walk::walk_sentences;
