//! sheafd: keeps the entries of teams and hands them on. It knows HTTP and disk, and decides nothing that
//! the model decides.

mod act;
mod care;
mod clock;
mod config;
mod error;
mod founding;
mod index;
mod journal;
mod listen;
mod routes;
mod secret;
mod service;
mod store;

pub use care::{Backup, Report, TeamReport, Trouble, backup, check, rebuild, restore};
pub use clock::Clock;
pub use config::Config;
pub use error::{Refusal, ServerError};
pub use founding::key_path;
pub use listen::{Server, Tls};

use std::{future::Future, path::Path};
use tokio::net::TcpListener;

/// Serves a data folder on a listener until `shutdown` is done, then lets requests in flight finish.
pub async fn serve(
    listener: TcpListener,
    config: Config,
    clock: Clock,
    shutdown: impl Future<Output = ()>,
) -> Result<(), ServerError> {
    Server::open(config, clock).await?.run(listener, shutdown).await
}

/// Returns the founding key of a data folder as people write it; it is made when there is none yet.
pub fn founding_key(data: &Path) -> Result<String, ServerError> {
    Ok(founding::founding_key(data)?.show())
}

/// Returns the founding key of a data folder; none where no service has run in it yet.
pub fn known_founding_key(data: &Path) -> Result<Option<String>, ServerError> {
    Ok(founding::known_founding_key(data)?.map(|key| key.show()))
}
