//! `sheaf devices`, `sheaf shut` and `sheaf role`: who may come in, for keepers.

use crate::{
    CliError, Env,
    args::{GiveRole, Shut},
    exchange, lookup,
    render::{Side, Table},
    store::Home,
    words::role_words,
};
use sheaf_model::{timeline::Moment, wire::DeviceInfo};

/// Lists the devices of the team.
pub fn list(env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let devices = exchange::remote(&home)?.devices(home.card().team)?;
    if env.json {
        return env.print_json(&devices);
    }
    let names = lookup::names(&home, &["person"])?;
    let heads = [
        ("device", Side::Left),
        ("person", Side::Left),
        ("role", Side::Left),
        ("since", Side::Left),
        ("", Side::Left),
        ("id", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for d in &devices {
        let person = names.get(&d.person).cloned().unwrap_or_else(|| d.person.short());
        let role = role_words(d.role).split(' ').next_back().unwrap_or_default().to_owned();
        let shut = d.shut_ms.map_or(String::new(), |ms| format!("shut out {}", day(ms)));
        table.row([d.name.clone(), person, role, day(d.since_ms), shut, d.device.short()]);
    }
    Ok(table.print(env)?)
}

/// Shuts a device out at once, with the ids under which it went on.
pub fn shut(args: &Shut, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let mut remote = exchange::remote(&home)?;
    let before = remote.devices(home.card().team)?;
    let open: Vec<&DeviceInfo> = before.iter().filter(|d| d.shut_ms.is_none()).collect();
    let device = meant(&open, &args.device)?;
    remote.shut(home.card().team, device.device)?;
    // That it is done is known; whoever shut out the own device is told nothing more.
    let now = remote.devices(home.card().team).unwrap_or_default();
    let is_out = |d: &&DeviceInfo| {
        d.device == device.device || now.iter().any(|now| now.device == d.device && now.shut_ms.is_some())
    };
    let out: Vec<&DeviceInfo> = open.iter().copied().filter(is_out).collect();
    if env.json {
        let ids: Vec<_> = out.iter().map(|d| d.device).collect();
        return env.print_json(&serde_json::json!({"device": device.device, "shut": true, "devices": ids}));
    }
    writeln!(env.out, "{} is shut out from now on. What it sent before stays.", device.name)?;
    let others = out.iter().filter(|d| d.device != device.device);
    let others: Vec<String> = others.map(|d| format!("{} ({})", d.name, d.device.short())).collect();
    if !others.is_empty() {
        writeln!(env.out, "So are the ids that it had before or took since: {}.", others.join(", "))?;
    }
    Ok(())
}

/// Returns the device that was meant by a name or an id.
fn meant<'a>(open: &[&'a DeviceInfo], text: &str) -> Result<&'a DeviceInfo, CliError> {
    let wanted = text.trim().to_lowercase();
    let is_it = |d: &&&DeviceInfo| d.name.to_lowercase() == wanted || d.device.to_string().ends_with(&wanted);
    let found: Vec<&DeviceInfo> = open.iter().filter(is_it).copied().collect();
    // Ids of one device that went on under its name are shut out together, so any of them will do.
    let goes_on = |d: &&DeviceInfo| d.from.is_some_and(|from| found.iter().any(|f| f.device == from));
    match found.as_slice() {
        [] => {
            let near = lookup::nearest(&wanted, open.iter().map(|d| d.name.as_str()));
            let hint = match near.is_empty() {
                true => "`sheaf devices` lists them".into(),
                false => format!("the nearest are: {}", near.join(", ")),
            };
            Err(CliError::input(format!("there is no device called `{text}` that could be shut out"))
                .hint(hint))
        }
        [one, others @ ..] if others.iter().all(goes_on) => Ok(one),
        several => {
            let ids: Vec<String> = several.iter().map(|d| d.device.short()).collect();
            Err(CliError::input(format!("several devices are called `{text}`"))
                .hint(format!("say which by its id: {}", ids.join(", "))))
        }
    }
}

/// Gives a person a role.
pub fn role(args: &GiveRole, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let person = lookup::find(&home, "person", &args.person)?;
    let role = args.role.role();
    exchange::remote(&home)?.role(home.card().team, person.id, role)?;
    if env.json {
        return env.print_json(&serde_json::json!({"person": person.id, "role": role}));
    }
    writeln!(env.out, "{} is {} from now on.", person.name, role_words(role))?;
    Ok(())
}

fn day(ms: u64) -> String {
    i64::try_from(ms).ok().and_then(|ms| Moment::new(ms, 0).ok()).map_or_else(String::new, |m| m.day())
}
