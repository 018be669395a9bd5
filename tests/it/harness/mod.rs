//! What the tests share: real programs, real sockets, throw-away folders.

#[allow(dead_code)]
pub mod programs;
pub mod server;
pub mod team;
