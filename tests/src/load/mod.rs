//! Figures of the service under load: a store of a million groups, devices that exchange with it at one time, and
//! beside them what the disk does on its own.

mod club;
mod disk;
mod exchange;
mod link;
mod pace;
mod plan;
mod report;
mod service;

pub use exchange::Run;
pub use pace::Pace;
pub use plan::Plan;
pub use service::{Checked, Memory};

use service::Service;
use std::{
    fs,
    path::Path,
    time::{Duration, Instant},
};

/// What a run found.
#[derive(Debug)]
pub struct Figures {
    /// What was asked for.
    pub plan: Plan,
    /// Entries that were sent before anything was measured.
    pub filled: usize,
    /// How long that took.
    pub filling: Duration,
    /// Memory of the service after that.
    pub filled_memory: Memory,
    /// How long the service took to stop.
    pub stop: Duration,
    /// From the next start until the service answered.
    pub start: Duration,
    /// Its memory then.
    pub start_memory: Memory,
    /// Entries and time of a new device's first sync.
    pub first_sync: (usize, Duration),
    /// What the disk did on its own and what the devices did right after it.
    pub runs: Vec<(Pace, Run)>,
    /// Memory of the service after all of that.
    pub end_memory: Memory,
    /// From the start after a crash until the service answered.
    pub crash_start: Duration,
    /// Bytes of the journal, and of the index.
    pub disk: (u64, u64),
    /// What the check of the store came to.
    pub checked: Checked,
}

/// Runs a plan over a new data folder, which is removed at the end.
///
/// # Panics
/// When anything fails: figures of a run with failures would say nothing.
pub fn run(plan: &Plan) -> Figures {
    let folder = plan.folder.join(format!("load-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder can be made");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
    let figures = runtime.block_on(measure(plan, &folder));
    fs::remove_dir_all(&folder).expect("the folder can be removed");
    figures
}

async fn measure(plan: &Plan, folder: &Path) -> Figures {
    let data = folder.join("data");
    let service = Service::start(plan, &data).await;
    let key = fs::read_to_string(data.join("founding-key")).expect("the founding key is there");
    let began = Instant::now();
    let (mut devices, filled) = exchange::fill(plan, service.address, key.trim()).await;
    let (filling, filled_memory) = (began.elapsed(), service.memory());
    eprintln!("{filled} entries are there after {} s", filling.as_secs());
    let stop = service.stop();
    let service = Service::start(plan, &data).await;
    let (start, start_memory) = (service.start, service.memory());
    let first_sync = exchange::first_sync(plan, service.address, &devices[0]).await;
    let mut runs = Vec::new();
    for count in plan.devices.clone() {
        // An entry that is never sent would leave a gap in its log, so this one is of a device that exists nowhere.
        let sample = club::Device::new(devices[0].team, u64::MAX).shoot(1).remove(0);
        let alone = disk::synced_writes(folder, devices[0].team, &sample, plan.time / 3);
        let run = exchange::run(plan, &service, &mut devices, count).await;
        eprintln!("{count} devices made {} exchanges", run.pace.count);
        runs.push((alone, run));
    }
    let end_memory = service.memory();
    service.kill();
    let service = Service::start(plan, &data).await;
    let crash_start = service.start;
    service.stop();
    let disk = (disk::size(&data.join("journal")), disk::size(&data.join("index")));
    let checked = service::check(plan, &data);
    Figures {
        plan: plan.clone(),
        filled,
        filling,
        filled_memory,
        stop,
        start,
        start_memory,
        first_sync,
        runs,
        end_memory,
        crash_start,
        disk,
        checked,
    }
}
