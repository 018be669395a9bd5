//! `sheaf join`: this device comes into a team, with what it recorded before.

use crate::{
    CliError, Env,
    args::Join,
    exchange::{Detail, carry_over, exchange_with_progress, level, tell},
    lookup,
    remote::{Remote, own_authority},
    store::{
        Card, Carry, Home, Server, card_lost, journals_in, lock, make_folder, new_journal, sync_folder,
        sync_into_place,
    },
    words::{entries_of, quoted, role_words},
};
use sheaf_model::{
    kind::{Person, draft},
    name,
    replica::Store,
    wire::{JoinRequest, Role},
};

/// Comes into a team with an invite and takes in its records.
pub fn run(args: &Join, env: &mut Env<'_>) -> Result<(), CliError> {
    let before = if Card::is_in(&env.home) { Some(Card::read(&env.home)?) } else { None };
    if let Some(server) = before.as_ref().and_then(|card| card.server.as_ref()) {
        return Err(CliError::input(format!("this home belongs to a team on {} already", server.url))
            .hint("for another team name another folder with --home DIR"));
    }
    if before.is_none() && !journals_in(&env.home).is_empty() {
        return Err(card_lost(&env.home));
    }
    let me = args.me.as_deref().map(lookup::own_name).transpose()?;
    let (card, role) = admit(args, before.as_ref(), env)?;
    let mut home = settle_in(env, card, before.as_ref())?;
    if !env.json {
        let team = &home.card().team_name;
        writeln!(env.out, "This device is in the team {team} now, as {}.", role_words(role))?;
    }
    // First what the team has, so that what comes along is written on top of it.
    let watched = env.interactive && !env.json;
    let first = level(&mut home, env, watched)?;
    let carried = carry_over(&mut home, env)?;
    name_myself(&mut home, env, me.as_deref())?;
    let mut report = exchange_with_progress(&mut home, env, false)?;
    report.follows(&first);
    tell(&home, &report, Detail::Brief, env)?;
    if let Some(old) = before.filter(|_| !env.json) {
        let folder = env.home.join(&old.journal);
        let folder = folder.display();
        env.remark(match role {
            Role::Coach => format!(
                "What was recorded here before stays in {folder}: a coach's device writes notes and plans only."
            ),
            Role::Archer | Role::Keeper => format!(
                "{} from before came along; their old journal stays in {folder}.",
                entries_of(carried)
            ),
        })?;
    }
    Ok(())
}

/// Asks the server to be let in; returns the card of the joined team, and the role in it.
fn admit(args: &Join, before: Option<&Card>, env: &mut Env<'_>) -> Result<(Card, Role), CliError> {
    let ca = args.ca.as_deref().map(own_authority).transpose()?;
    let mut remote = Remote::new(&args.url, None, ca.as_deref())?;
    remote.is_open().map_or(Ok(()), |told| env.remark(told))?;
    let person = before.map_or_else(|| env.thing_id(), |card| card.person);
    let device_name = lookup::device_name(args.device.as_deref(), env)?;
    let (code, device) = (args.code.clone(), env.device_id());
    let asked = JoinRequest { code, device, device_name: device_name.clone(), person };
    let admitted = remote.join(&asked)?;
    let journal = new_journal(&env.home);
    let mut card = Card::new(admitted.team, admitted.name, device, device_name, admitted.person, journal);
    let (url, token, role) = (remote.url().to_owned(), admitted.token, admitted.role);
    card.server = Some(Server { url, token, role, ca });
    if let Some(old) = before.filter(|_| admitted.role != Role::Coach) {
        card.carry = Some(Carry { journal: old.journal.clone(), team: old.team, person: old.person });
    }
    Ok((card, admitted.role))
}

/// Makes the home of the joined team; from here on a killed process loses nothing.
fn settle_in(env: &Env<'_>, card: Card, before: Option<&Card>) -> Result<Home, CliError> {
    let _lock = lock(&env.home)?;
    let now = if Card::is_in(&env.home) { Some(Card::read(&env.home)?) } else { None };
    if now.as_ref() != before {
        let message = format!(
            "another command has begun or joined a team in {} in the meantime; the code is used up",
            env.home.display()
        );
        return Err(CliError::refused(message)
            .hint("nothing is lost; ask for another code to join from another folder with --home DIR"));
    }
    if let Some(old) = before {
        old.write_as(&env.home, &format!("replica-before-{}.json", old.team))?;
    }
    make_folder(&env.home.join(&card.journal))?;
    sync_folder(&env.home)?;
    sync_into_place(&env.home)?;
    card.write(&env.home)?;
    Home::open(env)
}

/// Records the name of a person whom the team does not know yet.
fn name_myself(home: &mut Home, env: &mut Env<'_>, me: Option<&str>) -> Result<(), CliError> {
    let person = home.card().person;
    if home.store().thing("person", person)?.is_some() {
        return Ok(());
    }
    let Some(me) = me else {
        return env.remark(
            "The team does not know your name yet: `sheaf join` takes it as --me NAME; a partner can add it.",
        );
    };
    let name = free_name(home, me)?;
    if name != me {
        env.remark(format!(
            "The team knows somebody called {me} already, so you are called {name} there; \
             `sheaf set person {} name=NAME` changes it. If that is you, ask a keeper for an invite `--for {}` the \
             next time.",
            quoted(&name),
            quoted(me)
        ))?;
    }
    let record = Person { name: Some(name), ..Person::default() };
    home.record(env, vec![draft(person, &record)?]).map(drop)
}

/// Returns a name, with the first number behind it under which nobody is known where it is taken.
fn free_name(home: &Home, name: &str) -> Result<String, CliError> {
    let people = lookup::all(home, "person")?;
    let taken = |name: &str| people.iter().any(|p| name::key(&p.name) == name::key(name));
    let numbered = (2..).map(|n: u32| format!("{name} {n}"));
    let free = std::iter::once(name.to_owned()).chain(numbered).find(|name| !taken(name));
    Ok(free.unwrap_or_else(|| name.to_owned()))
}
