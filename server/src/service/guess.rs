//! Wrong codes are counted by address, so that nobody can try them at leisure.

use crate::{error::ServerError, pace::network};
use std::{
    collections::BTreeMap,
    net::IpAddr,
    sync::{Mutex, PoisonError},
    time::Duration,
};

/// How many addresses are remembered at most.
const ADDRESSES: usize = 10_000;

/// The wrong codes of late.
#[derive(Debug)]
pub struct Guesses {
    most: u32,
    window_ms: u64,
    wrong: Mutex<BTreeMap<IpAddr, (u32, u64)>>,
}

impl Guesses {
    /// Allows `most` wrong codes of an address in a window of time.
    pub fn new(most: u32, window: Duration) -> Self {
        let window_ms = u64::try_from(window.as_millis()).unwrap_or(u64::MAX);
        Self { most, window_ms, wrong: Mutex::default() }
    }

    /// Refuses an address that sent too many wrong codes of late.
    pub fn check(&self, address: IpAddr, now_ms: u64) -> Result<(), ServerError> {
        let wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        match wrong.get(&network(address)) {
            Some((count, until)) if *count >= self.most && now_ms < *until => {
                let seconds = (until - now_ms).div_ceil(1000);
                let detail =
                    format!("Too many wrong codes came from this address; try again in {seconds} seconds.");
                Err(ServerError::refuse(429, "too_many_guesses", "Too many wrong codes", detail)
                    .retry_after(seconds))
            }
            _ => Ok(()),
        }
    }

    /// Counts a wrong code against an address.
    pub fn wrong(&self, address: IpAddr, now_ms: u64) {
        let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        if wrong.len() >= ADDRESSES {
            wrong.retain(|_, (_, until)| now_ms < *until);
        }
        if wrong.len() >= ADDRESSES {
            // Still full: the older half is forgotten, so that the next thousands cost nothing.
            let mut untils: Vec<u64> = wrong.values().map(|(_, until)| *until).collect();
            untils.sort_unstable();
            let middle = untils[untils.len() / 2];
            wrong.retain(|_, (_, until)| *until > middle);
        }
        let until = now_ms.saturating_add(self.window_ms);
        let entry = wrong.entry(network(address)).or_insert((0, until));
        if now_ms >= entry.1 {
            *entry = (0, until);
        }
        entry.0 += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_codes_are_held_against_their_address_for_a_while() {
        let guesses = Guesses::new(3, Duration::from_secs(60));
        let (one, other) = (IpAddr::from([192, 0, 2, 1]), IpAddr::from([192, 0, 2, 2]));
        for n in 0..3 {
            assert!(guesses.check(one, 1000).is_ok(), "after {n} wrong codes");
            guesses.wrong(one, 1000);
        }
        assert!(guesses.check(one, 60_999).is_err());
        assert!(guesses.check(other, 1000).is_ok());
        assert!(guesses.check(one, 61_000).is_ok());
        guesses.wrong(one, 61_000);
        assert!(guesses.check(one, 61_000).is_ok(), "the count begins anew");
    }

    #[test]
    fn the_memory_of_addresses_is_bounded() {
        let guesses = Guesses::new(3, Duration::from_secs(60));
        for n in 0..20_000_u32 {
            guesses.wrong(IpAddr::from(n.to_be_bytes()), u64::from(n));
        }
        assert!(guesses.wrong.lock().expect("no panic").len() <= ADDRESSES);
    }
}
