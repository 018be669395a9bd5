//! The way out of a fork, and what comes along from another team: entries written again under this device's id.

use super::{Parted, Renewed, ask};
use crate::{
    CliError, Env,
    remote::{Exchanged, Remote},
    store::{Carry, Home, Server, forget_server},
};
use sheaf_model::{
    id::DeviceId,
    log::{Entry, Mark},
    replica::{Draft, Store},
    wire::{ExchangeReply, RenewRequest},
};

/// Goes on under a new device id: the entries that the server does not have are written again under it.
pub(super) fn renew(home: &mut Home, env: &mut Env<'_>, remote: &mut Remote) -> Result<Renewed, CliError> {
    let (old, new) = (home.card().device, env.device_id());
    let (common, _) = common_prefix(home, env, remote, old)?;
    let ask = RenewRequest { device: new, device_name: home.card().device_name.clone() };
    let admitted = remote.renew(home.card().team, &ask)?;
    let ca = home.card().server.as_ref().and_then(|server| server.ca.clone());
    let (url, token) = (remote.url().to_owned(), admitted.token.clone());
    let server = Server { url, token, role: admitted.role, ca };
    let lacking = |entry: &Entry| entry.device == old && entry.seq > common;
    let moved = home.move_to(new, server, &lacking, &|e| Ok(Draft::again(e, None)?), env.now_ms())?;
    remote.show(admitted.token);
    Ok(Renewed { from: old, to: new, moved })
}

/// Makes what this home holds of another device's log, and the server has otherwise, a log of its own; nothing when
/// the two logs agree after all.
pub(super) fn part(
    home: &mut Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    forked: DeviceId,
) -> Result<Option<Parted>, CliError> {
    let (common, differs) = common_prefix(home, env, remote, forked)?;
    if !differs {
        return Ok(None);
    }
    let entries = home.adopt(forked, common)?;
    Ok(Some(Parted { device: forked, entries }))
}

/// Returns the number of the last entry of a log that is the same here and on the server, and whether they differ
/// behind it.
fn common_prefix(
    home: &Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    of: DeviceId,
) -> Result<(u64, bool), CliError> {
    let mut have = home.store().vector().have();
    // The log is asked for from its beginning: its mark would only show the fork.
    have.remove(&of);
    let mut common = 0;
    loop {
        let Exchanged::Reply(reply, _) = ask(home, env, remote, have.clone(), Vec::new())? else {
            return Ok((common, false));
        };
        let ExchangeReply { entries, more, .. } = *reply;
        let mut moved_on = false;
        for entry in &entries {
            let hash = entry.header_hash();
            if entry.device == of {
                match home.store().header_hash(of, entry.seq)? {
                    Some(here) if here == hash => common = entry.seq,
                    here => return Ok((common, here.is_some())),
                }
            }
            // A page that says nothing new would be asked for again for ever.
            moved_on |= have.insert(entry.device, Mark(entry.seq, hash)) != Some(Mark(entry.seq, hash));
        }
        if !more || !moved_on {
            return Ok((common, false));
        }
    }
}

/// Writes what this home recorded before it joined a team into the team's records, once.
pub fn carry_over(home: &mut Home, env: &Env<'_>) -> Result<usize, CliError> {
    let Some(Carry { journal, team, person }) = home.card().carry.clone() else { return Ok(0) };
    let mut entries = home.entries_of(&journal, team)?;
    entries.sort_by_key(Entry::full_stamp);
    let new = home.card().person;
    let pair = (person != new).then_some((person, new));
    // With another person's id the old person's own record is that of someone the team knows already.
    let kept = entries.iter().filter(|e| pair.is_none() || e.id != person);
    let drafts = kept.map(|e| Draft::again(e, pair)).collect::<Result<Vec<_>, _>>()?;
    let count = drafts.len();
    for part in drafts.chunks(1000) {
        home.record(env, part.to_vec())?;
    }
    home.alter_card(|card| card.carry = None)?;
    forget_server(&home.journal());
    Ok(count)
}
