//! How many requests an address or a device may send: a bucket each, in bounded memory.
//!
//! A bucket holds as many requests as may come at once, and fills evenly so that it is full again after the window.
//! It is kept as one moment, that at which it will be full (the generic cell rate algorithm of ITU-T I.371).

use crate::error::ServerError;
use std::{
    collections::BTreeMap,
    net::IpAddr,
    sync::{Mutex, PoisonError},
    time::{Duration, Instant},
};

/// How many buckets are remembered at most.
const BUCKETS: usize = 10_000;

/// The buckets of all senders of a kind.
#[derive(Debug)]
pub struct Pace<K> {
    most: u32,
    window: Duration,
    begun: Instant,
    full_at: Mutex<BTreeMap<K, Duration>>,
}

impl<K: Ord + Copy> Pace<K> {
    /// Allows each sender `most` requests in a window of time.
    pub fn new(most: u32, window: Duration) -> Self {
        Self { most: most.max(1), window, begun: Instant::now(), full_at: Mutex::default() }
    }

    /// Takes a request from the bucket of its sender; refused when it is empty. `who` names the sender in words.
    pub fn take(&self, sender: K, who: &str) -> Result<(), ServerError> {
        self.take_at(sender, self.begun.elapsed()).map_err(|wait| {
            let seconds = wait.as_secs() + u64::from(wait.subsec_nanos() > 0);
            let detail = format!(
                "{who} sent more than {} requests in {} s. Nothing is lost: go on in {seconds} s.",
                self.most,
                self.window.as_secs()
            );
            ServerError::refuse(429, "too_many_requests", "Too many requests", detail).retry_after(seconds)
        })
    }

    /// Takes a request at a moment since the service began; says how long to wait when the bucket is empty.
    fn take_at(&self, sender: K, now: Duration) -> Result<(), Duration> {
        let each = self.window / self.most;
        let mut full_at = self.full_at.lock().unwrap_or_else(PoisonError::into_inner);
        let next = full_at.get(&sender).copied().unwrap_or_default().max(now) + each;
        if let Some(wait) = next.checked_sub(now + self.window).filter(|wait| !wait.is_zero()) {
            return Err(wait);
        }
        if full_at.len() >= BUCKETS && !full_at.contains_key(&sender) {
            forget(&mut full_at, now);
        }
        full_at.insert(sender, next);
        Ok(())
    }
}

/// Forgets full buckets, which say nothing; when there are too few, also the fuller half, which says least.
fn forget<K: Ord>(full_at: &mut BTreeMap<K, Duration>, now: Duration) {
    full_at.retain(|_, at| *at > now);
    if full_at.len() >= BUCKETS / 2 {
        let mut moments: Vec<Duration> = full_at.values().copied().collect();
        moments.sort_unstable();
        let middle = moments[moments.len() / 2];
        full_at.retain(|_, at| *at > middle);
    }
}

/// Returns what one household or host has in common: the /64 of an IPv6 address.
pub fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => IpAddr::V6((u128::from(v6) >> 64 << 64).into()),
        v4 => v4,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const S: Duration = Duration::from_secs(1);

    #[test]
    fn a_bucket_is_emptied_at_once_and_fills_evenly() {
        let pace = Pace::new(3, 6 * S);
        let start = 100 * S;
        for n in 0..3 {
            assert_eq!(pace.take_at(1, start), Ok(()), "request {n}");
        }
        assert_eq!(pace.take_at(1, start), Err(2 * S), "the first of three is there again after a third");
        assert_eq!(pace.take_at(2, start), Ok(()), "another sender has a bucket of its own");
        assert_eq!(pace.take_at(1, start + S), Err(S));
        assert_eq!(pace.take_at(1, start + 2 * S), Ok(()));
        assert_eq!(pace.take_at(1, start + 2 * S), Err(2 * S), "being refused costs nothing more");
        for n in 0..3 {
            assert_eq!(pace.take_at(1, start + 8 * S), Ok(()), "full after the window, and no fuller: {n}");
        }
        assert!(pace.take_at(1, start + 8 * S).is_err());
    }

    #[test]
    fn the_memory_is_bounded_and_who_sends_most_is_remembered() {
        let pace = Pace::new(3, 6 * S);
        for _ in 0..3 {
            pace.take_at(0, S).unwrap();
        }
        for sender in 1..30_000_u32 {
            pace.take_at(sender, S).unwrap();
        }
        assert!(pace.full_at.lock().unwrap().len() <= BUCKETS);
        assert!(pace.take_at(0, S).is_err(), "the one that is out of requests is not forgotten");
    }

    #[test]
    fn a_network_is_an_ipv4_address_or_a_64() {
        let of = |text: &str| network(text.parse().unwrap()).to_string();
        assert_eq!(of("192.0.2.7"), "192.0.2.7");
        assert_eq!(of("::ffff:192.0.2.7"), "192.0.2.7");
        assert_eq!(of("2001:db8:1:2:3:4:5:6"), "2001:db8:1:2::");
    }
}
