//! A service that runs in this process, and requests to it over loopback, one a connection, cut at any byte.

use super::failed;
use sheaf_server::{Clock, Config, Server, ServerError};
use std::{
    io::{Read, Write},
    net::{Shutdown, SocketAddr, TcpStream},
    time::Duration,
};
use tokio::{net::TcpListener, runtime::Runtime, sync::oneshot, task::JoinHandle};

/// A status and a body.
pub type Answer = (u16, Vec<u8>);

/// Where a connection is cut.
#[derive(Debug, Clone, Copy)]
pub enum Cut {
    /// Nowhere.
    Not,
    /// After this share of the request, in millionths.
    Request(u64),
    /// After this share of the answer, in millionths.
    Reply(u64),
}

/// A service that runs.
pub struct Running {
    /// Where it listens.
    pub address: SocketAddr,
    stop: oneshot::Sender<()>,
    done: JoinHandle<Result<(), ServerError>>,
}

impl Running {
    /// Opens the service and lets it listen.
    pub fn open(runtime: &Runtime, mut config: Config, clock: Clock) -> Result<Self, String> {
        // No answer may hang on how long something took.
        let long = Duration::from_secs(3600);
        (config.header_timeout, config.body_timeout, config.write_timeout) = (long, long, long);
        let server = runtime.block_on(Server::open(config, clock)).map_err(failed("the service opens"))?;
        let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).map_err(failed("a port"))?;
        let address = listener.local_addr().map_err(failed("a port"))?;
        let (stop, stopped) = oneshot::channel::<()>();
        let done = runtime.spawn(server.run(listener, async {
            stopped.await.ok();
        }));
        Ok(Self { address, stop, done })
    }

    /// Stops it.
    pub fn stop(self, runtime: &Runtime) -> Result<(), String> {
        drop(self.stop);
        let done = runtime.block_on(self.done).map_err(failed("the service ends"))?;
        done.map_err(failed("the service ends"))
    }
}

/// Sends a request and reads the answer; `None` when the connection was cut.
pub fn post(
    address: SocketAddr,
    path: &str,
    token: &str,
    body: &[u8],
    cut: Cut,
) -> Result<Option<Answer>, String> {
    let head = format!(
        "POST {path} HTTP/1.1\r\nhost: sheaf\r\nauthorization: Bearer {token}\r\ncontent-type: \
         application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n",
        body.len()
    );
    let request = [head.as_bytes(), body].concat();
    let mut stream = TcpStream::connect(address).map_err(failed("a connection"))?;
    let share = |of: usize, millionths: u64| (of as u64 * millionths / 1_000_000) as usize;
    if let Cut::Request(part) = cut {
        stream.write_all(&request[..share(request.len(), part)]).map_err(failed("a request"))?;
        stream.shutdown(Shutdown::Write).map_err(failed("a cut"))?;
        // The service ends the connection, with or without words; then it is done with the request.
        std::io::copy(&mut stream, &mut std::io::sink()).ok();
        return Ok(None);
    }
    stream.write_all(&request).map_err(failed("a request"))?;
    let mut reply = Vec::new();
    stream.read_to_end(&mut reply).map_err(failed("an answer"))?;
    if let Cut::Reply(part) = cut {
        reply.truncate(share(reply.len(), part));
    }
    Ok(read_answer(&reply))
}

/// Reads an answer that came whole; `None` when it did not.
pub fn read_answer(reply: &[u8]) -> Option<Answer> {
    let end = reply.windows(4).position(|w| w == b"\r\n\r\n")?;
    let (head, body) = (std::str::from_utf8(&reply[..end]).ok()?.to_lowercase(), &reply[end + 4..]);
    let status = head.split(' ').nth(1)?.parse().ok()?;
    let length = head.lines().find_map(|line| line.strip_prefix("content-length:"))?;
    (length.trim().parse() == Ok(body.len())).then(|| (status, body.to_vec()))
}

/// Returns an answer as text, for a failure.
pub fn text(body: &[u8]) -> String {
    String::from_utf8_lossy(body).chars().take(500).collect()
}
