//! `sheaf change`: what was altered on a bow.

use crate::{
    CliError, Env,
    args::Change as Args,
    lookup,
    render::{self, Side, Table},
    setting_pair,
    store::Home,
    when,
    words::{altered_json, altered_words},
};
use serde_json::{Value, json};
use sheaf_model::{
    kind::{self, Change, SETTINGS},
    rig::limits::Finding,
    timeline::{Altered, Moment, Setup, Timeline},
    verdict::{PairAdvice, cautions_with, limits_after, moved, pair_advice},
};

/// Records a change, and says what each setting was before.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(bow) = args.bow.as_ref().filter(|_| !args.settings) else { return settings(env) };
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", bow)?;
    if args.values.is_empty() {
        return Err(CliError::input("what was altered?")
            .hint("write it like plunger_turns=+1/4; `sheaf change --settings` lists the settings"));
    }
    let at = args.at.as_deref().map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    let setup = Timeline::read(home.store(), bow.id)?.setup_at(Moment::read(&at)?.unix_ms());
    let altered = altered(&home, &setup, &args.values, env)?;
    let (by, note) = (Some(home.card().person), args.note.clone());
    let mut change = Change { bow: Some(bow.id), at: Some(at.clone()), by, note, ..Change::default() };
    altered.iter().for_each(|a| change.set(&a.setting, a.after.clone()));
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &change)?])?;
    lookup::remark_if_retired(&bow, env)?;
    if args.at.is_some() {
        let mend = format!("sheaf set change {} at=\"2026-04-12 10:30\"", id.short());
        when::remark_if_ahead(&at, &mend, env)?;
    }
    let moved = moved(home.store(), id, &Moment::read(&when::now(env)?)?)?;
    let settings: Vec<&str> = altered.iter().map(|a| a.setting.as_str()).collect();
    let beyond = limits_after(home.store(), bow.id, by, &settings)?;
    let advice = pair_advice(home.store(), bow.id, &setup, &altered)?;
    if env.json {
        let cautions = cautions_with(&beyond, &settings);
        let altered: Vec<Value> = altered.iter().map(altered_json).collect();
        return env.print_json(&json!({
            "change": id, "bow": bow.id, "at": at, "altered": altered, "beyond": beyond, "cautions": cautions,
            "moved": moved, "pair": advice,
        }));
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    let words: Vec<String> = altered.iter().map(|a| altered_words(a, &names)).collect();
    writeln!(env.out, "Kept: {}, {}: {}.", bow.name, when::shown(Some(&at)), words.join(", "))?;
    moved.iter().try_for_each(|sentence| env.remark(sentence))?;
    warn(&beyond, env)?;
    advise(&advice.unwrap_or_default(), &settings, env)
}

/// Says which settings to go to where limbs were put on, and what to take care of.
fn advise(advice: &PairAdvice, settings: &[&str], env: &mut Env<'_>) -> Result<(), CliError> {
    render::sentences(env, &advice.words)?;
    let general = cautions_with(&[], settings);
    let of_pair = advice.cautions.iter().copied();
    let of_pair = of_pair.filter(|caution| !general.iter().any(|general| general == caution));
    of_pair.chain(general.iter().map(String::as_str)).try_for_each(|caution| env.caution(caution))
}

/// Says what lies beyond a limit before anything else: the change is kept all the same.
fn warn(beyond: &[Finding], env: &mut Env<'_>) -> Result<(), CliError> {
    beyond.iter().try_for_each(|finding| env.remark(finding.said()))
}

/// Reads what was altered from pairs of setting and value, each setting once.
fn altered(
    home: &Home,
    setup: &Setup,
    pairs: &[String],
    env: &mut Env<'_>,
) -> Result<Vec<Altered>, CliError> {
    let mut altered: Vec<Altered> = Vec::new();
    for pair in pairs {
        let (field, value) = setting_pair::read(home, setup, pair, env)?;
        if altered.iter().any(|a| a.setting == field) {
            return Err(CliError::input(format!("{field} is given twice")).hint(
                "a change holds one value of a setting; write two changes with --at when both were shot",
            ));
        }
        let before = setup.get(&field).map(|s| s.value.clone());
        altered.push(Altered { setting: field, before, after: value });
    }
    Ok(altered)
}

fn settings(env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        let list: Vec<Value> = SETTINGS
            .iter()
            .map(|s| json!({"setting": s.field, "name": s.name, "unit": s.unit, "about": s.about}))
            .collect();
        return env.print_json(&list);
    }
    let mut table = Table::new(&[("setting", Side::Left), ("unit", Side::Left), ("what it is", Side::Left)]);
    for s in SETTINGS {
        table.row([s.field.to_owned(), s.unit.to_owned(), s.about.to_owned()]);
    }
    Ok(table.print(env)?)
}
