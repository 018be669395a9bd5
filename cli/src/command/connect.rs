//! `sheaf connect`: the team moves onto a server, or follows its server to a new address.

use crate::{
    CliError, Env,
    args::Connect,
    exchange::{Detail, exchange_with_progress, tell},
    remote::Remote,
    store::{Home, Server, forget_server},
};
use sheaf_model::{
    replica::Store,
    wire::{ExchangeRequest, FoundRequest},
};

/// Founds the team on the server and brings its records there; a team that is on one follows it to a new address.
pub fn run(args: &Connect, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    match (&home.card().server, &args.key) {
        (None, Some(key)) => found(home, &args.url, key, env),
        (None, None) => Err(CliError::input(format!("the team {} is on no server yet", home.card().team_name))
            .hint("give the server's founding key with --key KEY; `sheafd key` prints it on the server's machine. Into a team that others founded comes `sheaf join URL CODE --me NAME`")),
        (Some(server), Some(_)) => {
            let message = format!("the team {} is on {} already", home.card().team_name, server.url);
            Err(CliError::input(message).hint("`sheaf sync` exchanges records with it; where it has moved to another address, `sheaf connect URL` without a key"))
        }
        (Some(_), None) => follow(home, &args.url, env),
    }
}

/// Takes the team's server at another address, once it has shown to be the same.
fn follow(mut home: Home, url: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(server) = home.card().server.clone() else { return Ok(()) };
    let mut remote = Remote::new(url, Some(server.token))?;
    if remote.url() == server.url {
        return Err(CliError::input(format!(
            "the team {} is on {} already",
            home.card().team_name,
            server.url
        ))
        .hint("`sheaf sync` exchanges records with it"));
    }
    prove(&home, &mut remote, &server.url, env)?;
    let url = remote.url().to_owned();
    home.alter_card(|card| card.server.iter_mut().for_each(|server| server.url = url.clone()))?;
    forget_server(&home.journal());
    if !env.json {
        let team = &home.card().team_name;
        writeln!(
            env.out,
            "The team {team} answers at {url}: this device goes there from now on, and no longer to {}.",
            server.url
        )?;
    }
    let report = exchange_with_progress(&mut home, env, false)?;
    tell(&home, &report, Detail::Brief, env)
}

/// Checks that the team and this device are known to a server; `url` is the address that they stay with otherwise.
fn prove(home: &Home, remote: &mut Remote, url: &str, env: &Env<'_>) -> Result<(), CliError> {
    // An exchange of nothing: it is answered only where this team and this device are known.
    let ask = ExchangeRequest {
        device: home.card().device,
        clock_ms: env.now_ms(),
        have: home.store().vector().have(),
        entries: Vec::new(),
    };
    let stays = format!("this device stays with {url}");
    remote.exchange(home.card().team, &ask).map_err(|e| match e {
        CliError::Refused(told) => {
            let hint = told.hint.map_or_else(|| stays.clone(), |hint| format!("{stays}. {hint}"));
            CliError::refused(told.message).hint(hint)
        }
        CliError::OutOfReach(told) => {
            CliError::out_of_reach(told.message).hint(format!("{stays}; is the new address right?"))
        }
        other => other,
    })?;
    Ok(())
}

fn found(mut home: Home, url: &str, key: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut remote = Remote::new(url, None)?;
    let card = home.card();
    let admitted = remote.found(&FoundRequest {
        team: card.team,
        name: card.team_name.clone(),
        device: card.device,
        device_name: card.device_name.clone(),
        person: card.person,
        key: key.trim().to_owned(),
    })?;
    let server = Server { url: remote.url().to_owned(), token: admitted.token, role: admitted.role };
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
