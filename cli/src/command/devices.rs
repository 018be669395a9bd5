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

/// Shuts a device out at once.
pub fn shut(args: &Shut, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let mut remote = exchange::remote(&home)?;
    let devices = remote.devices(home.card().team)?;
    let wanted = args.device.trim().to_lowercase();
    let open = || devices.iter().filter(|d| d.shut_ms.is_none());
    let found: Vec<&DeviceInfo> = open()
        .filter(|d| d.name.to_lowercase() == wanted || d.device.to_string().ends_with(&wanted))
        .collect();
    let device = match found.as_slice() {
        [one] => one,
        [] => {
            let near = lookup::nearest(&wanted, open().map(|d| d.name.as_str()));
            return Err(CliError::input(format!(
                "there is no device called `{}` that could be shut out",
                args.device
            ))
            .hint(if near.is_empty() {
                "`sheaf devices` lists them".into()
            } else {
                format!("the nearest are: {}", near.join(", "))
            }));
        }
        several => {
            let ids: Vec<String> = several.iter().map(|d| d.device.short()).collect();
            return Err(CliError::input(format!("several devices are called `{}`", args.device))
                .hint(format!("say which by its id: {}", ids.join(", "))));
        }
    };
    remote.shut(home.card().team, device.device)?;
    if env.json {
        return env.print_json(&serde_json::json!({"device": device.device, "shut": true}));
    }
    writeln!(env.out, "{} is shut out from now on. What it sent before stays.", device.name)?;
    Ok(())
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
