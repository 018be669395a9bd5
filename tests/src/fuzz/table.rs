//! CSV files of groups. A first line that begins with `?` says how the rest is read: `imperial`, `fill-down`,
//! `day-first`, `month-first`, `usual` (things that rows need not say).

use super::told::{told, well};
use jiff::tz::TimeZone;
use sheaf_model::{
    id::{TeamId, ThingId},
    kind::Group,
    table::{DateOrder, Options, Table, Usual, groups_csv, named_id, read},
};

/// Reads a file. Every group that is read may be kept; written as CSV, all are read back the same.
pub fn check(bytes: &[u8]) {
    let (options, bytes) = options(bytes);
    let Some(table) = well(read(bytes, &options, &mut |_, _| {})) else { return };
    for trouble in &table.troubles {
        assert!(!trouble.message.trim().is_empty() && trouble.line > 0, "{trouble:?}");
    }
    for found in &table.found {
        found.group.check().expect("what is read may be kept");
    }
    assert!(table.names().iter().all(|named| named.groups > 0));
    let groups = groups(&table);
    if groups.is_empty() {
        return;
    }
    let text = written(&groups);
    let metric = Options::metric(TimeZone::UTC);
    let back = read(&text, &metric, &mut |_, _| {}).unwrap_or_else(|e| {
        told(&e);
        panic!("{e}\n{}", String::from_utf8_lossy(&text))
    });
    assert!(back.troubles.is_empty(), "{:?}\n{}", back.troubles, String::from_utf8_lossy(&text));
    let back = self::groups(&back);
    assert_eq!(json(&back), json(&groups), "{}", String::from_utf8_lossy(&text));
    assert_eq!(written(&back), text);
}

fn team() -> TeamId {
    TeamId::new(1_775_000_000_000, [7; 10])
}

/// Returns the groups with their ids, those first told of where an id comes twice.
fn groups(table: &Table) -> Vec<(ThingId, Group)> {
    let mut groups: Vec<(ThingId, Group)> = Vec::new();
    let id =
        |kind: &'static str, name: &str| Some(name.parse().unwrap_or_else(|_| named_id(team(), kind, name)));
    for (id, group) in table.groups(team(), &mut { id }).expect("every name is known") {
        if !groups.iter().any(|(known, _)| *known == id) {
            groups.push((id, group));
        }
    }
    groups
}

fn written(groups: &[(ThingId, Group)]) -> Vec<u8> {
    let mut text = Vec::new();
    groups_csv(&mut text, groups.iter().map(|(id, g)| (*id, g)), &|_| None).expect("memory takes any text");
    text
}

fn json(groups: &[(ThingId, Group)]) -> String {
    let lines = groups.iter().map(|g| serde_json::to_string(g).expect("a group is written"));
    lines.collect::<Vec<_>>().join("\n")
}

fn options(bytes: &[u8]) -> (Options, &[u8]) {
    let utc = TimeZone::UTC;
    let Some(b'?') = bytes.first() else { return (Options::metric(utc), bytes) };
    let end = bytes.iter().position(|b| *b == b'\n').map_or(bytes.len(), |n| n + 1);
    let (line, rest) = bytes.split_at(end);
    let line = String::from_utf8_lossy(line);
    let says = |word: &str| line.contains(word);
    let mut options = if says("imperial") { Options::imperial(utc) } else { Options::metric(utc) };
    options.fill_down = says("fill-down");
    options.dates = match (says("day-first"), says("month-first")) {
        (true, _) => DateOrder::DayFirst,
        (_, true) => DateOrder::MonthFirst,
        _ => DateOrder::AsTheFileTells,
    };
    if says("usual") {
        options.usual = Usual {
            at: Some("2026-04-12".into()),
            bow: Some("elm".into()),
            archer: Some("somebody".into()),
            arrows: Some("set".into()),
            distance: Some("30m".into()),
            face: Some("wa_80".into()),
            session: Some("s".into()),
        };
    }
    (options, rest)
}
