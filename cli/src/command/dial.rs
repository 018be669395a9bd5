//! `sheaf dial`: how groups answer to a numeric setting.

use crate::{
    CliError, Env,
    args::Dial,
    lookup,
    render::{self, Side, Table},
    setting_pair,
    store::Home,
};
use sheaf_model::{
    timeline::Timeline,
    verdict::{ArcherDial, Units, bow_dial, dial_plot, dial_table},
};

/// The confidence of the intervals.
const CONFIDENCE: f64 = 0.95;

/// Says how each archer's groups answer: a sentence, the values shot, a picture.
pub fn run(args: &Dial, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let setting = setting_pair::numeric(&args.setting, &Timeline::read(home.store(), bow.id)?.setup_now())?;
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
    writeln!(env.out, "\n{}", dial_plot(figures, units, env.width.min(80)).trim_end())?;
    for note in figures.notes.iter().filter(|note| note.starts_with("groups: ")) {
        writeln!(env.out, "Note: {note}.")?;
    }
    Ok(())
}
