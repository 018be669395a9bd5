//! `sheaf demo`: the main job with one command, on invented people and an invented season.

mod rig;
mod stage;
mod story;

use crate::{
    CliError, Env,
    args::Demo,
    render::{self, Side, Table, Tone, paint},
};
use serde_json::Value;
use stage::{Stage, sheaf};
use story::{Archer, DISTANCE_M, Event, TRUTHS};

const DAY_MS: u64 = 86_400_000;

/// Plays the season and shows what Sheaf makes of it.
pub fn run(args: &Demo, env: &mut Env<'_>) -> Result<(), CliError> {
    title(env, "A season that never was")?;
    writeln!(
        env.out,
        "All people, bows and shots here are invented. Ilse and Odo share two modular\n\
         bows, bramble and thistle, and one set of arrows; Maren coaches them."
    )?;
    let mut stage = Stage::open(env)?;
    let now = env.now_ms();
    found(env, &stage, now)?;
    record(env, &stage, now, args.seed)?;
    rig::noted(env, &stage, now)?;
    exchange(env, &stage, now)?;
    for bow in ["bramble", "thistle"] {
        judge(env, &stage, now, bow)?;
    }
    title(env, "What the coach sees: sheaf report")?;
    let report = sheaf(env, &stage.home("maren"), now, &["report"])?;
    writeln!(env.out, "{}", report.trim_end())?;
    finish(env, &stage, args.keep)?;
    if args.keep {
        stage.keep();
    }
    Ok(())
}

fn title(env: &mut Env<'_>, text: &str) -> Result<(), CliError> {
    let line = paint(env, Tone::Strong, text);
    Ok(writeln!(env.out, "\n{line}\n{}", "-".repeat(text.chars().count()))?)
}

/// What Ilse types to begin with.
const FOUNDING: [&[&str]; 10] = [
    &["start", "Bramble and thistle", "--me", "Ilse", "--device", "Ilse's phone"],
    &["add", "person", "Maren"],
    &["add", "bow", "bramble", "--riser", "25in"],
    &["add", "bow", "thistle", "--riser", "23in"],
    &["add", "arrows", "blue twelve", "--count", "12", "--shaft-diameter", "5.5mm", "--spine", "600"],
    &["add", "part", "medium 34", "--what", "limbs", "--limb-length", "medium", "--marked-weight", "34lbf"],
    &["add", "part", "fourteen strands", "--what", "string", "--strands", "14"],
    &["add", "part", "sixteen strands", "--what", "string", "--strands", "16"],
    &[
        "change",
        "bramble",
        "limbs=medium 34",
        "string=fourteen strands",
        "brace_height=215mm",
        "tiller=4mm",
        "nocking_point=10mm",
        "plunger=2",
        "arrows=blue twelve",
    ],
    &[
        "change",
        "thistle",
        "brace_height=212mm",
        "tiller=3mm",
        "nocking_point=9mm",
        "plunger=1 1/2",
        "arrows=blue twelve",
    ],
];

/// The team with its bows, and the devices of all three.
fn found(env: &mut Env<'_>, stage: &Stage, now: u64) -> Result<(), CliError> {
    let then = now.saturating_sub(62 * DAY_MS);
    let (ilse, odo, maren) = (stage.home("ilse"), stage.home("odo"), stage.home("maren"));
    let key = stage.key()?;
    for words in FOUNDING {
        sheaf(env, &ilse, then, words)?;
    }
    sheaf(env, &ilse, now, &["connect", &stage.url, "--key", &key])?;
    let code = invite(env, stage, now, &["invite", "--role", "archer", "--json"])?;
    sheaf(env, &odo, now, &["join", &stage.url, &code, "--me", "Odo", "--device", "Odo's phone"])?;
    let code = invite(env, stage, now, &["invite", "--role", "coach", "--for", "Maren", "--json"])?;
    sheaf(env, &maren, now, &["join", &stage.url, &code, "--device", "Maren's laptop"])?;
    sheaf(env, &ilse, now, &["sync"])?;
    Ok(())
}

fn invite(env: &mut Env<'_>, stage: &Stage, now: u64, words: &[&str]) -> Result<String, CliError> {
    let answer: Value = json(&sheaf(env, &stage.home("ilse"), now, words)?)?;
    Ok(answer["code"].as_str().unwrap_or_default().to_owned())
}

/// The season, each on their own device and with no network.
fn record(env: &mut Env<'_>, stage: &Stage, now: u64, seed: u64) -> Result<(), CliError> {
    let began = (now - now % DAY_MS).saturating_sub(61 * DAY_MS);
    let (mut ends, mut changes) = ([0_usize; 2], 0);
    for event in story::season(seed) {
        match event {
            Event::Change { by, bow, settings, minute } => {
                let words: Vec<&str> = ["change", bow].into_iter().chain(settings.iter().copied()).collect();
                sheaf(env, &home(stage, by), began + minute * 60_000, &words)?;
                changes += 1;
            }
            Event::End { archer, bow, shots, sight, minute } => {
                let head =
                    ["shoot", bow, "30m", "--face", "wa_80", "--arrows", "blue twelve", "--sight", sight];
                let words: Vec<&str> = head.into_iter().chain(shots.iter().map(String::as_str)).collect();
                sheaf(env, &home(stage, archer), began + minute * 60_000, &words)?;
                ends[usize::from(archer == Archer::Odo)] += 1;
            }
        }
    }
    title(env, "Two months at the range, with no network")?;
    writeln!(
        env.out,
        "Ilse's phone: {} of 6 arrows. Odo's phone: {} of 6 arrows.",
        render::count(ends[0], "end"),
        render::count(ends[1], "end")
    )?;
    writeln!(
        env.out,
        "{} to the bows, each noted on the phone of whoever made it.",
        render::count(changes, "change")
    )?;
    Ok(())
}

fn home(stage: &Stage, archer: Archer) -> std::path::PathBuf {
    stage.home(match archer {
        Archer::Ilse => "ilse",
        Archer::Odo => "odo",
    })
}

/// All three sync; then all hold the same.
fn exchange(env: &mut Env<'_>, stage: &Stage, now: u64) -> Result<(), CliError> {
    title(env, "Back in reach of the network: sheaf sync")?;
    let heads = [
        ("device", Side::Left),
        ("sent", Side::Right),
        ("received", Side::Right),
        ("requests", Side::Right),
        ("bytes out", Side::Right),
        ("bytes in", Side::Right),
        ("digest", Side::Left),
    ];
    let mut table = Table::new(&heads);
    let mut digests = std::collections::BTreeMap::new();
    for (name, device) in [
        ("Ilse's phone", "ilse"),
        ("Odo's phone", "odo"),
        ("Ilse's phone", "ilse"),
        ("Maren's laptop", "maren"),
    ] {
        let report: Value = json(&sheaf(env, &stage.home(device), now, &["sync", "--json"])?)?;
        let number = |field: &str| render::thousands(report[field].as_u64().unwrap_or(0));
        let digest = report["digest"].as_str().unwrap_or_default().to_owned();
        table.row([
            name.into(),
            number("sent"),
            number("received"),
            number("requests"),
            number("bytes_out"),
            number("bytes_in"),
            digest.chars().take(12).collect(),
        ]);
        digests.insert(device, digest);
    }
    table.print(env)?;
    let first = digests.values().next().cloned().unwrap_or_default();
    if digests.values().any(|digest| *digest != first) {
        return Err(CliError::bug("the devices do not hold the same state"));
    }
    Ok(writeln!(env.out, "All three hold the same state, digest\n{first}.")?)
}

/// What the groups say of a bow's changes, with the truth beside it.
fn judge(env: &mut Env<'_>, stage: &Stage, now: u64, bow: &str) -> Result<(), CliError> {
    title(env, &format!("Which change moved the groups? sheaf effects {bow}"))?;
    let told = sheaf(env, &stage.home("ilse"), now, &["effects", bow])?;
    writeln!(env.out, "{}", told.trim_end())?;
    let verdict: Value = json(&sheaf(env, &stage.home("ilse"), now, &["effects", bow, "--json"])?)?;
    for archer in verdict["archers"].as_array().into_iter().flatten() {
        let who = archer["name"].as_str().unwrap_or_default();
        writeln!(
            env.out,
            "\nBuilt in, beside what {who}'s groups show (mm at {DISTANCE_M:.0} m, spread in %):"
        )?;
        let judged = archer["verdicts"].as_array().map(Vec::as_slice).unwrap_or_default();
        beside_the_truth(bow, judged).print(env)?;
    }
    Ok(())
}

fn beside_the_truth(bow: &str, judged: &[Value]) -> Table {
    let heads = [
        ("change", Side::Left),
        ("right", Side::Right),
        ("found", Side::Left),
        ("high", Side::Right),
        ("found", Side::Left),
        ("spread", Side::Right),
        ("found", Side::Left),
    ];
    let mut table = Table::new(&heads);
    let mm = |v: f64| format!("{:.0}", (v * DISTANCE_M).round() + 0.0);
    let percent = |ratio: f64| format!("{:+.0}", 100.0 * (ratio - 1.0));
    for (truth, found) in TRUTHS.iter().filter(|t| t.bow == bow).zip(judged) {
        let shift =
            |axis: usize| with_bounds(&found["shift_mrad"][axis], &found["shift_interval_mrad"][axis], &mm);
        let first = |typed: &&str| typed.split(['=', '_']).next().unwrap_or_default().to_owned();
        table.row([
            truth.settings.iter().map(first).collect::<Vec<String>>().join(" "),
            mm(truth.shift[0]),
            shift(0),
            mm(truth.shift[1]),
            shift(1),
            percent(truth.sd_ratio),
            with_bounds(&found["sd_ratio"], &found["sd_ratio_interval"], &percent),
        ]);
    }
    table
}

/// Returns an estimate with its interval, or a dash where there is none.
fn with_bounds(estimate: &Value, interval: &Value, words: &dyn Fn(f64) -> String) -> String {
    let [estimate, low, high] = [estimate, &interval[0], &interval[1]].map(|v| v.as_f64().map(words));
    match (estimate, low, high) {
        (Some(estimate), Some(low), Some(high)) => format!("{estimate} [{low} {high}]"),
        _ => "-".into(),
    }
}

fn finish(env: &mut Env<'_>, stage: &Stage, keep: bool) -> Result<(), CliError> {
    title(env, if keep { "It goes on running" } else { "Now yours" })?;
    if keep {
        writeln!(
            env.out,
            "The service: {} (process {}; stop it with `kill {}`)",
            stage.url,
            stage.process(),
            stage.process()
        )?;
        writeln!(env.out, "Everything lies in {}.", stage.folder().display())?;
        writeln!(
            env.out,
            "Look around, for example: sheaf --home {} timeline bramble",
            stage.home("ilse").display()
        )?;
        return Ok(());
    }
    writeln!(env.out, "sheaf start \"Our team\" --me NAME      begins a team here, with no network")?;
    writeln!(env.out, "sheaf shoot BOW 30m 9@4:30 X@12 M    records a group; see `sheaf --help`")?;
    Ok(())
}

fn json(text: &str) -> Result<Value, CliError> {
    serde_json::from_str(text).map_err(|e| CliError::bug(format!("an answer is no JSON: {e}")))
}
