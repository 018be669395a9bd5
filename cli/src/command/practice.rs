//! `sheaf practice`: arrows shot without being placed, counted for the wear.

use crate::{CliError, Env, args::Practice as Args, lookup, store::Home, when};
use serde_json::json;
use sheaf_model::{
    kind::{self, Form, Practice, field},
    verdict::{cautions_with, limits_when_counted, practice_words, reminders_by},
};

/// Records a count, and says which reminders it made due.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let form = field("practice", "count").map_or(Form::Count(5000), |(_, form)| form);
    let count = kind::value("count", form, &args.count)
        .map_err(|e| CliError::from(e).hint("write how many arrows: `sheaf practice elm 72`"))?;
    let archer = match &args.archer {
        Some(name) => lookup::find(&home, "person", name)?.id,
        None => home.card().person,
    };
    let arrows = args.arrows.as_ref().map(|name| lookup::find(&home, "arrows", name)).transpose()?;
    let note = args.note.as_ref().map(|text| kind::value("note", Form::Text, text)).transpose()?;
    let at = args.at.as_deref().map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    let practice = Practice {
        bow: Some(bow.id),
        archer: Some(archer),
        arrows: arrows.map(|set| set.id),
        at: Some(at.clone()),
        count: count.as_u64().and_then(|n| u32::try_from(n).ok()),
        note: note.and_then(|text| text.as_str().map(str::to_owned)),
        retired: false,
    };
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &practice)?])?;
    lookup::remark_if_retired(&bow, env)?;
    let due = reminders_by(home.store(), id)?;
    let care = cautions_with::<&str>(&limits_when_counted(home.store(), bow.id, archer)?, &[]);
    let mend = format!("sheaf set practice {} at=\"2026-04-12 10:30\"", id.short());
    when::remark_if_ahead(&at, &mend, env)?;
    if env.json {
        env.print_json(&json!({
            "practice": id, "bow": bow.id, "archer": archer, "arrows": practice.arrows, "at": at,
            "count": practice.count, "reminders": due, "cautions": care,
        }))?;
    } else {
        let words = practice_words(&practice, &lookup::names(&home, lookup::NAMED)?);
        writeln!(env.out, "Kept: {}, {}: {words}.", bow.name, when::shown(Some(&at)))?;
    }
    due.iter().chain(&care).try_for_each(|words| env.remark(words))
}
