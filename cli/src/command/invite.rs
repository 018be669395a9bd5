//! `sheaf invite`: a code that lets one device in.

use crate::{CliError, Env, args::Invite, exchange, lookup, remote::Remote, store::Home, words::role_words};
use sheaf_model::{
    qr::{MARGIN, Qr},
    wire::InviteRequest,
};

/// Makes an invite and says how to use it.
pub fn run(args: &Invite, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let person = args.person.as_deref().map(|name| lookup::find(&home, "person", name)).transpose()?;
    let mut remote = exchange::remote(&home)?;
    let ask = InviteRequest {
        role: args.role.map(|role| role.role()),
        person: person.as_ref().map(|p| p.id),
        valid_s: Some(args.hours * 3600),
    };
    let invite = remote.invite(home.card().team, &ask)?;
    if remote.is_here() {
        env.remark(format!(
            "Note: {} means this machine only; nobody else can reach it. Start the service with `sheafd serve --listen \
             0.0.0.0:7433`, follow it with `sheaf connect` and the name of this machine in its network, and give that \
             address with the code.",
            remote.url()
        ))?;
    }
    let link = link(remote.url(), &invite.code);
    if env.json {
        return env.print_json(&serde_json::json!({
            "code": invite.code, "expires_ms": invite.expires_ms, "url": remote.url(), "role": invite.role, "link": link,
        }));
    }
    writeln!(env.out, "{}", invite.code)?;
    let whom =
        person.as_ref().map_or_else(|| "one device".into(), |p| format!("another device of {}", p.name));
    let role = role_words(invite.role);
    writeln!(env.out, "It lets {whom} in as {role}, once, within {} h. On that device:", args.hours)?;
    let own = home.card().server.as_ref().is_some_and(|server| server.ca.is_some());
    let me = if person.is_some() { "" } else { " --me NAME" };
    let ca = if own { " --ca cert.pem" } else { "" };
    writeln!(env.out, "  sheaf join {} {}{me}{ca}", remote.url(), invite.code)?;
    writeln!(env.out, "A phone needs no program, but opens this link:\n  {link}")?;
    if env.terminal && !args.no_qr {
        print_code(&link, env)?;
    }
    remark(own, &remote, env)
}

/// Says what else has to be handed over, and where a phone cannot keep the page.
fn remark(own_certificate: bool, remote: &Remote, env: &mut Env<'_>) -> Result<(), CliError> {
    if own_certificate {
        return env.remark(
            "Hand over cert.pem as well, the service's certificate that you gave with --ca, in a way you trust. A phone \
             keeps the page only where it trusts that certificate itself.",
        );
    }
    if remote.is_here() || remote.url().starts_with("https:") {
        return Ok(());
    }
    env.remark(
        "Over plain http a phone cannot keep the page, so it works there only while the service is in reach.",
    )
}

/// Returns the link that opens the page with an invite. The code stands behind `#`, which a browser sends to nobody, so
/// that it is in no log.
fn link(url: &str, code: &str) -> String {
    format!("{}/#join={code}", url.trim_end_matches('/'))
}

/// Prints the QR code of a link, where the terminal is wide enough for it.
fn print_code(link: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let Ok(code) = Qr::of(link) else { return Ok(()) };
    let width = code.size() + 2 * MARGIN;
    if width > env.width {
        return env.remark(format!("Its QR code needs a terminal of {width} columns."));
    }
    writeln!(env.out)?;
    for line in code.lines() {
        // White on black whatever the terminal's own colours are.
        let (begin, end) = if env.colour { ("\x1b[97;40m", "\x1b[0m") } else { ("", "") };
        writeln!(env.out, "{begin}{line}{end}")?;
    }
    Ok(())
}
