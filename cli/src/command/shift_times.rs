//! `sheaf shift-times`: moves the times that a wrong clock gave.

use crate::{
    CliError, Env,
    args::ShiftTimes,
    exchange::{self, ClockOff},
    render,
    store::Home,
    when,
};
use serde_json::{json, value::to_raw_value};
use sheaf_model::{
    id::{DeviceId, ThingId},
    merge::Thing,
    moment::Moment,
    replica::{Draft, Store},
};
use std::collections::{BTreeMap, BTreeSet};

/// A moment this near to that of its writing was read off the clock.
const NEAR_MS: u64 = 5 * 60_000;

/// Shifts the `at` of what this device recorded under the wrong clock, as ordinary edits.
pub fn run(args: &ShiftTimes, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let Some(ClockOff { off_ms, from_seq, to_seq }) = exchange::recall_clock(&home) else {
        return Err(CliError::input("no sync has found this device's clock to be wrong")
            .hint("`sheaf sync` compares it with the server's"));
    };
    let device = home.card().device;
    let mut recorded: BTreeSet<(String, ThingId)> = BTreeSet::new();
    home.store().log(device, from_seq, &mut |entry| {
        if matches!(
            entry.kind.as_str(),
            "group" | "change" | "session" | "mark" | "note" | "pair" | "curve" | "speed" | "practice"
        ) && entry.seq <= to_seq
        {
            recorded.insert((entry.kind, entry.id));
        }
        entry.seq < to_seq
    })?;
    let mut drafts = Vec::new();
    for (kind, id) in recorded {
        let Some(thing) = home.store().thing(&kind, id)? else { continue };
        drafts.extend(moved(&thing, device, off_ms)?);
    }
    let (count, way) = (drafts.len(), if off_ms > 0 { "back" } else { "forward" });
    let span = when::span(off_ms.unsigned_abs());
    if !args.dry_run {
        home.record(env, drafts)?;
        exchange::forget_clock(&home);
    }
    if env.json {
        return env.print_json(&json!({"shifted": count, "by_ms": -off_ms, "done": !args.dry_run}));
    }
    let verb = if args.dry_run { "Would move" } else { "Kept: moved" };
    writeln!(env.out, "{verb} {} {way} by {span}.", render::count(count, "record"))?;
    Ok(())
}

/// Returns the edit that shifts when a thing was, if that was read off the wrong clock.
fn moved(thing: &Thing, device: DeviceId, off_ms: i64) -> Result<Option<Draft>, CliError> {
    let fields = thing.fields();
    let Some(at) = fields.get("at").filter(|f| f.now.stamp.device == device) else { return Ok(None) };
    let Ok(text) = serde_json::from_str::<String>(at.now.value.get()) else { return Ok(None) };
    if !is_the_clocks(&text, at.now.stamp.tick.ms(), thing.id) {
        return Ok(None);
    }
    let moved = when::shifted(&text, -off_ms)?;
    let raw = to_raw_value(&moved).map_err(|e| CliError::bug(format!("a time cannot be written: {e}")))?;
    let set = BTreeMap::from([("at".to_owned(), raw)]);
    Ok(Some(Draft { kind: thing.kind.clone(), id: thing.id, set, settles: false }))
}

/// Returns whether a moment is the one at which it was written, by the clock that wrote it: typed and imported ones
/// are others.
///
/// A stamp never runs back, so behind a clock that does, only the id still tells what that clock said; an import
/// makes its ids of the very moment that a row gives.
fn is_the_clocks(at: &str, stamp_ms: u64, id: ThingId) -> bool {
    let Ok(at) = Moment::read(at) else { return false };
    let apart = |ms: u64| i64::try_from(ms).unwrap_or(i64::MAX).abs_diff(at.unix_ms());
    apart(stamp_ms) <= NEAR_MS || (1..=NEAR_MS).contains(&apart(id.unix_ms()))
}
