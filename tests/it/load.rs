//! The program that loads the service, with a few devices: everything that is sent is kept and counted.

use crate::harness::programs::program;
use sheaf_tests::load::{Plan, run};
use std::time::Duration;
use tempfile::TempDir;

#[test]
fn what_the_load_sends_is_in_the_store() {
    let folder = TempDir::new().expect("a folder");
    let mut plan = Plan::usual(program("sheafd"), folder.path());
    (plan.groups, plan.teams, plan.mates) = (203, 2, 3);
    (plan.devices, plan.time) = (vec![1, 6], Duration::from_millis(300));
    let figures = run(&plan);
    // Every device records a bow and arrows beside its groups.
    assert_eq!(figures.filled, 203 + 2 * 6);
    let exchanged: usize = figures.runs.iter().map(|(_, run)| run.pace.count).sum();
    assert!(figures.runs.iter().all(|(disk, run)| disk.count > 0 && run.pace.count >= run.devices));
    assert!(figures.checked.sound);
    assert_eq!(figures.checked.entries as usize, figures.filled + exchanged);
    let (first_sync, _) = figures.first_sync;
    assert_eq!(first_sync, 101 + 2 * 3, "a new device gets all of its team");
    assert!(figures.start_memory.now_kib > 0 && figures.disk.0 > 0 && figures.disk.1 > 0);
    let shown = figures.to_string();
    assert!(shown.contains("\n| 6 | "), "{shown}");
    assert_eq!(folder.path().read_dir().expect("it is there").count(), 0, "nothing is left behind");
}
