//! Words for people: sentences for verdicts, the team report, terminal pictures.
