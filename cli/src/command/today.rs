//! `sheaf today`: is the last day different, and how much do days vary anyway?

use crate::{CliError, Env, answers, args::Today, lookup, store::Home};
use sheaf_model::{timeline::Asked, verdict::last_days};

/// Prints every archer's last day with a bow.
pub fn run(args: &Today, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let days = last_days(home.store(), bow.id, archer, &Asked::default(), units)?;
    answers::tell(&bow.name, &days, env)
}
