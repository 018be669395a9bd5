//! The figures as tables.

use super::Figures;
use std::{
    fmt::{self, Display, Formatter},
    time::Duration,
};

impl Display for Figures {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let plan = &self.plan;
        let cores = std::thread::available_parallelism().map_or(0, |n| n.get());
        writeln!(
            f,
            "{} groups of {} teams with {} devices each; every device sends one new group after the other, each\n\
             kept on the disk before the answer; {cores} cores for service and devices together.\n",
            plan.groups, plan.teams, plan.mates
        )?;
        writeln!(
            f,
            "| devices | exchanges / s | p50 | p99 | worst | synced writes / s of the disk alone (p50, p99) | ratio | cores: service, devices |\n\
             | --- | --- | --- | --- | --- | --- | --- | --- |"
        )?;
        for (disk, run) in &self.runs {
            let pace = &run.pace;
            writeln!(
                f,
                "| {} | {:.0} | {} | {} | {} | {:.0} ({}, {}) | {:.1} | {:.2}, {:.2} |",
                run.devices,
                pace.per_s,
                ms(pace.p50),
                ms(pace.p99),
                ms(pace.worst),
                disk.per_s,
                ms(disk.p50),
                ms(disk.p99),
                pace.per_s / disk.per_s,
                run.service_cores,
                run.client_cores
            )?;
        }
        writeln!(f, "\n| with the groups stored | |\n| --- | --- |")?;
        self.rows().into_iter().try_for_each(|(what, value)| writeln!(f, "| {what} | {value} |"))
    }
}

impl Figures {
    fn rows(&self) -> Vec<(&'static str, String)> {
        let (entries, took) = self.first_sync;
        let memory = |m: super::Memory| format!("{} MB, at most {} MB", m.now_kib / 1024, m.most_kib / 1024);
        vec![
            (
                "filling it by exchanges of up to 1,000 entries",
                format!(
                    "{} ({:.0} entries / s)",
                    ms(self.filling),
                    self.filled as f64 / self.filling.as_secs_f64()
                ),
            ),
            ("memory after filling", memory(self.filled_memory)),
            ("stop", ms(self.stop)),
            ("start until /v1/health answers", ms(self.start)),
            ("memory after the start", memory(self.start_memory)),
            ("first sync of a team", format!("{} for {entries} entries", ms(took))),
            ("memory after all exchanges", memory(self.end_memory)),
            ("start after a crash", ms(self.crash_start)),
            ("journal on the disk", format!("{} MB", self.disk.0 >> 20)),
            ("index on the disk", format!("{} MB", self.disk.1 >> 20)),
            (
                "`sheafd check`",
                format!("{}, at most {} MB of memory", ms(self.checked.took), self.checked.most_kib / 1024),
            ),
        ]
    }
}

fn ms(took: Duration) -> String {
    match took.as_secs_f64() * 1000.0 {
        ms if ms >= 1000.0 => format!("{:.1} s", ms / 1000.0),
        ms if ms >= 10.0 => format!("{ms:.0} ms"),
        ms => format!("{ms:.2} ms"),
    }
}
