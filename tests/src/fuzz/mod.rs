//! What must hold of everything that is read from outside, whatever bytes it is: one file a target, each with one
//! function of bytes that panics when a property is broken.
//!
//! The suite puts kept inputs and changed copies of them through these (`tests/it/fuzz.rs`); `tests/fuzz/run` has new
//! inputs found for them by the lines of code that they reach.

pub mod backup;
pub mod bundle;
pub mod chain;
pub mod compute;
pub mod desk;
pub mod entry;
pub mod exchange;
pub mod mutate;
pub mod notation;
pub mod records;
pub mod request;
pub mod table;
pub mod told;

/// A reader of bytes from outside.
#[derive(Clone, Copy)]
pub struct Target {
    /// Its name, which is that of its file and of its folder of inputs.
    pub name: &'static str,
    /// Checks what must hold for these bytes.
    pub check: fn(&[u8]),
}

/// Every target.
pub const TARGETS: &[Target] = &[
    Target { name: "backup", check: backup::check },
    Target { name: "bundle", check: bundle::check },
    Target { name: "compute", check: compute::check },
    Target { name: "desk", check: desk::check },
    Target { name: "entry", check: entry::check },
    Target { name: "exchange", check: exchange::check },
    Target { name: "notation", check: notation::check },
    Target { name: "records", check: records::check },
    Target { name: "request", check: request::check },
    Target { name: "table", check: table::check },
];
