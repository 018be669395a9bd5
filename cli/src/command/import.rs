//! `sheaf import`: groups from the CSV that people already have.

use crate::{
    CliError, Env,
    args::{DatesArg, Import, UnitsArg},
    lookup::{self, nearest},
    render, scoring,
    store::Home,
};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use serde_json::value::to_raw_value;
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind,
    notation::distance_m,
    replica::{Draft, Store},
    table::{self, DateOrder, Options, Table, Trouble, Usual, named_id},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    io::Read,
    path::Path,
};

/// How many groups are made durable at once. An import that is cut off is finished by repeating it.
const BATCH: usize = 1000;
/// How many troubles are told one by one.
const TOLD: usize = 20;

/// What became of a file.
#[derive(Debug, Default, Serialize)]
struct Outcome {
    rows: usize,
    groups: usize,
    new: usize,
    known: usize,
    off_face: usize,
    created: Vec<Made>,
    columns: Vec<(String, Option<&'static str>)>,
    refused: Vec<Trouble>,
    left_out: usize,
    notes: Vec<String>,
    /// What the file names and the team does not have, with the nearest names.
    unknown: Vec<String>,
    kept: bool,
}

/// A thing that a file names and the team did not have.
#[derive(Debug, Clone, Serialize)]
struct Made {
    kind: &'static str,
    name: String,
}

/// Reads a file and records the groups that are new.
pub fn run(args: &Import, env: &mut Env<'_>) -> Result<(), CliError> {
    let bytes = bytes_of(&args.file, env)?;
    let mut home = Home::open(env)?;
    let options = options(args, &home, env)?;
    let bar = bar(env, "reading");
    let table = table::read(&bytes, &options, &mut |done, of| told(&bar, done, of))?;
    bar.finish_and_clear();
    let mut outcome = Outcome {
        rows: table.rows,
        groups: table.found.len(),
        columns: table.columns.clone(),
        refused: table.troubles.clone(),
        left_out: table.left_out,
        notes: table.notes.clone(),
        ..Outcome::default()
    };
    outcome.unknown = if args.create { Vec::new() } else { unknown(&table, &home)? };
    if !outcome.unknown.is_empty() || (!table.troubles.is_empty() && !args.keep_good) {
        return refuse(&outcome, args, env);
    }
    let mut drafts = drafts(&table, &home, args, &mut outcome)?;
    outcome.kept = !args.dry_run;
    if !args.dry_run {
        let bar = bar_of(env, "keeping", drafts.len());
        while !drafts.is_empty() {
            let rest = drafts.split_off(drafts.len().min(BATCH));
            bar.inc(drafts.len() as u64);
            home.record(env, drafts)?;
            drafts = rest;
        }
        bar.finish_and_clear();
    }
    answer(&outcome, args, env)
}

fn bytes_of(file: &Path, env: &mut Env<'_>) -> Result<Vec<u8>, CliError> {
    if file != Path::new("-") {
        return fs::read(file).map_err(|e| CliError::file("read", file, &e));
    }
    let mut bytes = Vec::new();
    let most = table::MOST_BYTES as u64 + 1;
    env.input
        .take(most)
        .read_to_end(&mut bytes)
        .map_err(|e| CliError::input(format!("the input cannot be read: {e}")))?;
    Ok(bytes)
}

fn options(args: &Import, home: &Home, env: &Env<'_>) -> Result<Options, CliError> {
    let columns = args.column.iter().map(|typed| column(typed)).collect::<Result<_, _>>()?;
    let separator = args.separator.as_deref().map(separator).transpose()?;
    if let Some(typed) = &args.distance {
        distance_m(typed)?;
    }
    if let Some(code) = &args.face {
        Face::by_code(code)?;
    }
    // Archers and sets that are typed may be shortened as everywhere; in the file names are whole.
    let id = |kind, typed: &Option<String>| match typed {
        Some(text) => known_or_new(home, kind, text, args.create).map(Some),
        None => Ok(None),
    };
    let usual = Usual {
        at: args.at.clone(),
        bow: id("bow", &args.bow)?,
        archer: Some(id("person", &args.archer)?.unwrap_or_else(|| home.card().person.to_string())),
        arrows: id("arrows", &args.arrows)?,
        distance: args.distance.clone(),
        face: args.face.clone(),
        session: args.session.clone(),
    };
    let zone = env.zone.clone();
    let base = match args.units {
        UnitsArg::Metric => Options::metric(zone),
        UnitsArg::Imperial => Options::imperial(zone),
    };
    let dates = match args.dates {
        None => DateOrder::AsTheFileTells,
        Some(DatesArg::DayFirst) => DateOrder::DayFirst,
        Some(DatesArg::MonthFirst) => DateOrder::MonthFirst,
    };
    Ok(Options { columns, separator, dates, fill_down: args.fill_down, usual, ..base })
}

fn column(typed: &str) -> Result<(String, String), CliError> {
    let (field, header) = typed.split_once('=').ok_or_else(|| {
        CliError::input(format!("--column {typed} names no header"))
            .hint("write it like --column x_mm=across")
    })?;
    Ok((field.to_owned(), header.to_owned()))
}

fn separator(typed: &str) -> Result<char, CliError> {
    let mut chars = typed.chars();
    match (typed, chars.next(), chars.next()) {
        ("tab" | "\\t", ..) => Ok('\t'),
        (_, Some(one), None) if !one.is_alphanumeric() => Ok(one),
        _ => Err(CliError::input(format!("`{typed}` separates no columns")).hint("write , or ; or tab")),
    }
}

/// Returns the id of a thing that was typed; its name when it is to be made.
fn known_or_new(home: &Home, kind: &'static str, text: &str, create: bool) -> Result<String, CliError> {
    match lookup::find_known(home, kind, text)? {
        Some(found) => Ok(found.id.to_string()),
        None if create => Ok(text.to_owned()),
        None => Ok(lookup::find(home, kind, text)?.id.to_string()),
    }
}

/// Returns what is to be recorded: things that the file names and nobody has, then the groups that are new.
fn drafts(table: &Table, home: &Home, args: &Import, outcome: &mut Outcome) -> Result<Vec<Draft>, CliError> {
    let mut drafts = Vec::new();
    let ids = named(table, home, args, outcome, &mut drafts)?;
    let (mut seen, mut beyond) = (BTreeSet::new(), BTreeSet::new());
    let team = home.card().team;
    for (id, group) in table.groups(team, &mut |kind, name| ids.get(&(kind, name.to_owned())).copied())? {
        if let Some(face) = group.face() {
            outcome.off_face +=
                scoring::off_face(&group, &face, scoring::shaft_mm(home, group.arrows)?).len();
        }
        if home.store().thing("group", id)?.is_some() || !seen.insert(id) {
            outcome.known += 1;
            continue;
        }
        outcome.new += 1;
        let (numbers, count) = scoring::beyond_set(home, &group)?;
        beyond.extend(numbers.into_iter().map(|n| (count, n)));
        drafts.push(kind::draft(id, &group)?);
    }
    outcome.notes.extend(beyond.iter().take(TOLD).map(|(count, n)| {
        format!("there is no arrow {n} by the records: the set has {count} (`sheaf set arrows NAME count=N`)")
    }));
    Ok(drafts)
}

/// Returns the ids of the things that the file names; those to be made are added to the drafts.
fn named(
    table: &Table,
    home: &Home,
    args: &Import,
    outcome: &mut Outcome,
    drafts: &mut Vec<Draft>,
) -> Result<BTreeMap<(&'static str, String), ThingId>, CliError> {
    let mut ids = BTreeMap::new();
    for named in table.names() {
        let known = lookup::all(home, named.kind)?;
        let id = match called(&known, &named.name) {
            Some(found) => found.id,
            None if args.create => {
                let draft = made(home, named.kind, &named.name)?;
                outcome.created.push(Made { kind: named.kind, name: named.name.clone() });
                let id = draft.id;
                drafts.push(draft);
                id
            }
            None => continue,
        };
        ids.insert((named.kind, named.name), id);
    }
    Ok(ids)
}

/// Returns what the rows that can be read name and the team does not have, with the nearest names.
fn unknown(table: &Table, home: &Home) -> Result<Vec<String>, CliError> {
    let mut unknown = Vec::new();
    for named in table.names() {
        let known = lookup::all(home, named.kind)?;
        if called(&known, &named.name).is_none() {
            let near = nearest(&named.name, known.iter().map(|n| n.name.as_str())).join(", ");
            let near = if near.is_empty() { near } else { format!(" (nearest: {near})") };
            unknown.push(format!("{} `{}`{near}", named.kind, named.name));
        }
    }
    Ok(unknown)
}

/// Returns the thing that a file means by a name or an id; of two with one name that which is in use.
fn called<'a>(known: &'a [lookup::Named], name: &str) -> Option<&'a lookup::Named> {
    let same = |n: &&lookup::Named| sheaf_model::name::key(&n.name) == sheaf_model::name::key(name);
    let in_use = known.iter().filter(|n| !n.retired).find(same);
    in_use.or_else(|| known.iter().find(|n| n.id.to_string() == name)).or_else(|| known.iter().find(same))
}

fn made(home: &Home, kind: &'static str, name: &str) -> Result<Draft, CliError> {
    let name = lookup::new_name(home, kind, name, None)?;
    let id = named_id(home.card().team, kind, &name);
    let name = to_raw_value(&name).map_err(|e| CliError::bug(format!("a name cannot be written: {e}")))?;
    Ok(Draft { kind: kind.into(), id, set: BTreeMap::from([("name".to_owned(), name)]), settles: false })
}

fn refuse(outcome: &Outcome, args: &Import, env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        env.print_json(outcome)?;
    }
    tell_troubles(outcome, env)?;
    let add = "add them with --create, or mend the names; --bow and --archer are for rows that name none";
    let named = format!("the file names what the team does not have: {}", outcome.unknown.join("; "));
    if outcome.refused.is_empty() || args.keep_good {
        return Err(CliError::input(named).hint(add));
    }
    let bad = render::count(outcome.refused.len(), "row");
    let good = render::count(outcome.groups, "group");
    let told = format!("nothing was kept: {bad} of {} cannot be read", args.file.display());
    let mend = format!("mend them, or keep the other {good} with --keep-good");
    Err(match outcome.unknown.is_empty() {
        true => CliError::input(told).hint(mend),
        false => CliError::input(format!("{told}, and {named}")).hint(format!("rows: {mend}; names: {add}")),
    })
}

fn tell_troubles(outcome: &Outcome, env: &mut Env<'_>) -> Result<(), CliError> {
    for trouble in outcome.refused.iter().take(TOLD) {
        env.remark(trouble)?;
    }
    if let more @ 1.. = outcome.refused.len().saturating_sub(TOLD) {
        env.remark(format!("and {more} more (--json names them all)"))?;
    }
    if outcome.left_out > 0 {
        env.remark(format!(
            "{} of the same ends left out with them, since part of an end is another end.",
            render::count(outcome.left_out, "good row")
        ))?;
    }
    Ok(())
}

fn answer(outcome: &Outcome, args: &Import, env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        return env.print_json(outcome);
    }
    if args.dry_run {
        for (header, field) in &outcome.columns {
            writeln!(env.out, "{header}: {}", field.unwrap_or("not read"))?;
        }
    }
    tell_troubles(outcome, env)?;
    let verb = |done: &'static str, would: &'static str| if args.dry_run { would } else { done };
    for made in &outcome.created {
        writeln!(env.out, "{} {} {}.", verb("Added", "Would add"), made.kind, made.name)?;
    }
    writeln!(
        env.out,
        "{} {} of {} in {}.",
        verb("Kept", "Would keep"),
        render::count(outcome.new, "new group"),
        render::thousands(outcome.groups as u64),
        render::count(outcome.rows, "row")
    )?;
    if outcome.known > 0 {
        let were = if outcome.known == 1 { "was" } else { "were" };
        writeln!(env.out, "{} {were} here already.", render::count(outcome.known, "group"))?;
    }
    if outcome.off_face > 0 {
        env.remark(format!(
            "{} off the face: kept where they struck, scored as misses.",
            render::count(outcome.off_face, "arrow")
        ))?;
    }
    for note in &outcome.notes {
        env.remark(format!("Note: {note}."))?;
    }
    Ok(())
}

fn bar(env: &Env<'_>, doing: &'static str) -> ProgressBar {
    bar_of(env, doing, 0)
}

/// Returns a bar on standard error; one that stays invisible where no person looks on.
fn bar_of(env: &Env<'_>, doing: &'static str, of: usize) -> ProgressBar {
    if !env.interactive {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{msg} {wide_bar} {human_pos}/{human_len}");
    let bar = ProgressBar::new(of as u64).with_message(doing);
    match style {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

fn told(bar: &ProgressBar, done: usize, of: usize) {
    bar.set_length(of as u64);
    bar.set_position(done as u64);
}
