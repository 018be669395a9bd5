//! `sheaf today`: is the last day different, and how much do days vary anyway?

use crate::{
    CliError, Env,
    args::Today,
    lookup,
    render::{self, Tone},
    store::Home,
};
use sheaf_model::{timeline::Asked, verdict::last_days};

/// Prints every archer's last day with a bow.
pub fn run(args: &Today, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let days = last_days(home.store(), bow.id, archer, &Asked::default(), units)?;
    if env.json {
        return env.print_json(&days);
    }
    if days.is_empty() {
        writeln!(env.out, "No groups with {} yet: `sheaf shoot` records one.", bow.name)?;
    }
    for day in &days {
        render::say(env, Tone::Strong, &format!("{} with {}", day.name, bow.name))?;
        render::sentences(env, &day.sentences)?;
    }
    Ok(())
}
