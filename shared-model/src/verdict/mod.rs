//! Words for people: sentences for verdicts, the team report, terminal pictures.

pub mod plot;
