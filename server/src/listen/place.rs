//! The place that a connection takes: among all connections, and among those of its address.

use crate::{config::Config, metrics::Open, pace::network};
use std::{
    collections::BTreeMap,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};
use tokio::sync::OwnedSemaphorePermit;

/// How many connections each address has.
#[derive(Debug, Clone)]
pub struct Addresses {
    most: usize,
    open: Arc<Mutex<BTreeMap<IpAddr, usize>>>,
}

/// The place of a connection, free again when it is dropped.
#[derive(Debug)]
pub struct Place {
    _among_all: OwnedSemaphorePermit,
    _of_address: Option<OfAddress>,
    _counted: Open,
}

/// A place among those of an address.
#[derive(Debug)]
struct OfAddress {
    addresses: Addresses,
    address: IpAddr,
}

impl Addresses {
    /// Allows each address as many connections as the configuration says.
    pub fn new(config: &Config) -> Self {
        Self { most: config.address_connections, open: Arc::default() }
    }

    /// Gives a place to a connection that has one among all; none when its address has as many as it may. A proxy on
    /// this machine speaks for everybody, so loopback has no such limit.
    pub fn place(&self, address: IpAddr, among_all: OwnedSemaphorePermit, counted: Open) -> Option<Place> {
        let of_address = match address.to_canonical().is_loopback() {
            true => None,
            false => Some(self.take(network(address))?),
        };
        Some(Place { _among_all: among_all, _of_address: of_address, _counted: counted })
    }

    fn take(&self, address: IpAddr) -> Option<OfAddress> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(address).or_default();
        if *count >= self.most {
            return None;
        }
        *count += 1;
        Some(OfAddress { addresses: self.clone(), address })
    }
}

impl Drop for OfAddress {
    fn drop(&mut self) {
        let mut open = self.addresses.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.address) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.address);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::metrics::Metrics;
    use tokio::sync::Semaphore;

    #[test]
    fn an_address_has_so_many_places_and_this_machine_all() {
        let (metrics, all) = (Metrics::new(), Arc::new(Semaphore::new(8)));
        let addresses = Addresses { most: 2, open: Arc::default() };
        let place = |address: &str| {
            let permit = all.clone().try_acquire_owned().unwrap();
            addresses.place(address.parse().unwrap(), permit, metrics.connection())
        };
        let first = place("2001:db8::1").unwrap();
        let second = place("2001:db8::2").unwrap();
        assert!(place("2001:db8::3").is_none(), "it is the same network");
        let other = place("2001:db8:0:1::1").unwrap();
        drop(first);
        let third = place("2001:db8::3").unwrap();
        let here: Vec<Place> = (0..3).map(|_| place("127.0.0.1").unwrap()).collect();
        drop((second, third, other, here));
        assert!(addresses.open.lock().unwrap().is_empty(), "nothing is remembered of who has gone");
        assert_eq!(all.available_permits(), 8);
    }
}
