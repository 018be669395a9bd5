//! `sheaf baseline`: setups of a bow under a name, to come back to.

use crate::{
    CliError, Env,
    args::{
        Baseline as Args, BaselineList, BaselinePut, BaselineSave, BaselineTolerance, BaselineWhat, Scale,
    },
    lookup,
    render::{self, Side, Table},
    store::Home,
    when,
    words::{altered_json, quoted},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind,
    moment::Moment,
    records::{
        self, Here, NamedSetup, PartNews, PutBack, Saved, Saving, differing, put_back, read_tolerance,
        save_baseline, set_tolerances, setup_here,
    },
    rig::limits::Finding,
    timeline::Altered,
    verdict::{
        Units, beyond_makers, cautions_with, day_words, full_name, gone_words, limits_after, list,
        own_tolerances, setting_amount,
    },
};
use std::collections::BTreeMap;

/// Carries out one of the commands.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    match &args.what {
        BaselineWhat::Save(args) => save(args, env),
        BaselineWhat::Put(args) => put(args, env),
        BaselineWhat::List(args) => listed(args, env),
        BaselineWhat::Tolerance(args) => tolerance(args, env),
    }
}

/// What amounts are told in.
struct Words {
    units: Units,
    names: BTreeMap<ThingId, String>,
}

impl Words {
    fn of(home: &Home, scale: &Scale) -> Result<Self, CliError> {
        Ok(Self { units: lookup::units(scale), names: lookup::names(home, lookup::NAMED)? })
    }

    fn amount(&self, setting: &str, value: &Value) -> String {
        setting_amount(setting, value, self.units, &|id| self.names.get(&id).cloned())
    }

    fn before(&self, altered: &Altered) -> String {
        let before = altered.before.as_ref();
        before.map_or_else(|| "not noted".into(), |value| self.amount(&altered.setting, value))
    }

    fn after(&self, altered: &Altered) -> String {
        self.amount(&altered.setting, &altered.after)
    }

    fn altered(&self, altered: &Altered) -> String {
        let name = full_name(&altered.setting).0;
        format!("{name} {} -> {}", self.before(altered), self.after(altered))
    }
}

fn save(args: &BaselineSave, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let note = args.note.as_deref().map(|note| kind::value("note", kind::Form::Text, note)).transpose()?;
    let taken = records::baseline_taken(home.store(), bow.id, &args.name)?;
    if let Some(other) = taken.filter(|_| !args.replace) {
        return Err(CliError::input(format!("{} has a baseline called {} already", bow.name, other.name)).hint(
            "take another name, or have that one hold the setup of now with --replace; what it held stays in its history",
        ));
    }
    let saved = save_baseline(
        home.store(),
        Saving {
            bow: bow.id,
            id: env.thing_id(),
            name: args.name.clone(),
            note: note.and_then(|note| note.as_str().map(str::to_owned)),
            tolerances: tolerances(&args.tolerance, &args.scale)?,
            over: args.replace,
        },
    )?;
    home.record(env, saved.draft.clone().into_iter().collect())?;
    lookup::remark_if_retired(&bow, env)?;
    let words = Words::of(&home, &args.scale)?;
    let beyond = beyond_makers(home.store(), bow.id, &saved.settings)?;
    let beyond: Vec<String> = beyond.iter().map(Finding::said).collect();
    if env.json {
        return env.print_json(&json!({
            "baseline": saved.id, "bow": bow.id, "name": saved.name, "settings": saved.settings,
            "tolerances": saved.tolerances, "before": saved.before, "kept": saved.draft.is_some(),
            "beyond": beyond,
        }));
    }
    told_saved(&saved, &bow.name, &words, env)?;
    beyond.iter().try_for_each(|words| env.remark(words))
}

fn told_saved(saved: &Saved, bow: &str, words: &Words, env: &mut Env<'_>) -> Result<(), CliError> {
    let count = render::count(saved.settings.len(), "setting");
    match (&saved.before, &saved.draft) {
        (None, _) => writeln!(env.out, "Kept: the setup of {bow} as the baseline {}, {count}.", saved.name)?,
        (Some(_), None) => writeln!(env.out, "{} holds the setup of {bow} already.", saved.name)?,
        (Some(before), Some(_)) => {
            writeln!(env.out, "Kept: {} holds the setup of {bow} as it is now, {count}.", saved.name)?;
            let gone = before.keys().filter(|setting| !saved.settings.contains_key(*setting));
            let gone = gone.map(|setting| format!("{}: not noted now", full_name(setting).0));
            let altered = saved.settings.iter().filter_map(|(setting, after)| {
                let before = before.get(setting).cloned();
                let same = before.as_ref().is_some_and(|before| kind::same_value(before, after));
                let altered = Altered { setting: setting.clone(), before, after: after.clone() };
                (!same).then(|| words.altered(&altered))
            });
            render::sentences(env, &altered.chain(gone).collect::<Vec<_>>())?;
            let show = quoted(&saved.name);
            env.remark(format!(
                "What it held before stays in its history: `sheaf show baseline {show} --history`."
            ))?;
        }
    }
    told_tolerances(&saved.tolerances, words.units, env)
}

fn told_tolerances(own: &BTreeMap<String, f64>, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    match own_tolerances(own, units) {
        Some(own) => Ok(writeln!(env.out, "{own} For all others common practice holds (no source).")?),
        None => Ok(()),
    }
}

fn tolerance(args: &BaselineTolerance, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let baseline = lookup::baseline(&home, &bow, &args.name)?;
    let (now, draft) =
        set_tolerances(home.store(), bow.id, baseline.id, &tolerances(&args.values, &args.scale)?)?;
    let kept = draft.is_some();
    home.record(env, draft.into_iter().collect())?;
    if env.json {
        return env.print_json(&json!({"baseline": baseline.id, "tolerances": now, "kept": kept}));
    }
    let said = if kept { "Kept" } else { "As before" };
    writeln!(env.out, "{said}: the tolerances of {}.", baseline.name)?;
    if now.is_empty() {
        writeln!(env.out, "For all settings common practice holds (no source).")?;
    }
    told_tolerances(&now, lookup::units(&args.scale), env)
}

/// Reads settings with how far off they may be, each once.
fn tolerances(pairs: &[String], scale: &Scale) -> Result<BTreeMap<String, Option<f64>>, CliError> {
    let mut read = BTreeMap::new();
    for pair in pairs {
        let (setting, typed) = pair.split_once('=').ok_or_else(|| {
            CliError::input(format!("`{pair}` is no setting with a tolerance"))
                .hint("write it like tiller=0.5mm")
        })?;
        let (field, most) = read_tolerance(setting, typed, lookup::units(scale))?;
        if read.insert(field.clone(), most).is_some() {
            return Err(CliError::input(format!("the tolerance of {field} is given twice")));
        }
    }
    Ok(read)
}

fn put(args: &BaselinePut, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let baseline = lookup::baseline(&home, &bow, &args.name)?;
    let at = args.at.as_deref().map_or_else(|| when::now(env), |typed| when::read(typed, env))?;
    let put = put_back(home.store(), bow.id, baseline.id, Moment::read(&at)?)?;
    let mut change = None;
    if let Some(mut record) = put.change(bow.id, Moment::read(&at)?) {
        let id = env.thing_id();
        record.by = Some(home.card().person);
        record.at = Some(at.clone());
        record.note.clone_from(&args.note);
        home.record(env, vec![kind::draft(id, &record)?])?;
        lookup::remark_if_retired(&bow, env)?;
        change = Some(id);
        if args.at.is_some() {
            let mend = format!("sheaf set change {} at=\"2026-04-12 10:30\"", id.short());
            when::remark_if_ahead(&at, &mend, env)?;
        }
    }
    let settings: Vec<&str> = put.altered.iter().map(|a| a.setting.as_str()).collect();
    let beyond = limits_after(home.store(), bow.id, Some(home.card().person), &settings)?;
    let cautions = cautions_with(&beyond, &settings);
    if env.json {
        return env.print_json(&json!({
            "change": change, "bow": bow.id, "baseline": baseline.id, "at": at,
            "altered": put.altered.iter().map(altered_json).collect::<Vec<_>>(), "left": put.left,
            "parts": put.parts.iter().map(part_json).collect::<Vec<_>>(), "cautions": cautions,
        }));
    }
    told_put(&put, &bow.name, &at, &Words::of(&home, &args.scale)?, env)?;
    cautions.iter().try_for_each(|caution| env.caution(caution))
}

fn part_json(news: &PartNews) -> Value {
    json!({
        "setting": news.setting, "part": news.part, "name": news.name, "on": news.on.as_ref().map(|(id, _)| id),
        "on_name": news.on.as_ref().map(|(_, name)| name), "back": news.back, "retired": news.retired,
    })
}

fn told_put(put: &PutBack, bow: &str, at: &str, words: &Words, env: &mut Env<'_>) -> Result<(), CliError> {
    let name = &put.baseline.name;
    if put.altered.is_empty() {
        writeln!(env.out, "{bow} is set up as in {name} already: there is nothing to note.")?;
    } else {
        let count = render::count(put.altered.len(), "setting");
        writeln!(env.out, "Kept: {bow} as in {name}, {}, one change of {count}.", when::shown(Some(at)))?;
        let heads = [("setting", Side::Left), ("before", Side::Right), ("now", Side::Right)];
        let mut table = Table::new(&heads);
        for altered in &put.altered {
            let mut back = put.parts.iter().filter(|news| news.back && news.setting == altered.setting);
            let on = back.find_map(|news| news.on.as_ref().map(|(_, bow)| format!("on {bow}")));
            let before = on.unwrap_or_else(|| words.before(altered));
            table.row([full_name(&altered.setting).0, before, words.after(altered)]);
        }
        table.print(env)?;
    }
    if !put.left.is_empty() {
        let left: Vec<String> = put.left.iter().map(|setting| full_name(setting).0).collect();
        let left = format!("{name} says nothing of {}: left as before.", list(&left));
        render::sentences(env, &[left])?;
    }
    put.parts.iter().try_for_each(|news| env.remark(format!("Note: {}", news.words())))
}

/// A baseline with its bow and what would have to be altered to come back to it.
struct Standing {
    bow: (ThingId, String),
    baseline: NamedSetup,
    differs: Vec<Altered>,
    here: Here,
}

fn listed(args: &BaselineList, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bows = match &args.bow {
        Some(bow) => vec![lookup::find(&home, "bow", bow)?],
        None => lookup::all(&home, "bow")?.into_iter().filter(|bow| !bow.retired).collect(),
    };
    let mut all = Vec::new();
    for bow in bows {
        let found = records::baselines(home.store(), bow.id)?;
        if found.is_empty() {
            continue;
        }
        let here = setup_here(home.store(), bow.id)?;
        let standing = found.into_iter().map(|baseline| Standing {
            bow: (bow.id, bow.name.clone()),
            differs: differing(&here.setup, &baseline.settings),
            here: here.clone(),
            baseline,
        });
        all.extend(standing);
    }
    if env.json {
        return env.print_json(&all.iter().map(standing_json).collect::<Vec<_>>());
    }
    if all.is_empty() {
        writeln!(env.out, "None yet.")?;
        return env.remark("`sheaf baseline save BOW NAME` saves the setup of now under a name.");
    }
    let words = Words::of(&home, &args.scale)?;
    all.iter().try_for_each(|standing| told_standing(standing, &words, env))
}

fn standing_json(standing: &Standing) -> Value {
    let Standing { bow, baseline, differs, here } = standing;
    let gone = |a: &Altered| {
        here.gone_of(a).map(|gone| json!({"setting": a.setting, "part": gone.part, "to": gone.to}))
    };
    json!({
        "baseline": baseline.id, "name": baseline.name, "bow": bow.0, "bow_name": bow.1, "note": baseline.note,
        "written": baseline.written_ms.and_then(|ms| Moment::new(ms, 0).ok()).map(|at| at.rfc3339()),
        "settings": baseline.settings, "tolerances": baseline.tolerances,
        "differs": differs.iter().map(altered_json).collect::<Vec<_>>(),
        "gone": differs.iter().filter_map(gone).collect::<Vec<_>>(),
    })
}

fn told_standing(standing: &Standing, words: &Words, env: &mut Env<'_>) -> Result<(), CliError> {
    let Standing { bow, baseline, differs, here } = standing;
    let offset = Moment::read(&when::now(env)?)?.offset_min();
    let day = baseline.written_ms.and_then(|ms| Moment::new(ms, offset).ok());
    let day = day.map_or_else(String::new, |at| format!(", {}", day_words(&at.day())));
    let count = render::count(baseline.settings.len(), "setting");
    let head = render::tame(&format!("{} of {}: {count}{day}", baseline.name, bow.1));
    writeln!(env.out, "{head}")?;
    let mut said: Vec<String> = baseline.note.iter().cloned().collect();
    if differs.is_empty() {
        said.push("The bow is set up so now.".into());
    }
    said.extend(differs.iter().map(|a| {
        let wanted = format!("{} {}", full_name(&a.setting).0, words.after(a));
        match here.gone_of(a) {
            Some(gone) => format!("{wanted} {}", gone_words(gone, &words.names)),
            None => format!("{wanted}, now {}", words.before(a)),
        }
    }));
    said.extend(own_tolerances(&baseline.tolerances, words.units));
    Ok(render::sentences(env, &said)?)
}
