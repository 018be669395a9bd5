//! `sheaf connect`: the team moves onto a server.

use crate::{
    CliError, Env,
    args::Connect,
    exchange::{exchange_with_progress, tell},
    remote::Remote,
    store::{Home, Server, forget_server},
};
use sheaf_model::wire::FoundRequest;

/// Founds the team on the server and brings its records there.
pub fn run(args: &Connect, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    if let Some(server) = &home.card().server {
        let message = format!("the team {} is on {} already", home.card().team_name, server.url);
        return Err(CliError::input(message).hint("`sheaf sync` exchanges records with it"));
    }
    let mut remote = Remote::new(&args.url, None)?;
    let card = home.card();
    let admitted = remote.found(&FoundRequest {
        team: card.team,
        name: card.team_name.clone(),
        device: card.device,
        device_name: card.device_name.clone(),
        person: card.person,
        key: args.key.trim().to_owned(),
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
    tell(&home, &report, env)?;
    if !env.json {
        writeln!(env.out, "Next: `sheaf invite` lets another device in.")?;
    }
    Ok(())
}
