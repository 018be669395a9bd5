//! How much may go on at one time: live streams of a device, and computations of the door.

use crate::{
    config::Config,
    error::ServerError,
    metrics::{Metrics, Open},
    service::Session,
};
use sheaf_model::id::{DeviceId, TeamId};
use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError},
};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// The places that are free.
#[derive(Clone)]
pub struct Places {
    computations: Arc<Semaphore>,
    streams: Arc<Mutex<BTreeMap<(TeamId, DeviceId), usize>>>,
    most_streams: usize,
    metrics: Arc<Metrics>,
}

/// The place of a live stream; free again when it is dropped.
pub struct Stream {
    places: Places,
    device: (TeamId, DeviceId),
    _open: Open,
}

impl Places {
    /// Makes as many places as the configuration says.
    pub fn new(config: &Config, metrics: Arc<Metrics>) -> Self {
        Self {
            computations: Arc::new(Semaphore::new(config.computations)),
            streams: Arc::default(),
            most_streams: config.streams,
            metrics,
        }
    }

    /// Takes a place for a computation.
    pub fn computation(&self) -> Result<OwnedSemaphorePermit, ServerError> {
        self.computations.clone().try_acquire_owned().map_err(|_| {
            let detail = "As many computations as may run at one time are running; try again in a moment.";
            too_many("too_many_computations", detail.to_owned(), 2)
        })
    }

    /// Takes a place for a live stream of a device.
    pub fn stream(&self, who: Session) -> Result<Stream, ServerError> {
        let device = (who.team, who.device);
        let mut streams = self.streams.lock().unwrap_or_else(PoisonError::into_inner);
        let open = streams.entry(device).or_default();
        if *open >= self.most_streams {
            let detail = format!(
                "Device {} listens to {open} streams of events already, and may to {}; close one of them first.",
                who.device, self.most_streams
            );
            return Err(too_many("too_many_streams", detail, 15));
        }
        *open += 1;
        Ok(Stream { places: self.clone(), device, _open: self.metrics.stream() })
    }
}

impl Drop for Stream {
    fn drop(&mut self) {
        let mut streams = self.places.streams.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(open) = streams.get_mut(&self.device) {
            *open -= 1;
            if *open == 0 {
                streams.remove(&self.device);
            }
        }
    }
}

fn too_many(code: &'static str, detail: String, seconds: u64) -> ServerError {
    ServerError::refuse(429, code, "Too much at one time", detail).retry_after(seconds)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_computation_beyond_the_places_is_told_to_come_again() {
        let mut config = Config::new("unused");
        config.computations = 1;
        let places = Places::new(&config, Arc::new(Metrics::new()));
        let first = places.computation().unwrap();
        let Err(ServerError::Refused(second)) = places.computation() else { panic!("there is one place") };
        assert_eq!((second.status, second.retry_after_s), (429, Some(2)));
        drop(first);
        assert!(places.computation().is_ok(), "the place is free again");
    }
}
