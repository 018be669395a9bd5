//! The targets of `tests/src/fuzz`, built with counters and without what they do not need.

#[path = "../src/fuzz/bundle.rs"]
pub mod bundle;
#[path = "../src/fuzz/chain.rs"]
pub mod chain;
#[path = "../src/fuzz/compute.rs"]
pub mod compute;
#[path = "../src/fuzz/desk.rs"]
pub mod desk;
#[path = "../src/fuzz/entry.rs"]
pub mod entry;
#[path = "../src/fuzz/exchange.rs"]
pub mod exchange;
#[path = "../src/fuzz/mutate.rs"]
pub mod mutate;
#[path = "../src/fuzz/notation.rs"]
pub mod notation;
#[path = "../src/fuzz/records.rs"]
pub mod records;
#[path = "../src/fuzz/table.rs"]
pub mod table;
#[path = "../src/fuzz/told.rs"]
pub mod told;

#[cfg(feature = "service")]
#[path = "../src/fuzz/backup.rs"]
pub mod backup;
#[cfg(feature = "service")]
#[path = "../src/fuzz/request.rs"]
pub mod request;

pub use libfuzzer_sys;

/// Every other input is changed where it is JSON or a table, every other one as libFuzzer changes bytes.
pub fn changed(data: &mut [u8], size: usize, most: usize, seed: u32) -> usize {
    if seed.is_multiple_of(2) {
        return libfuzzer_sys::fuzzer_mutate(data, size, most);
    }
    let new = mutate::mutated(&data[..size], u64::from(seed));
    let size = new.len().min(most);
    data[..size].copy_from_slice(&new[..size]);
    size
}

/// Makes the program of a target.
#[macro_export]
macro_rules! target {
    ($name:ident) => {
        use $crate::libfuzzer_sys::{fuzz_mutator, fuzz_target};
        fuzz_target!(|data: &[u8]| $crate::$name::check(data));
        fuzz_mutator!(|data: &mut [u8], size: usize, most: usize, seed: u32| {
            $crate::changed(data, size, most, seed)
        });
    };
}
