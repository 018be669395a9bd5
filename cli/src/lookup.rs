//! Things by the names that people give them.

use crate::{
    CliError, Env,
    args::{Meant, OfBow, Scale},
    store::Home,
    words::quoted,
};
use sheaf_model::{
    id::ThingId,
    log::Stamp,
    name,
    records::{self, Called, named},
    replica::Store,
    verdict::Units,
};
use std::collections::BTreeMap;

pub use sheaf_model::records::{NAMED, Named};

/// All kinds that can be meant by an id.
const ANY: &[&str] = &[
    "bow", "arrows", "part", "person", "group", "change", "baseline", "plan", "session", "mark", "note",
    "pair", "curve", "speed", "practice",
];

/// Returns the things of a named kind.
pub fn all(home: &Home, kind: &'static str) -> Result<Vec<Named>, CliError> {
    records::all(home.store(), kind)
}

/// Returns the thing of a kind that a person means: by name, unique beginning of a name, or id.
pub fn find(home: &Home, kind: &'static str, text: &str) -> Result<Named, CliError> {
    find_among(home, &[kind], text)
}

/// Returns the bow, the one archer where one is named, and the units that a question is about.
pub fn of_bow(home: &Home, of: &OfBow) -> Result<(Named, Option<ThingId>, Units), CliError> {
    Ok((find(home, "bow", &of.bow)?, archer(home, of.archer.as_deref())?, units(&of.scale)))
}

/// Returns the units that people are told in.
pub fn units(scale: &Scale) -> Units {
    if scale.imperial { Units::Imperial } else { Units::Metric }
}

/// Returns the baseline of a bow that a person means; two bows may both have one called so.
pub fn baseline(home: &Home, bow: &Named, text: &str) -> Result<Named, CliError> {
    match records::baseline_called(home.store(), bow.id, text)? {
        Called::One(found) => return Ok(found),
        Called::Several(several) => return Err(ambiguous(text, &several.iter().collect::<Vec<_>>())),
        Called::Nobody => {}
    }
    if let Some(found) = by_id(home, &["baseline"], text)? {
        return Ok(found);
    }
    let own: Vec<String> = records::baselines(home.store(), bow.id)?.into_iter().map(|b| b.name).collect();
    let error = CliError::input(format!("there is no baseline called `{text}` of {}", bow.name));
    Err(match own.as_slice() {
        [] => {
            error.hint(format!("it has none yet; `sheaf baseline save {} NAME` saves one", quoted(&bow.name)))
        }
        own => error.hint(format!("it has {}", own.join(", "))),
    })
}

/// Returns the archer that a person means, where one is named.
pub fn archer(home: &Home, text: Option<&str>) -> Result<Option<ThingId>, CliError> {
    Ok(text.map(|text| find(home, "person", text)).transpose()?.map(|person| person.id))
}

/// Returns the thing that a person means, of whatever kind.
pub fn find_any(home: &Home, text: &str) -> Result<Named, CliError> {
    find_among(home, ANY, text)
}

/// Returns the thing that a person means, of the kind in front of its name where there is one.
pub fn find_meant(home: &Home, meant: &Meant) -> Result<Named, CliError> {
    match meant.words.as_slice() {
        [kind, name] => {
            let kind = meant.kind().ok_or_else(|| {
                CliError::input(format!("`{kind}` is no kind of record"))
                    .hint(format!("one name is enough; put a name of two words in quotes: \"{kind} {name}\""))
            })?;
            find(home, kind.name(), name)
        }
        words => find_any(home, words.first().map_or("", String::as_str)),
    }
}

/// Returns the thing that a person means, of one of some kinds.
pub fn find_among(home: &Home, kinds: &[&'static str], text: &str) -> Result<Named, CliError> {
    let named = called(home, kinds)?;
    match known(home, kinds, &named, text)? {
        Some(found) => Ok(found),
        None => Err(unknown(kinds, &named, text)),
    }
}

/// Returns the thing of a kind that a person means, or nothing where there is none; a text that can mean several
/// is an error here as well.
pub fn find_known(home: &Home, kind: &'static str, text: &str) -> Result<Option<Named>, CliError> {
    known(home, &[kind], &called(home, &[kind])?, text)
}

/// Returns what people call by name, of some kinds.
fn called(home: &Home, kinds: &[&'static str]) -> Result<Vec<Named>, CliError> {
    let mut named = Vec::new();
    for kind in kinds.iter().filter(|k| NAMED.contains(k)) {
        named.extend(all(home, kind)?);
    }
    Ok(named)
}

fn known(
    home: &Home,
    kinds: &[&'static str],
    named: &[Named],
    text: &str,
) -> Result<Option<Named>, CliError> {
    // Before all names: something called so keeps its id, and the word its meaning.
    if text.trim().eq_ignore_ascii_case("last") && kinds.contains(&"group") {
        return last_group(home)?.map(Some).ok_or_else(|| no_last_group(home));
    }
    match by_name(named, text)? {
        Some(found) => Ok(Some(found)),
        None => by_id(home, kinds, text),
    }
}

/// Returns the group that was begun last and is in use.
fn last_group(home: &Home) -> Result<Option<Named>, CliError> {
    for id in home.store().state().ids("group").rev() {
        let group = with_id(home, "group", id)?;
        if !group.retired {
            return Ok(Some(group));
        }
    }
    Ok(None)
}

/// Says that there is no last group: none was recorded, or none is in use.
fn no_last_group(home: &Home) -> CliError {
    match home.store().state().ids("group").count() {
        0 => CliError::input("there is no group yet").hint("`sheaf shoot` records one"),
        n => CliError::input(format!(
            "there is no last group: {} retired",
            if n == 1 { "the only one is" } else { "all are" }
        ))
        .hint(
            "`sheaf restore last` brings back the one retired last; `sheaf list groups --all` names them all",
        ),
    }
}

/// Remarks that a bow is out of use of which something was recorded: nothing is refused, but it may be the wrong bow.
pub fn remark_if_retired(bow: &Named, env: &mut Env<'_>) -> Result<(), CliError> {
    if !bow.retired {
        return Ok(());
    }
    env.remark(format!(
        "Note: the bow {} is out of use; what is recorded of it is kept all the same. `sheaf restore {}` brings it back.",
        if bow.name.is_empty() { bow.id.short() } else { bow.name.clone() },
        bow.id.short()
    ))
}

/// Returns the thing that is out of use and was taken out last, by whomever.
pub fn retired_last(home: &Home) -> Result<Option<Named>, CliError> {
    let mut found: Option<(Stamp, Named)> = None;
    for kind in ANY {
        home.store().visit_rewritten(kind, &mut |thing| {
            let Some(named) = named(kind, thing).filter(|n| n.retired) else { return };
            let at = thing.fields().get("retired").map(|field| field.now.stamp);
            if let Some(at) = at.filter(|at| found.as_ref().is_none_or(|(latest, _)| latest < at)) {
                found = Some((at, named));
            }
        })?;
    }
    Ok(found.map(|(_, named)| named))
}

/// Returns a thing with the name that it has; one that cannot be read has none.
fn with_id(home: &Home, kind: &'static str, id: ThingId) -> Result<Named, CliError> {
    let found = home.store().thing(kind, id)?.and_then(|thing| named(kind, &thing));
    Ok(found.unwrap_or(Named { kind, id, name: String::new(), retired: false }))
}

/// Returns the name of a new thing, or a new name of `own`, as it is kept: no other of its kind has it, and it is
/// not read as something else.
pub fn new_name(
    home: &Home,
    kind: &'static str,
    typed: &str,
    own: Option<ThingId>,
) -> Result<String, CliError> {
    let wanted = name::read(&name::with_article(kind), typed)?;
    name::check_unambiguous(kind, &wanted)?;
    match records::taken(&records::beside(home.store(), kind, own)?, &wanted, own) {
        Some(other) => Err(CliError::input(format!(
            "there is {} called {} already",
            name::with_article(kind),
            other.name
        ))
        .hint(format!("give this one another name, or `sheaf retire {}` first", quoted(&other.name)))),
        None => Ok(wanted),
    }
}

/// Returns the name of a person who comes into a team, or begins one.
pub fn own_name(typed: &str) -> Result<String, CliError> {
    let name = name::read("a person", typed)?;
    name::check_unambiguous("person", &name)?;
    Ok(name)
}

/// Returns the name of this device, as the user says or as the system calls it.
pub fn device_name(typed: Option<&str>, env: &Env<'_>) -> Result<String, CliError> {
    match typed {
        Some(typed) => Ok(name::read("a device", typed)?),
        None => Ok(env.device_name.clone()),
    }
}

/// Returns a sentence for every name that several things of a kind bear, as when two people added the same bow apart.
pub fn shared_names(home: &Home) -> Result<Vec<String>, CliError> {
    let mut told = Vec::new();
    for kind in ["bow", "arrows", "part", "person"] {
        let mut bearers: BTreeMap<String, Vec<Named>> = BTreeMap::new();
        for thing in all(home, kind)?.into_iter().filter(|n| !n.retired && !n.name.trim().is_empty()) {
            bearers.entry(name::key(&thing.name)).or_default().push(thing);
        }
        for several in bearers.into_values().filter(|b| b.len() > 1) {
            let ids: Vec<String> = several.iter().map(|n| n.id.short()).collect();
            let (name, last) = (&several[0].name, &ids[ids.len() - 1]);
            told.push(format!(
                "Several of the kind {} are called {name} ({}), and what was recorded with each stays its own. \
                 `sheaf set {kind} {last} name=NAME` gives one another name; `sheaf retire {last}` takes one out of use.",
                name::kind_word(kind),
                ids.join(", ")
            ));
        }
    }
    Ok(told)
}

/// Returns the names of all things of some kinds, for showing.
pub fn names(home: &Home, kinds: &[&'static str]) -> Result<BTreeMap<ThingId, String>, CliError> {
    records::names(home.store(), kinds)
}

fn by_name(named: &[Named], text: &str) -> Result<Option<Named>, CliError> {
    match records::called(named, text) {
        Called::Nobody => Ok(None),
        Called::One(found) => Ok(Some(found)),
        Called::Several(several) => Err(ambiguous(text, &several.iter().collect::<Vec<_>>())),
    }
}

fn by_id(home: &Home, kinds: &[&'static str], text: &str) -> Result<Option<Named>, CliError> {
    let digits = text.trim().to_ascii_lowercase();
    if digits.len() < 4 || !digits.chars().all(|c| c.is_ascii_hexdigit() || c == '-') {
        return Ok(None);
    }
    let mut found: Vec<Named> = Vec::new();
    let whole: Option<ThingId> = digits.parse().ok();
    for kind in kinds {
        let matches = |id: &ThingId| match whole {
            Some(whole) => *id == whole,
            None => {
                let text = id.to_string();
                text.ends_with(&digits) || text.starts_with(&digits)
            }
        };
        for id in home.store().state().ids(kind).filter(matches).take(10) {
            found.push(with_id(home, kind, id)?);
        }
    }
    match found.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(one.clone())),
        several => Err(ambiguous(text, &several.iter().collect::<Vec<_>>())),
    }
}

fn ambiguous(text: &str, several: &[&Named]) -> CliError {
    let list: Vec<String> = several
        .iter()
        .take(8)
        .map(|n| {
            format!(
                "{} {} ({})",
                name::kind_word(n.kind),
                if n.name.is_empty() { "without a name" } else { &n.name },
                n.id.short()
            )
        })
        .collect();
    CliError::input(format!("`{text}` can mean several things: {}", list.join(", ")))
        .hint("write more of the name, or the id in brackets")
}

fn unknown(kinds: &[&'static str], named: &[Named], text: &str) -> CliError {
    let what = match kinds {
        [one] => *one,
        _ => "thing",
    };
    let in_use: Vec<&str> =
        named.iter().filter(|n| !n.retired && !n.name.is_empty()).map(|n| n.name.as_str()).collect();
    let near = nearest(text, in_use.iter().copied());
    let error = CliError::input(format!("there is no {} called `{text}`", name::kind_word(what)));
    if !near.is_empty() {
        return error.hint(format!("the nearest are: {}", near.join(", ")));
    }
    match kinds {
        ["group"] | ["change"] => error.hint(format!("`sheaf list {what}s` names them by their ids")),
        [one @ ("person" | "bow" | "part" | "arrows")] if in_use.is_empty() => {
            error.hint(format!("there is none yet; `sheaf add {one} NAME` adds one"))
        }
        [one] => error.hint(format!("`sheaf list {one}` names them all")),
        _ => error.hint("`sheaf list bows`, `sheaf list groups` and so on name them all"),
    }
}

/// Returns up to three of the candidates that look most like a text.
pub fn nearest<'a>(text: &str, candidates: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let wanted = text.to_lowercase();
    let mut scored: Vec<(f64, &str)> = candidates
        .map(|name| {
            let lower = name.to_lowercase();
            let part = if !wanted.is_empty() && lower.contains(&wanted) { 0.9 } else { 0.0 };
            (strsim::jaro_winkler(&wanted, &lower).max(part), name)
        })
        .filter(|(score, _)| *score > 0.6)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    scored.dedup_by(|a, b| a.1 == b.1);
    scored.into_iter().take(3).map(|(_, name)| name).collect()
}
