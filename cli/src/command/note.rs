//! `sheaf note`: a remark about a bow, a person, a group or whatever else was recorded.

use crate::{CliError, Env, args::NewNote, lookup, store::Home, when};
use serde_json::json;
use sheaf_model::{
    kind::{self, Form, Group, Note},
    replica::Store,
};

/// Records a remark.
pub fn run(args: &NewNote, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let about = lookup::find_any(&home, &args.about)?;
    let text = kind::value("text", Form::Text, &args.text)?;
    let at = args.at.as_deref().map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    let bow = match about.kind {
        "bow" => Some(about.id),
        "group" => {
            let group = home.store().thing("group", about.id)?;
            group.and_then(|thing| kind::read::<Group>(&thing).ok()).and_then(|group| group.bow)
        }
        _ => None,
    };
    let note = Note {
        about: Some(about.id),
        bow,
        text: text.as_str().map(str::to_owned),
        at: Some(at.clone()),
        retired: false,
    };
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &note)?])?;
    if env.json {
        return env.print_json(&json!({"note": id, "about": about.id, "bow": bow, "at": at, "text": text}));
    }
    let name = if about.name.is_empty() { about.id.short() } else { about.name };
    writeln!(env.out, "Kept: a note about {} {name}, {}.", about.kind, when::shown(Some(&at)))?;
    when::remark_if_ahead(&at, &format!("sheaf retire {}", id.short()), env)
}
