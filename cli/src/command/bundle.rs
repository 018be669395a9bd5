//! `sheaf bundle`: records as a file, for handing over with no network.

use crate::{
    CliError, Env,
    args::{Bundle, BundleWay},
    command::differences,
    exchange::why_not,
    render,
    store::{Home, spare},
    words::entries_of,
};
use serde_json::json;
use sheaf_model::{journal, replica::Absorbed};
use std::{fs, path::Path};

/// Writes a bundle or takes one in.
pub fn run(args: &Bundle, env: &mut Env<'_>) -> Result<(), CliError> {
    match &args.way {
        BundleWay::Out { file, replace } => out(file, *replace, env),
        BundleWay::In { file } => take_in(file, env),
    }
}

fn out(file: &Path, replace: bool, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    if file != Path::new("-") {
        spare(file, replace)?;
    }
    let entries = home.entries()?;
    let count = entries.len();
    let bytes = journal::write_bundle(home.card().team, entries)?;
    if file == Path::new("-") {
        env.out.write_all(&bytes)?;
        return env.remark(format!("Wrote {}. Digest {}", entries_of(count), home.digest()?));
    }
    fs::write(file, &bytes).map_err(|e| CliError::file("write", file, &e))?;
    if env.json {
        let digest = home.digest()?;
        return env.print_json(&json!({"entries": count, "bytes": bytes.len(), "digest": digest}));
    }
    let size = render::thousands(bytes.len() as u64);
    writeln!(env.out, "Wrote {} ({size} bytes) to {}.", entries_of(count), file.display())?;
    Ok(())
}

/// Returns what a file holds, or the input where the file is called `-`.
fn bytes_of(file: &Path, env: &mut Env<'_>) -> Result<Vec<u8>, CliError> {
    if file != Path::new("-") {
        return fs::read(file).map_err(|e| CliError::file("read", file, &e));
    }
    let mut bytes = Vec::new();
    let read = env.input.read_to_end(&mut bytes);
    read.map_err(|e| CliError::input(format!("the input cannot be read: {e}")))?;
    Ok(bytes)
}

fn take_in(file: &Path, env: &mut Env<'_>) -> Result<(), CliError> {
    let bytes = bytes_of(file, env)?;
    let (team, entries) = journal::read_bundle(&bytes)?;
    let mut home = Home::open(env)?;
    if let Some(team) = team.filter(|team| *team != home.card().team) {
        return Err(CliError::refused(format!(
            "{} holds the records of another team ({team}), not those of {}",
            file.display(),
            home.card().team_name
        ))
        .hint("records of another team are taken in by joining it, in a home of its own (--home DIR)"));
    }
    let absorbed = home.absorb(entries)?;
    if env.json {
        let digest = home.digest()?;
        let refused: Vec<_> = absorbed
            .refused
            .iter()
            .map(|r| json!({"device": r.device, "seq": r.seq, "why": why_not(&r.why)}))
            .collect();
        let answer =
            json!({"kept": absorbed.kept, "known": absorbed.known, "refused": refused, "digest": digest});
        return env.print_json(&answer);
    }
    tell(&home, &absorbed, env)
}

/// Says what a bundle brought.
fn tell(home: &Home, absorbed: &Absorbed, env: &mut Env<'_>) -> Result<(), CliError> {
    let known = absorbed.known;
    let were = if known == 1 { "was" } else { "were" };
    let known = entries_of(known);
    match absorbed.kept {
        0 => writeln!(env.out, "Nothing new: {known} {were} here already.")?,
        kept => writeln!(env.out, "Kept: {} new here; {known} {were} here already.", entries_of(kept))?,
    }
    let open = if absorbed.kept > 0 { differences::all(home)?.len() } else { 0 };
    if open > 0 {
        env.remark(format!("{} to settle: `sheaf differences`.", render::count(open, "difference")))?;
    }
    if !absorbed.refused.is_empty() {
        env.remark(format!("Not kept: {}.", entries_of(absorbed.refused.len())))?;
        for refused in absorbed.refused.iter().take(5) {
            let why = why_not(&refused.why);
            env.remark(format!("  Entry {} of device {}: {why}.", refused.seq, refused.device))?;
        }
        env.remark("A sync brings what is missing; from another bundle, one with the entries before.")?;
    }
    Ok(())
}
