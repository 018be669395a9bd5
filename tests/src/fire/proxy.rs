//! A proxy between devices and the service that does to each connection what a plan says.

use super::{
    pages,
    plan::{Deck, Fault},
};
use crate::simulation::{Tally, failed};
use sheaf_model::rng::{Rng, Seed};
use std::{
    io,
    net::SocketAddr,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    time::Duration,
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    runtime::Runtime,
    time::{sleep, timeout},
};

/// What the proxy does with the connections to come.
pub enum Weather {
    /// It passes them on.
    Calm,
    /// It deals faults from a deck.
    Rough(Deck),
    /// It does the same to each.
    Set(Fault),
}

struct Shared {
    upstream: Mutex<SocketAddr>,
    weather: Mutex<Weather>,
    tally: Mutex<Tally>,
    /// What the device sent and heard on each connection, when that is to be kept.
    heard: Mutex<Option<Vec<Recorded>>>,
}

/// The bytes of one connection.
#[derive(Debug, Clone, Default)]
pub struct Recorded {
    /// From the device.
    pub request: Vec<u8>,
    /// From the service.
    pub reply: Vec<u8>,
}

/// A running proxy; it ends when it is dropped.
pub struct Proxy {
    address: SocketAddr,
    shared: Arc<Shared>,
    runtime: Option<Runtime>,
}

impl Proxy {
    /// Starts a proxy before a service, with everything calm.
    pub fn start(upstream: SocketAddr) -> Result<Self, String> {
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
        let runtime = runtime.map_err(failed("a runtime"))?;
        let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).map_err(failed("a port"))?;
        let address = listener.local_addr().map_err(failed("a port"))?;
        let shared = Arc::new(Shared {
            upstream: Mutex::new(upstream),
            weather: Mutex::new(Weather::Calm),
            tally: Mutex::default(),
            heard: Mutex::default(),
        });
        runtime.spawn(accept(listener, shared.clone()));
        Ok(Self { address, shared, runtime: Some(runtime) })
    }

    /// Returns the address that devices are given.
    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Names the service's address anew.
    pub fn lead_to(&self, upstream: SocketAddr) {
        *held(&self.shared.upstream) = upstream;
    }

    /// Says what becomes of the connections to come.
    pub fn set(&self, weather: Weather) {
        *held(&self.shared.weather) = weather;
    }

    /// Deals faults from a deck with this seed.
    pub fn roughen(&self, seed: u64) {
        self.set(Weather::Rough(Deck::new(Rng::new(Seed(seed)))));
    }

    /// Returns which faults came to pass so far.
    pub fn tally(&self) -> Tally {
        held(&self.shared.tally).clone()
    }

    /// Keeps the bytes of the connections to come.
    pub fn record(&self) {
        *held(&self.shared.heard) = Some(Vec::new());
    }

    /// Waits until so many connections have ended since they are kept; returns their bytes, and keeps no more.
    pub fn recorded(&self, count: usize) -> Vec<Recorded> {
        while held(&self.shared.heard).as_ref().is_some_and(|all| all.len() < count) {
            std::thread::yield_now();
        }
        held(&self.shared.heard).take().unwrap_or_default()
    }
}

impl Drop for Proxy {
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}

fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shared {
    fn count(&self, fault: Fault) {
        if let Some(name) = fault.name() {
            held(&self.tally).one(name);
        }
    }

    fn next(&self) -> Fault {
        match &mut *held(&self.weather) {
            Weather::Calm => Fault::Pass,
            Weather::Rough(deck) => deck.draw(),
            Weather::Set(fault) => *fault,
        }
    }
}

async fn accept(listener: TcpListener, shared: Arc<Shared>) {
    loop {
        if let Ok((device, _)) = listener.accept().await {
            held(&shared.tally).one("connections");
            let fault = shared.next();
            // What becomes of a connection is for the device to notice.
            tokio::spawn(serve(device, fault, shared.clone()));
        }
    }
}

async fn serve(device: TcpStream, fault: Fault, shared: Arc<Shared>) -> io::Result<()> {
    match fault {
        Fault::BadGateway => return answer(device, fault, &shared, pages::bad_gateway()).await,
        Fault::Portal => return answer(device, fault, &shared, pages::portal()).await,
        Fault::StallBefore(ms) => {
            sleep(Duration::from_millis(ms)).await;
            return answer(device, fault, &shared, pages::timed_out()).await;
        }
        Fault::Late(ms) => {
            sleep(Duration::from_millis(ms)).await;
            shared.count(fault);
        }
        _ => {}
    }
    let upstream = *held(&shared.upstream);
    let Ok(service) = TcpStream::connect(upstream).await else {
        held(&shared.tally).one("no service: 502 page");
        return answer(device, Fault::Pass, &shared, pages::bad_gateway()).await;
    };
    pass(device, service, fault, &shared).await
}

/// Reads the first request and answers it with a page.
async fn answer(mut device: TcpStream, fault: Fault, shared: &Shared, page: Vec<u8>) -> io::Result<()> {
    let mut request = Vec::new();
    while !whole(&request) {
        if device.read_buf(&mut request).await? == 0 {
            return Ok(());
        }
    }
    shared.count(fault);
    device.write_all(&page).await?;
    device.shutdown().await
}

/// Returns whether bytes hold at least one whole request.
fn whole(request: &[u8]) -> bool {
    let Some(end) = request.windows(4).position(|w| w == b"\r\n\r\n") else { return false };
    let head = String::from_utf8_lossy(&request[..end]).to_lowercase();
    let length = head.lines().find_map(|line| line.strip_prefix("content-length:")?.trim().parse().ok());
    request.len() >= end + 4 + length.unwrap_or(0)
}

/// Passes bytes both ways until one side ends or the fault says so.
async fn pass(device: TcpStream, service: TcpStream, fault: Fault, shared: &Arc<Shared>) -> io::Result<()> {
    let upstream = *held(&shared.upstream);
    let twin = match fault {
        Fault::Twice => TcpStream::connect(upstream).await.ok(),
        _ => None,
    };
    let mut passing = Passing { device, service, twin, fault, seen: Recorded::default() };
    let end = passing.run().await;
    let Passing { device, service, seen, .. } = passing;
    let struck = match fault {
        Fault::CutRequest(_) | Fault::CutReply(_) | Fault::ResetRequest(_) | Fault::ResetReply(_) => {
            matches!(end, Ok(End::Struck))
        }
        Fault::StallAfter(_) => matches!(end, Ok(End::Struck)),
        Fault::Late(_) => false,
        _ => !seen.request.is_empty(),
    };
    if struck {
        shared.count(fault);
        if matches!(fault, Fault::ResetRequest(_) | Fault::ResetReply(_)) {
            device.set_zero_linger()?;
            service.set_zero_linger()?;
        }
    }
    if let Ok(End::Service) | Err(_) = end
        && whole(&seen.request)
        && seen.reply.is_empty()
    {
        held(&shared.tally).one("service gone before its answer");
    }
    if let Fault::Again(ms) = fault {
        tokio::spawn(again(seen.request.clone(), ms, upstream));
    }
    if let Some(all) = &mut *held(&shared.heard) {
        all.push(seen);
    }
    Ok(())
}

/// Delivers what a device sent once more; nobody hears the answer.
async fn again(request: Vec<u8>, ms: u64, upstream: SocketAddr) -> io::Result<()> {
    sleep(Duration::from_millis(ms)).await;
    let mut service = TcpStream::connect(upstream).await?;
    service.write_all(&request).await?;
    let mut unheard = Vec::new();
    // The service keeps the connection open for more.
    let _ = timeout(Duration::from_secs(5), service.read_buf(&mut unheard)).await;
    Ok(())
}

/// How a connection ended.
enum End {
    /// The device had enough.
    Device,
    /// The service had enough.
    Service,
    /// The fault ended it.
    Struck,
}

/// A connection that is passed on.
struct Passing {
    device: TcpStream,
    service: TcpStream,
    twin: Option<TcpStream>,
    fault: Fault,
    seen: Recorded,
}

impl Passing {
    async fn run(&mut self) -> io::Result<End> {
        let (mut up, mut down) = (vec![0; 16 * 1024], vec![0; 16 * 1024]);
        let (most_up, most_down) = match self.fault {
            Fault::CutRequest(at) | Fault::ResetRequest(at) => (at, u64::MAX),
            Fault::CutReply(at) | Fault::ResetReply(at) => (u64::MAX, at),
            _ => (u64::MAX, u64::MAX),
        };
        loop {
            tokio::select! {
                read = self.device.read(&mut up) => {
                    let bytes = &up[..read?];
                    if bytes.is_empty() {
                        return Ok(End::Device);
                    }
                    let (part, struck) = until(bytes, self.seen.request.len(), most_up);
                    if let Some(twin) = &mut self.twin {
                        // It is no harm when the twin finds the service gone.
                        let _ = twin.write_all(part).await;
                    }
                    self.seen.request.extend_from_slice(part);
                    paced(&mut self.service, part, self.fault).await?;
                    if struck {
                        return Ok(End::Struck);
                    }
                }
                read = self.service.read(&mut down) => {
                    let bytes = &down[..read?];
                    if bytes.is_empty() {
                        return Ok(End::Service);
                    }
                    if let Fault::StallAfter(ms) = self.fault {
                        sleep(Duration::from_millis(ms)).await;
                        self.device.write_all(&pages::timed_out()).await?;
                        self.device.shutdown().await?;
                        return Ok(End::Struck);
                    }
                    let (part, struck) = until(bytes, self.seen.reply.len(), most_down);
                    self.seen.reply.extend_from_slice(part);
                    paced(&mut self.device, part, self.fault).await?;
                    if struck {
                        return Ok(End::Struck);
                    }
                }
            }
        }
    }
}

/// Returns the part of bytes that passes, and whether the connection is cut behind it.
fn until(bytes: &[u8], seen: usize, most: u64) -> (&[u8], bool) {
    let left = usize::try_from(most).unwrap_or(usize::MAX).saturating_sub(seen);
    if bytes.len() > left { (&bytes[..left], true) } else { (bytes, false) }
}

/// Writes all at once, or a few bytes at a time.
async fn paced(to: &mut TcpStream, bytes: &[u8], fault: Fault) -> io::Result<()> {
    let Fault::Trickle(few) = fault else { return to.write_all(bytes).await };
    to.set_nodelay(true)?;
    for part in bytes.chunks(few.max(bytes.len() / 50 + 1)) {
        to.write_all(part).await?;
        sleep(Duration::from_millis(2)).await;
    }
    Ok(())
}
