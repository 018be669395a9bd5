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
    id::ThingId,
    replica::{Draft, Store},
};
use std::collections::{BTreeMap, BTreeSet};

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
        if matches!(entry.kind.as_str(), "group" | "change" | "session" | "mark" | "note")
            && entry.seq <= to_seq
        {
            recorded.insert((entry.kind, entry.id));
        }
        entry.seq < to_seq
    })?;
    let mut drafts = Vec::new();
    for (kind, id) in recorded {
        let Some(thing) = home.store().thing(&kind, id)? else { continue };
        let fields = thing.fields();
        let Some(at) = fields.get("at").filter(|f| f.now.stamp.device == device) else { continue };
        let Ok(text) = serde_json::from_str::<String>(at.now.value.get()) else { continue };
        let moved = when::shifted(&text, -off_ms)?;
        let raw =
            to_raw_value(&moved).map_err(|e| CliError::bug(format!("a time cannot be written: {e}")))?;
        drafts.push(Draft { kind, id, set: BTreeMap::from([("at".to_owned(), raw)]), settles: false });
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
