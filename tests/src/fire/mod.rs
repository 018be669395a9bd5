//! The real programs under fire: `sheafd` and several `sheaf` as processes, a proxy between them that cuts, stalls,
//! resets, answers by itself, and delivers twice or late, and `kill -9` of either at any moment. What a command said
//! is kept is on its device ever after, what a sync that ended well has sent is on the service ever after, and when
//! the faults have stopped and everyone has synced, all digests agree.
//!
//! What is done follows from a seed; how processes and threads run beside one another does not.

mod device;
mod ledger;
mod pages;
mod plan;
mod proxy;
mod service;
mod world;

pub use pages::{bad_gateway, portal, timed_out};
pub use plan::{Fault, NAMES};
pub use proxy::{Proxy, Recorded, Weather};
pub use world::{Asked, run};
