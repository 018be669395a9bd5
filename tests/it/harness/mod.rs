//! What the tests share: real programs, real sockets, throw-away folders.

pub mod alone;
pub mod care;
#[allow(dead_code)]
pub mod programs;
pub mod secured;
pub mod server;
pub mod team;
