//! `sheaf pair` and `sheaf pairs`: how limbs sit on risers, and what made them true.

use super::curve::{keep, moment};
use crate::{
    CliError, Env, args, lookup,
    render::{self, Side, Table},
    store::Home,
};
use sheaf_model::{
    records::new_pair,
    rig::limits::Finding,
    verdict::{PairRow, pair_beyond, pairs},
};

/// Notes how a pair of limbs sits on a bow's riser.
pub fn pair(args: &args::Pair, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let (values, names): (Vec<&String>, Vec<&String>) =
        args.words.iter().partition(|word| word.contains('='));
    let limbs = match names.as_slice() {
        [] => None,
        [name] => Some(lookup::find(&home, "part", name)?.id),
        more => {
            let message = format!("`{}` names more than one pair of limbs", more[1]);
            return Err(CliError::input(message)
                .hint("put a name of two words in quotes; values are written like fit=true"));
        }
    };
    let typed: Vec<(String, String)> = values.iter().filter_map(|word| value(word)).collect();
    let at = moment(args.at.as_deref(), env)?;
    let mut measured = new_pair(home.store(), bow.id, limbs, &typed, at, args.note.clone())?;
    measured.warnings.extend(pair_beyond(home.store(), &measured.record)?.iter().map(Finding::said));
    keep(&mut home, &bow, "limbs on its riser", measured, at, env)
}

/// Splits `tiller==-2`; a second equals sign, as `sheaf change` takes it before a negative value, is none of it.
fn value(word: &str) -> Option<(String, String)> {
    let (name, typed) = word.split_once('=')?;
    Some((name.to_owned(), typed.strip_prefix('=').unwrap_or(typed).trim().to_owned()))
}

/// Lists every riser with every pair of limbs: measured or not, and the settings to go to.
pub fn list(args: &args::Pairs, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = args.bow.as_deref().map(|name| lookup::find(&home, "bow", name)).transpose()?;
    let told = pairs(home.store(), bow.map(|bow| bow.id))?;
    if env.json {
        return env.print_json(&told);
    }
    writeln!(env.out, "{}", told.head)?;
    if told.rows.is_empty() {
        return Ok(());
    }
    let heads = ["riser", "limbs", "on", "fit", "go to", "when"].map(|head| (head, Side::Left));
    let mut table = Table::new(&heads);
    told.rows.iter().for_each(|one| table.row(row(one)));
    table.print(env)?;
    let notes = told.rows.iter().flat_map(|one| {
        let of = format!("{} on {}", one.limbs_name, one.riser_name);
        let said = [one.other_riser.clone(), one.note.as_ref().map(|note| format!("noted with it: {note}"))];
        let said = said.into_iter().flatten().chain(one.left_out.iter().cloned());
        said.map(move |words| format!("{of}: {words}"))
    });
    render::sentences(env, &notes.collect::<Vec<_>>())?;
    for caution in &told.cautions {
        env.caution(caution)?;
    }
    Ok(())
}

fn row(one: &PairRow) -> [String; 6] {
    let riser = match &one.bow_name {
        Some(bow) if one.riser.is_some() => format!("{} ({bow})", one.riser_name),
        _ => one.riser_name.clone(),
    };
    let fit = match (&one.pair, &one.fit) {
        (None, _) => "not measured".to_owned(),
        (Some(_), fit) => fit.clone().unwrap_or_else(|| "not noted".into()),
    };
    let by = [one.day.clone(), one.by.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ");
    [
        riser,
        one.limbs_name.clone(),
        if one.on { "on" } else { "" }.into(),
        fit,
        one.settings_words.clone(),
        by,
    ]
}
