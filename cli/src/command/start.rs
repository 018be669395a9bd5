//! `sheaf start`: a team begins on this device.

use crate::{
    CliError, Env,
    args::Start,
    lookup,
    store::{Card, Home, card_lost, card_there, journals_in, new_journal},
};
use serde_json::json;
use sheaf_model::{
    kind::{Person, draft},
    name,
};

/// Makes the home of a new team with its first person.
pub fn run(args: &Start, env: &mut Env<'_>) -> Result<(), CliError> {
    let (team_name, me) = (name::read("a team", &args.team)?, lookup::own_name(&args.me)?);
    if Card::is_in(&env.home) {
        return Err(card_there(&env.home, &Card::read(&env.home)?));
    }
    if !journals_in(&env.home).is_empty() {
        return Err(card_lost(&env.home));
    }
    let (team, device, person) = (env.team_id(), env.device_id(), env.thing_id());
    let device_name = lookup::device_name(args.device.as_deref(), env)?;
    let card = Card::new(team, team_name, device, device_name, person, new_journal(&env.home));
    let first = draft(person, &Person { name: Some(me), ..Person::default() })?;
    let home = Home::make(&env.home, card, vec![first], env.now_ms())?;
    let card = home.card();
    if env.json {
        return env.print_json(&json!({
            "team": card.team, "name": card.team_name, "device": card.device, "person": card.person,
            "home": env.home.display().to_string(),
        }));
    }
    writeln!(env.out, "The team {} begins with {}.", card.team_name, args.me.trim())?;
    writeln!(env.out, "Its records are kept in {}.", env.home.display())?;
    writeln!(env.out, "Next: `sheaf add bow NAME`, `sheaf add arrows NAME`, then `sheaf shoot`.")?;
    Ok(())
}
