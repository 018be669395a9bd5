//! An exchange for people: how far it has come, and what it came to.

use super::Report;
use crate::{CliError, Env, command::differences, lookup, render, store::Home, when, words::entries_of};
use sheaf_model::verdict::clashes;

/// Exchanges, and shows how far it has come when a person watches.
pub fn exchange_with_progress(home: &mut Home, env: &mut Env<'_>, quiet: bool) -> Result<Report, CliError> {
    let watched = env.interactive && !env.json && !quiet;
    super::sync(home, env, watched)
}

/// How much is said of a sync.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// What an archer wants to know.
    Brief,
    /// Also bytes, requests and the digest.
    Full,
}

/// Says what a sync came to.
pub fn tell(home: &Home, report: &Report, detail: Detail, env: &mut Env<'_>) -> Result<(), CliError> {
    remark_on_forks(report, env)?;
    remark_on(home, report, env)?;
    remark_on_refused(report, env)?;
    if env.json {
        return env.print_json(report);
    }
    writeln!(env.out, "{} sent, {} received.", entries_of(report.sent), entries_of(report.received))?;
    let agree = match report.agree {
        true => "This device and the team's server hold the same records now.",
        false if report.unfit.iter().any(|unfit| unfit.newer) => {
            "The server holds records that this sheaf cannot read yet: update it, then sync again."
        }
        false => "The server holds more or less than this device: sync again.",
    };
    writeln!(env.out, "{agree}")?;
    if detail == Detail::Full { tell_in_full(report, env) } else { Ok(()) }
}

/// Says what either side did not keep of the other's.
fn remark_on_refused(report: &Report, env: &mut Env<'_>) -> Result<(), CliError> {
    for refused in report.refused.iter().take(5) {
        env.remark(format!("Not kept by the server: {}.", refused.message))?;
    }
    if report.refused.iter().any(|refused| refused.code == "newer_version") {
        env.remark(
            "The server is older than what wrote these records: sheafd there has to be updated. They stay on this \
             device and go over with a sync after that.",
        )?;
    }
    for unfit in report.unfit.iter().take(5) {
        env.remark(match unfit.newer {
            true => format!(
                "Device {} writes with a newer sheaf than this one: what it wrote from its entry {} on cannot be read \
                 here. It stays on the server; everything else was exchanged. Update sheaf on this device, then sync.",
                unfit.device, unfit.seq
            ),
            false => format!(
                "Not kept here, since it is not as it was written: {}. Everything else was exchanged.",
                unfit.why
            ),
        })?;
    }
    Ok(())
}

/// Says how much went over the network, and the digest of what is held here.
fn tell_in_full(report: &Report, env: &mut Env<'_>) -> Result<(), CliError> {
    writeln!(
        env.out,
        "{}; {} bytes out, {} in.\n{} in all, digest {}.",
        render::count(usize::try_from(report.traffic.requests).unwrap_or(usize::MAX), "request"),
        render::thousands(report.traffic.bytes_out),
        render::thousands(report.traffic.bytes_in),
        entries_of(usize::try_from(report.entries).unwrap_or(usize::MAX)),
        report.digest
    )?;
    Ok(())
}

/// Says how many differences there are to settle, once something came in.
fn remark_on_differences(home: &Home, report: &Report, env: &mut Env<'_>) -> Result<(), CliError> {
    match if report.received > 0 { differences::all(home)?.len() } else { 0 } {
        0 => Ok(()),
        n => env.remark(format!("{} to settle: `sheaf differences`.", render::count(n, "difference"))),
    }
}

/// Says which logs forked, and what became of them.
fn remark_on_forks(report: &Report, env: &mut Env<'_>) -> Result<(), CliError> {
    if let Some(renewed) = report.renewed {
        env.remark(format!(
            "This replica was a copy of another, or was restored from an old one: its log forked. It goes on under a new \
             device id ({}); {} that only it had are written again under that id. Nothing is lost.",
            renewed.to,
            entries_of(renewed.moved)
        ))?;
    }
    for parted in &report.parted {
        env.remark(format!(
            "The log of device {} forked: it was restored from an old copy, or copied, and wrote other entries than this \
             device had from it. {} of it that only devices like this one held are kept as a log of their own. Nothing \
             is lost.",
            parted.device,
            entries_of(parted.entries)
        ))?;
    }
    Ok(())
}

/// Says what needs attention in any case: differences, parts that two bows name, names that came to be borne twice, and a wrong clock.
pub fn remark_on(home: &Home, report: &Report, env: &mut Env<'_>) -> Result<(), CliError> {
    let shared = if report.received > 0 { lookup::shared_names(home)? } else { Vec::new() };
    shared.into_iter().try_for_each(|told| env.remark(told))?;
    remark_on_differences(home, report, env)?;
    if report.received > 0 {
        clashes(home.store())?.iter().try_for_each(|clash| env.remark(render::tame(&clash.words)))?;
    }
    if !report.clock_is_off() {
        return Ok(());
    }
    let way = if report.clock_off_ms > 0 { "ahead of" } else { "behind" };
    env.remark(format!(
        "The clock of this device is {} {way} the server's. Set it right; `sheaf shift-times` moves the times of what \
         was recorded meanwhile.",
        when::span(report.clock_off_ms.unsigned_abs())
    ))
}
