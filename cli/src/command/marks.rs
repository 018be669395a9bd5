//! `sheaf marks`: the mark of any distance.

use crate::{
    CliError, Env,
    args::{ShowMarks as Args, WhatArg},
    lookup,
    render::{self, Side, Table, Tone},
    store::{Home, write_out},
    when,
};
use sheaf_model::{
    notation::{Length, distance_m, length_mm},
    records::speed_m_s,
    stats::marks::MarkedOn,
    verdict::{BowMarks, MarkSet, MarksAsked, Strip, TableRow, bow_marks, day_words, the_one},
};
use std::path::Path;

/// Prints each set of marks with its table, or writes a card to print.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let asked = asked(&home, args, env)?;
    let marks = bow_marks(home.store(), bow.id, &asked)?;
    if let Some(file) = &args.strip {
        let set = the_one(&marks)?;
        write_strip(file, args.replace, &strip(&marks, set, &asked), env)?;
        if set.stale.is_some() {
            env.remark("The card says that these marks are stale.")?;
        }
        return Ok(());
    }
    if env.json {
        return env.print_json(&marks);
    }
    writeln!(env.out, "{}", render::tame(&marks.name))?;
    for set in &marks.sets {
        print_set(set, env)?;
    }
    if let Some(hint) = &marks.hint {
        render::sentences(env, &[hint.clone(), "As here: `sheaf mark BOW 30m 4.2`.".to_owned()])?;
    }
    marks.cautions.iter().try_for_each(|caution| env.caution(caution))
}

fn asked(home: &Home, args: &Args, env: &Env<'_>) -> Result<MarksAsked, CliError> {
    let distance = |typed: &String| -> Result<f64, CliError> {
        let m = distance_m(typed)?;
        sheaf_model::kind::check_distance(m)?;
        Ok(m)
    };
    let arrows = args.arrows.as_deref().map(|set| lookup::find(home, "arrows", set)).transpose()?;
    let length = |typed: &Option<String>| typed.as_deref().map(|t| length_mm(t, Length::Mm)).transpose();
    let unit_mm = length(&args.unit)?;
    if let Some(unit) = unit_mm.filter(|unit| !(0.01..=100.0).contains(unit)) {
        return Err(CliError::input(format!(
            "a unit of the sight's scale of {unit} mm is not between 0.01 and 100 mm"
        )));
    }
    Ok(MarksAsked {
        archer: lookup::archer(home, args.archer.as_deref())?,
        arrows: arrows.map(|a| a.id),
        what: args.what.map(|what| match what {
            WhatArg::Sight => MarkedOn::Sight,
            WhatArg::Crawl => MarkedOn::Crawl,
            WhatArg::Gap => MarkedOn::Gap,
        }),
        at_m: args.distance.iter().map(distance).collect::<Result<_, _>>()?,
        every_m: args.every.as_ref().map(distance).transpose()?,
        speed_m_s: args.speed.as_deref().map(speed_m_s).transpose()?,
        eye_mm: length(&args.eye)?,
        units: lookup::units(&args.scale),
        unit_mm,
        day: day_words(&when::now(env)?[..10]),
    })
}

fn strip<'a>(marks: &'a BowMarks, set: &'a MarkSet, asked: &'a MarksAsked) -> Strip<'a> {
    Strip { bow: &marks.name, set, day: &asked.day, unit_mm: asked.unit_mm, units: asked.units }
}

fn write_strip(file: &Path, replace: bool, strip: &Strip<'_>, env: &mut Env<'_>) -> Result<(), CliError> {
    let ending = file.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    let text = match ending.as_str() {
        "svg" => strip.svg(),
        "html" | "htm" => strip.html(),
        _ => {
            let message = format!("`{}` ends in neither .svg nor .html", file.display());
            return Err(
                CliError::input(message).hint("a card is written as one of the two: --strip marks.svg")
            );
        }
    };
    write_out(file, &text, replace)?;
    env.remark(format!("Wrote {}; print it at 100 %.", file.display()))
}

fn print_set(set: &MarkSet, env: &mut Env<'_>) -> Result<(), CliError> {
    writeln!(env.out)?;
    render::say(env, Tone::Strong, &render::tame(&set.title))?;
    if let Some(stale) = &set.stale {
        render::sentences(env, &[format!("STALE: {stale}.")])?;
    }
    render::sentences(env, &set.expected)?;
    render::sentences(env, set.table_note.as_slice())?;
    if !set.asked.is_empty() {
        rows(&set.asked, env)?;
    }
    if !set.table.is_empty() {
        rows(&set.table, env)?;
    }
    found(set, env)?;
    render::sentences(env, &set.sentences)?;
    let out = set.marks.iter().filter(|mark| mark.remark.is_some()).map(|mark| {
        format!("Take the {} mark out of use: `sheaf retire {}`.", mark.distance_words, mark.id.short())
    });
    render::sentences(env, &out.collect::<Vec<_>>())?;
    if !set.assumed.is_empty() {
        render::sentences(env, &[format!("Assumed: {}.", set.assumed.join("; "))])?;
    }
    let older: Vec<String> = set.older.iter().map(|line| format!("Earlier: {line}.")).collect();
    Ok(render::sentences(env, &older)?)
}

fn rows(rows: &[TableRow], env: &mut Env<'_>) -> Result<(), CliError> {
    let heads = [("distance", Side::Right), ("mark", Side::Right), ("range", Side::Left), ("", Side::Left)];
    let mut table = Table::new(&heads);
    for row in rows {
        table.row([
            row.distance_words.clone(),
            row.mark.clone().unwrap_or_else(|| "-".into()),
            row.range.clone().unwrap_or_default(),
            row.note.unwrap_or_default().to_owned(),
        ]);
    }
    Ok(table.print(env)?)
}

fn found(set: &MarkSet, env: &mut Env<'_>) -> Result<(), CliError> {
    let heads = [
        ("found", Side::Right),
        ("mark", Side::Right),
        ("when", Side::Left),
        ("", Side::Left),
        ("id", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for mark in &set.marks {
        table.row([
            mark.distance_words.clone(),
            mark.mark.clone(),
            mark.day.clone().unwrap_or_else(|| "not noted".into()),
            mark.remark.clone().unwrap_or_default(),
            mark.id.short(),
        ]);
    }
    Ok(table.print(env)?)
}
