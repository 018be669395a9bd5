//! `sheaf parts`: every part, what is known of it, and where it is.

use crate::{
    CliError, Env,
    args::Parts as Args,
    fields, lookup,
    render::{self, Tone},
    store::Home,
};
use sheaf_model::{
    kind::{self, Form},
    verdict::{self, PartRow, upper_first},
};

/// Prints the parts, sort by sort.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let what = args.what.as_deref().map(sort).transpose()?;
    let found = verdict::parts(home.store(), what.as_deref(), args.all, lookup::units(&args.scale))?;
    if env.json {
        return env.print_json(&found);
    }
    if found.parts.is_empty() {
        let of = what.map_or_else(String::new, |what| format!(" of the sort {what}"));
        writeln!(env.out, "No part{of} is noted yet.")?;
        return env.remark(
            "`sheaf add part NAME --what SORT` adds one; `sheaf add part --help` says what can be noted.",
        );
    }
    let mut last = None;
    for row in &found.parts {
        let sort = row.what.as_deref().unwrap_or("of no sort yet");
        if last != Some(sort) {
            render::say(env, Tone::Strong, sort)?;
            last = Some(sort);
        }
        render::sentences(env, &[sentence(row)])?;
    }
    if found.parts.iter().any(|row| row.limits.is_some()) {
        env.remark(
            "The maker's limits are as whoever noted the part wrote them; the maker's own word comes first.",
        )?;
    }
    Ok(())
}

/// Reads a sort of part.
fn sort(typed: &str) -> Result<String, CliError> {
    let (field, form): (&str, Form) = fields::field("part", "what")?;
    Ok(kind::value(field, form, typed)?.as_str().unwrap_or_default().to_owned())
}

/// Returns a part in sentences: what it is, its limits, where it is.
fn sentence(row: &PartRow) -> String {
    let known = if row.known.is_empty() { "nothing more is noted of it" } else { &row.known };
    let out = if row.retired { " (out of use)" } else { "" };
    let mut said = format!("{}{out}: {known}. {}.", row.name, upper_first(&row.place));
    for more in row.limits.iter().chain(&row.note) {
        said.push_str(&format!(" {}.", upper_first(more.trim_end_matches('.'))));
    }
    if row.history.len() > 1 {
        let before = row.history[..row.history.len() - 1].iter().rev().map(|spell| spell.words.as_str());
        said.push_str(&format!(" Before: {}.", before.collect::<Vec<_>>().join("; ")));
    }
    said
}
