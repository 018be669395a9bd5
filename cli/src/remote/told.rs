//! What a person is told when the answer is not the one that was asked for: what happened, that nothing is lost, and
//! what to do.

use super::answer::Answer;
use crate::CliError;

/// Says why an answer with a status of trouble came; `known` says that this device showed its token.
pub fn refusal(url: &str, answer: &Answer, known: bool) -> CliError {
    let Some(problem) = answer.problem() else { return stranger(url, answer) };
    match (problem.status, problem.code.as_str()) {
        // What the service says there is for programs.
        (401 | 404, "no_token" | "unknown_team") if known => unknown_here(url),
        (501 | 505, _)
        | (404 | 405 | 415, "unknown_route" | "method_not_allowed" | "unsupported_media_type") => {
            other_version(url, "does not know what this sheaf asks of it")
        }
        (400, "bad_json" | "bad_request") => other_version(url, "cannot read what this sheaf sends"),
        (410 | 426, _) => other_version(url, &format!("turns this sheaf away: {}", problem.detail)),
        (500.., _) => {
            let number = problem.instance.as_deref().and_then(|name| name.strip_prefix("urn:uuid:"));
            let logged = number.map(|n| format!("; the service's log has it under {n}")).unwrap_or_default();
            let hint = format!("what you recorded is kept; try again later{logged}");
            CliError::out_of_reach(problem.detail).hint(hint)
        }
        (408 | 429, _) if known => {
            CliError::out_of_reach(problem.detail).hint("what you recorded is kept; sync again later")
        }
        _ => CliError::refused(problem.detail),
    }
}

/// Says that an answer of success is none of the service's.
pub fn no_answer(url: &str, answer: &Answer) -> CliError {
    if answer.is_json() {
        return CliError::out_of_reach(format!("{url} answered in a way that this sheaf cannot read")).hint(
            format!(
                "the service may be newer than this sheaf ({}): update sheaf. Is the address right? {KEPT}",
                env!("CARGO_PKG_VERSION")
            ),
        );
    }
    CliError::out_of_reach(format!("{url} answered, but not as a Sheaf server does")).hint(format!(
        "does this network ask you to log in first (open any page in a browser)? Is the address right? {KEPT}"
    ))
}

const KEPT: &str = "What you recorded is kept on this device";

/// Says what answered in the service's stead.
fn stranger(url: &str, answer: &Answer) -> CliError {
    let status = answer.status;
    match status {
        502..=504 => CliError::out_of_reach(format!(
            "the service at {url} does not answer: what stands before it says so (status {status})"
        ))
        .hint(format!("try again later; should it stay so, its keeper has to look. {KEPT}")),
        407 | 511 => CliError::out_of_reach(format!(
            "the network between this device and {url} asks you to log in first (status {status})"
        ))
        .hint(format!("log in to it, then sync again. {KEPT}")),
        _ => {
            let page = if answer.is_page() { "with a page for people, " } else { "" };
            CliError::out_of_reach(format!(
                "{url} answered {page}with status {status}, and not as a Sheaf server does"
            ))
            .hint(format!("is the address right? {KEPT}"))
        }
    }
}

/// Says that the service and this program are of different versions.
fn other_version(url: &str, what: &str) -> CliError {
    CliError::refused(format!("the service at {url} {what}")).hint(format!(
        "it and this sheaf ({}) are of different versions: update whichever is older, sheaf here or sheafd there. \
         {KEPT} and goes over then",
        env!("CARGO_PKG_VERSION")
    ))
}

/// Says that the service does not know the device.
fn unknown_here(url: &str) -> CliError {
    CliError::refused(format!(
        "the service at {url} does not know this device: it is not your team's service, or the device is shut out of it"
    ))
    .hint(
        "where your team's service has moved to, `sheaf connect URL` follows it; else ask a keeper of the team. What \
         you recorded is kept on this device",
    )
}
