//! `sheaf connect`: the team moves onto a server, or follows its server to a new address.

use crate::{
    CliError, Env,
    args::Connect,
    exchange::{Detail, ask, exchange_with_progress, tell},
    remote::{Remote, own_authority},
    store::{Home, Server, forget_server},
};
use sheaf_model::{replica::Store, wire::FoundRequest};

/// Founds the team on the server and brings its records there; a team that is on one follows it to a new address.
pub fn run(args: &Connect, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    match (&home.card().server, &args.key) {
        (None, Some(key)) => found(home, args, key, env),
        (None, None) => Err(CliError::input(format!("the team {} is on no server yet", home.card().team_name))
            .hint("give the server's founding key with --key KEY; `sheafd key` prints it on the server's machine. Into a team that others founded comes `sheaf join URL CODE --me NAME`")),
        (Some(server), Some(_)) => {
            let message = format!("the team {} is on {} already", home.card().team_name, server.url);
            Err(CliError::input(message).hint("`sheaf sync` exchanges records with it; where it has moved to another address, `sheaf connect URL` without a key"))
        }
        (Some(_), None) => follow(home, args, env),
    }
}

/// Takes the team's server at another address, once it has shown to be the same.
fn follow(mut home: Home, args: &Connect, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(server) = home.card().server.clone() else { return Ok(()) };
    let ca = args.ca.as_deref().map(own_authority).transpose()?.or(server.ca);
    let mut remote = Remote::new(&args.url, Some(server.token), ca.as_deref())?;
    if remote.url() == server.url && args.ca.is_none() {
        return Err(CliError::input(format!(
            "the team {} is on {} already",
            home.card().team_name,
            server.url
        ))
        .hint("`sheaf sync` exchanges records with it"));
    }
    remote.is_open().map_or(Ok(()), |told| env.remark(told))?;
    prove(&home, &mut remote, &server.url, env)?;
    let url = remote.url().to_owned();
    home.alter_card(|card| {
        card.server.iter_mut().for_each(|server| (server.url, server.ca) = (url.clone(), ca.clone()));
    })?;
    forget_server(&home.journal());
    if !env.json {
        let team = &home.card().team_name;
        let before =
            if url == server.url { String::new() } else { format!(", and no longer to {}", server.url) };
        writeln!(env.out, "The team {team} answers at {url}: this device goes there from now on{before}.")?;
    }
    let report = exchange_with_progress(&mut home, env, false)?;
    tell(&home, &report, Detail::Brief, env)
}

/// Checks that the team and this device are known to a server; `url` is the address that they stay with otherwise.
fn prove(home: &Home, remote: &mut Remote, url: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let stays = format!("this device stays with {url}");
    // An exchange of nothing: it is answered only where this team and this device are known.
    ask(home, env, remote, home.store().vector().have(), Vec::new()).map_err(|e| match e {
        CliError::Refused(told) => {
            let hint = told.hint.map_or_else(|| stays.clone(), |hint| format!("{stays}; {hint}"));
            CliError::refused(told.message).hint(hint)
        }
        CliError::OutOfReach(told) => {
            let hint = told.hint.unwrap_or_else(|| "is the new address right?".into());
            CliError::out_of_reach(told.message).hint(format!("{hint}; {stays}"))
        }
        other => other,
    })?;
    Ok(())
}

fn found(mut home: Home, args: &Connect, key: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let ca = args.ca.as_deref().map(own_authority).transpose()?;
    let mut remote = Remote::new(&args.url, None, ca.as_deref())?;
    remote.is_open().map_or(Ok(()), |told| env.remark(told))?;
    let card = home.card();
    let admitted = remote.found(&FoundRequest {
        team: card.team,
        name: card.team_name.clone(),
        device: card.device,
        device_name: card.device_name.clone(),
        person: card.person,
        key: key.trim().to_owned(),
    })?;
    let server = Server { url: remote.url().to_owned(), token: admitted.token, role: admitted.role, ca };
    home.alter_card(|card| card.server = Some(server))?;
    forget_server(&home.journal());
    if !env.json {
        writeln!(
            env.out,
            "The team {} is on {} now, and you are its keeper.",
            home.card().team_name,
            remote.url()
        )?;
    }
    let report = exchange_with_progress(&mut home, env, false)?;
    tell(&home, &report, Detail::Brief, env)?;
    if !env.json {
        writeln!(env.out, "Next: `sheaf invite` lets another device in.")?;
    }
    Ok(())
}
