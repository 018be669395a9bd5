//! `sheaf dial`: how groups answer to a numeric setting.

use crate::{
    CliError, Env,
    args::Dial,
    lookup,
    render::{self, Side, Table},
    store::Home,
};
use sheaf_model::{
    kind::{SETTINGS, setting_meant, unit_of_setting},
    notation::bare,
    timeline::Timeline,
    verdict::{ArcherDial, Units, bow_dial, dial_plot, dial_table},
};

/// The confidence of the intervals.
const CONFIDENCE: f64 = 0.95;

/// Says how each archer's groups answer: a sentence, the values shot, a picture.
pub fn run(args: &Dial, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let setting = meant(&args.setting, &Timeline::read(home.store(), bow.id)?)?;
    let answer = bow_dial(home.store(), bow.id, &setting, archer, CONFIDENCE, units)?;
    if env.json {
        return env.print_json(&answer);
    }
    if answer.archers.is_empty() {
        writeln!(env.out, "No groups with {} yet: `sheaf shoot` records one.", bow.name)?;
        return Ok(());
    }
    for (n, archer) in answer.archers.iter().enumerate() {
        if n > 0 {
            writeln!(env.out)?;
        }
        tell(&bow.name, archer, units, env)?;
    }
    Ok(())
}

/// Returns the field of the setting that is meant: a known one, or one of the bow's own.
fn meant(typed: &str, timeline: &Timeline) -> Result<String, CliError> {
    let setup = timeline.setup_now();
    let typed = typed.trim();
    let own = || setup.keys().find(|field| **field == typed || bare(field) == typed).cloned();
    let field = setting_meant(typed, true).map(|known| known.field.to_owned()).or_else(own);
    let Some(field) = field else {
        let known = setup.keys().map(String::as_str).chain(SETTINGS.iter().flat_map(|s| [s.field, s.name]));
        let near = lookup::nearest(typed, known);
        let hint = match near.as_slice() {
            [] => "`sheaf change --settings` lists the settings".to_owned(),
            near => format!("the nearest are {}", near.join(", ")),
        };
        return Err(CliError::input(format!("there is no setting `{typed}`")).hint(hint));
    };
    if unit_of_setting(&field).is_empty() {
        return Err(CliError::input(format!("{field} is a part or a name, not a number"))
            .hint("`sheaf effects` judges the change of a part; a dial is a setting with a unit"));
    }
    Ok(field)
}

fn tell(bow: &str, archer: &ArcherDial, units: Units, env: &mut Env<'_>) -> Result<(), CliError> {
    let title = format!("{} with {bow}: {}", archer.name, render::count(archer.groups, "group"));
    let title = render::paint(env, render::Tone::Strong, &title);
    writeln!(env.out, "{title}")?;
    for line in render::wrapped(&archer.sentence, env.width.min(100).saturating_sub(2)) {
        writeln!(env.out, "  {line}")?;
    }
    let Some(figures) = &archer.figures else { return Ok(()) };
    writeln!(env.out)?;
    let rows = dial_table(figures, units);
    if let Some((heads, rows)) = rows.split_first() {
        let heads: Vec<(&str, Side)> = heads.iter().map(|h| (h.as_str(), Side::Right)).collect();
        let mut table = Table::new(&heads);
        rows.iter().for_each(|row| table.row(row.iter().cloned()));
        table.print(env)?;
    }
    if !figures.linear_with.is_empty() || !figures.steps.is_empty() {
        writeln!(env.out, "Means without what other settings, other changes and sights did, as fitted.")?;
    }
    writeln!(env.out, "\n{}", dial_plot(figures, env.width.min(80)).trim_end())?;
    for note in figures.notes.iter().filter(|note| note.starts_with("groups: ")) {
        writeln!(env.out, "Note: {note}.")?;
    }
    Ok(())
}
