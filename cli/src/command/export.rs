//! `sheaf export`: groups, changes, plain counts and arrow sets as CSV.

use crate::{
    CliError, Env,
    args::{Export, ExportWhat},
    lookup, render,
    store::{Home, spare},
};
use rayon::{iter::ParallelIterator as _, slice::ParallelSlice as _};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    kind::{self, Arrows, Change, Group, Kind, Practice},
    replica::Store,
    table::{changes_csv, group_headers_csv, group_rows_csv, practice_csv, shafts_csv},
    timeline::Moment,
};
use std::{
    collections::BTreeMap,
    fs::File,
    io::{self, BufWriter, Write},
};

/// Writes what is in use, in the order in which it happened.
pub fn run(args: &Export, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = args.bow.as_deref().map(|bow| lookup::find(&home, "bow", bow)).transpose()?.map(|bow| bow.id);
    let names = names(&home)?;
    let name = |id: ThingId| names.get(&id).cloned();
    match args.what {
        ExportWhat::Groups => {
            let mut groups = records(&home, bow, |g: &Group| (g.retired, g.at.clone()))?;
            groups.iter_mut().flat_map(|(_, group)| &mut group.points_mm).for_each(|points| dust_off(points));
            put(args, &groups, |out: &mut dyn Write| write_groups(out, &groups, &name), "group", env)
        }
        ExportWhat::Changes => {
            let changes = records(&home, bow, |c: &Change| (c.retired, c.at.clone()))?;
            let csv = |out: &mut dyn Write| changes_csv(out, changes.iter().map(|(id, c)| (*id, c)), &name);
            put(args, &changes, csv, "change", env)
        }
        ExportWhat::Practice => {
            let counts = records(&home, bow, |p: &Practice| (p.retired, p.at.clone()))?;
            let csv = |out: &mut dyn Write| practice_csv(out, counts.iter().map(|(id, p)| (*id, p)), &name);
            put(args, &counts, csv, "count", env)
        }
        ExportWhat::Arrows if bow.is_some() => {
            Err(CliError::input("an arrow set belongs to no bow").hint("leave --bow out"))
        }
        ExportWhat::Arrows => {
            let sets = records(&home, None, |set: &Arrows| (set.retired, None))?;
            let csv = |out: &mut dyn Write| shafts_csv(out, sets.iter().map(|(id, set)| (*id, set)));
            put(args, &sets, csv, "arrow set", env)
        }
    }
}

/// How many groups are written in one go, and in each part of it.
const GO: usize = 4000;
const PART: usize = 500;

/// Writes groups as CSV, parts of them side by side.
fn write_groups(
    out: &mut dyn Write,
    groups: &[(ThingId, Group)],
    name: &(dyn Fn(ThingId) -> Option<String> + Sync),
) -> io::Result<()> {
    group_headers_csv(&mut *out)?;
    for go in groups.chunks(GO) {
        let part = |part: &[(ThingId, Group)]| {
            let mut text = Vec::new();
            group_rows_csv(&mut text, part.iter().map(|(id, g)| (*id, g)), &|id| name(id)).map(|()| text)
        };
        for text in go.par_chunks(PART).map(part).collect::<io::Result<Vec<_>>>()? {
            out.write_all(&text)?;
        }
    }
    Ok(())
}

/// Returns the names by which an import finds the same things again; what shares its name keeps its id.
fn names(home: &Home) -> Result<BTreeMap<ThingId, String>, CliError> {
    let mut names = BTreeMap::new();
    for kind in ["bow", "person", "arrows", "part", "baseline"] {
        let all = lookup::all(home, kind)?;
        let mut uses: BTreeMap<String, usize> = BTreeMap::new();
        all.iter().for_each(|n| *uses.entry(n.name.to_lowercase()).or_default() += 1);
        let alone = |n: &&lookup::Named| !n.name.is_empty() && uses.get(&n.name.to_lowercase()) == Some(&1);
        names.extend(all.iter().filter(alone).map(|n| (n.id, n.name.clone())));
    }
    Ok(names)
}

fn records<K: Kind>(
    home: &Home,
    bow: Option<ThingId>,
    look: impl Fn(&K) -> (bool, Option<String>),
) -> Result<Vec<(ThingId, K)>, CliError> {
    let mut found: Vec<(i64, ThingId, K)> = Vec::new();
    let mut failed = None;
    home.store().visit(K::NAME, bow, &mut |thing| match kind::read::<K>(thing) {
        Ok(record) => {
            let (retired, at) = look(&record);
            let at = at.and_then(|at| Moment::read(&at).ok()).map_or(i64::MAX, |at| at.unix_ms());
            if !retired {
                found.push((at, thing.id, record));
            }
        }
        Err(e) => failed = Some(e),
    })?;
    if let Some(e) = failed {
        return Err(e.into());
    }
    found.sort_by_key(|(at, id, _)| (*at, *id));
    Ok(found.into_iter().map(|(_, id, record)| (id, record)).collect())
}

/// Rounds positions to a millionth of a mm, so that what a sum left behind of nothing is written as nothing.
fn dust_off(points: &mut [Option<[f64; 2]>]) {
    for mm in points.iter_mut().flatten().flatten() {
        *mm = (*mm * 1e6).round() / 1e6 + 0.0;
    }
}

#[derive(Serialize)]
struct Record<'a, K> {
    id: ThingId,
    #[serde(flatten)]
    record: &'a K,
}

/// Writes the records to the file or the output as they come, without a copy of the whole text.
fn put<K: Serialize>(
    args: &Export,
    records: &[(ThingId, K)],
    csv: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    noun: &str,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let json = env.json;
    let write = |out: &mut dyn Write| {
        let mut out = BufWriter::new(out);
        if json {
            let list: Vec<Record<'_, K>> =
                records.iter().map(|(id, record)| Record { id: *id, record }).collect();
            serde_json::to_writer_pretty(&mut out, &list)?;
            out.write_all(b"\n")?;
        } else {
            csv(&mut out)?;
        }
        out.flush()
    };
    let Some(file) = &args.output else { return Ok(write(env.out)?) };
    spare(file, args.replace)?;
    let written = File::create(file).and_then(|mut out| write(&mut out));
    written.map_err(|e| CliError::file("write", file, &e))?;
    env.remark(format!("Wrote {} to {}.", render::count(records.len(), noun), file.display()))
}
