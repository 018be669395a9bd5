//! One request of the exchange: the pauses that the server asks for, and what a person is told when it cannot be had.

use crate::{
    CliError, Env,
    remote::{Exchanged, Remote},
    render,
    store::{Home, read_server_have},
};
use sheaf_model::{
    id::DeviceId,
    log::{Entry, Have},
    replica::Store,
    wire::ExchangeRequest,
};
use std::time::Duration;

/// The longest, in all, that a sync waits for a server that asks for it before it answers a request, seconds.
const LONGEST_WAIT_S: u64 = 300;

/// Asks the server, and waits as long as it says when it is busy.
pub fn ask(
    home: &Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    have: Have,
    entries: Vec<Entry>,
) -> Result<Exchanged, CliError> {
    let device = home.card().device;
    let mut ask = ExchangeRequest { device, clock_ms: 0, have, entries };
    let mut waited = 0;
    loop {
        ask.clock_ms = env.now_ms();
        let seconds = match remote.exchange(home.card().team, &ask).map_err(|e| waiting(home, e))? {
            Exchanged::Later(seconds) => seconds,
            answered => return Ok(answered),
        };
        // Whoever is told so again waits as long as all pauses before, so that a busy server is not asked for ever.
        let seconds = seconds.max(1).max(waited);
        waited = seconds.saturating_add(waited);
        if waited > LONGEST_WAIT_S {
            let told = format!("the server asks to come again in {seconds} seconds");
            return Err(waiting(home, CliError::out_of_reach(told).hint("nothing is lost; sync again then")));
        }
        env.remark(format!("The server asks for a pause; going on in {seconds} s."))?;
        std::thread::sleep(Duration::from_secs(seconds));
    }
}

/// Says how many entries wait on this device when the server is out of reach.
fn waiting(home: &Home, e: CliError) -> CliError {
    let known = read_server_have(&home.journal());
    let there = |device: &DeviceId| known.get(device).map_or(0, |m| m.0);
    let wait: u64 = home.store().vector().iter().map(|(d, head)| head.seq.saturating_sub(there(&d))).sum();
    match e {
        CliError::OutOfReach(told) => {
            let waits = match wait {
                0 => "the server has all that is here".into(),
                1 => "1 entry waits on this device".into(),
                n => format!("{} entries wait on this device", render::thousands(n)),
            };
            let hint = told.hint.unwrap_or_else(|| "nothing is lost".into());
            CliError::out_of_reach(told.message).hint(format!("{hint}; {waits}"))
        }
        CliError::Refused(told) if told.hint.is_none() => {
            CliError::refused(told.message).hint("what you recorded is kept on this device")
        }
        other => other,
    }
}
