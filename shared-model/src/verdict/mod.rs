//! Words for people: sentences for verdicts, the team report, terminal pictures.

mod altered;
mod bow;
mod dial;
mod dial_words;
pub mod figures;
pub mod plot;
mod report;
mod sentence;
mod units;

pub use altered::{altered, name_and_unit, quantity};
pub use bow::{ArcherVerdict, BowVerdict, Judged, bow_verdict};
pub use dial::{ArcherDial, BowDial, bow_dial, dial_plot, dial_table};
pub use report::{Report, Row, report};
pub use sentence::{Told, sentence};
pub use units::Units;
