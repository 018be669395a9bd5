//! `sheaf mark`: the mark that was found at a distance.

use crate::{CliError, Env, args::NewMark as Args, lookup, store::Home, when, words::distance_words};
use serde_json::json;
use sheaf_model::{
    kind::{self, Form},
    moment::Moment,
    notation::distance_m,
    records::{TypedMark, marked, marked_words},
    verdict::{NewMark, Units, mark_expected},
};

/// Records a mark, and says what the others expected of it.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let typed = distance_m(&args.distance)?;
    kind::check_distance(typed)?;
    let (what, reading, mut record) = marked(&TypedMark {
        sight: args.reading.as_deref(),
        crawl: args.crawl.as_deref(),
        gap: args.gap.as_deref(),
    })?;
    let archer = lookup::archer(&home, args.archer.as_deref())?.unwrap_or(home.card().person);
    let arrows =
        args.arrows.as_deref().map(|set| lookup::find(&home, "arrows", set)).transpose()?.map(|a| a.id);
    let at = args.at.as_deref().map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    let note = args.note.as_deref().map(|note| kind::value("note", Form::Text, note)).transpose()?;
    record.bow = Some(bow.id);
    record.archer = Some(archer);
    record.arrows = arrows;
    record.distance_m = Some(typed);
    record.at = Some(at.clone());
    record.note = note.and_then(|note| note.as_str().map(str::to_owned));
    let new =
        NewMark { archer: Some(archer), arrows, what, distance_m: typed, reading, at: Moment::read(&at)? };
    // Before it is kept, so that it does not stand among those that it is set beside.
    let expected = mark_expected(home.store(), bow.id, &new, Units::Metric)?;
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &record)?])?;
    lookup::remark_if_retired(&bow, env)?;
    if env.json {
        return env
            .print_json(&json!({"mark": id, "bow": bow.id, "archer": archer, "arrows": arrows, "at": at,
            "distance_m": typed, "what": what, "reading": reading, "expected": expected}));
    }
    writeln!(env.out, "Kept: {} at {}.", marked_words(what, reading), distance_words(typed))?;
    if let Some(expected) = expected {
        writeln!(env.out, "{}", crate::render::fitted(&expected, env.width))?;
    }
    when::remark_if_ahead(&at, &format!("sheaf retire {}", id.short()), env)
}
