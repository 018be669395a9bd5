//! `sheaf today`: is the last day different, and how much do days vary anyway?

use crate::{
    CliError, Env,
    args::Today,
    lookup,
    render::{self, Tone},
    store::Home,
};
use sheaf_model::{
    timeline::Asked,
    verdict::{Units, last_days},
};

/// Prints every archer's last day with a bow.
pub fn run(args: &Today, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let archer =
        args.archer.as_deref().map(|name| lookup::find(&home, "person", name)).transpose()?.map(|p| p.id);
    let units = if args.imperial { Units::Imperial } else { Units::Metric };
    let days = last_days(home.store(), bow.id, archer, &Asked::default(), units)?;
    if env.json {
        return env.print_json(&days);
    }
    if days.is_empty() {
        writeln!(env.out, "No groups with {} yet: `sheaf shoot` records one.", bow.name)?;
    }
    for day in &days {
        let title = render::paint(env, Tone::Strong, &format!("{} with {}", day.name, bow.name));
        writeln!(env.out, "{title}")?;
        for line in
            day.sentences.iter().flat_map(|s| render::wrapped(s, env.width.min(100).saturating_sub(2)))
        {
            writeln!(env.out, "  {line}")?;
        }
    }
    Ok(())
}
