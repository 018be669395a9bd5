//! `sheaf expect`: what is a round expected to score, and where do the lost points go?

use crate::{CliError, Env, answers, args::Expect, lookup, store::Home};
use sheaf_model::{
    face::{part, round},
    verdict::expected_rounds,
};

/// Prints what every archer may expect of a round with a bow.
pub fn run(args: &Expect, env: &mut Env<'_>) -> Result<(), CliError> {
    if args.sessions == 0 {
        return Err(CliError::input("--sessions 0 leaves nothing to expect from")
            .hint("a round is shot in one session or more: give 1 or more, or leave the option out"));
    }
    let home = Home::open(env)?;
    let (bow, archer, units) = lookup::of_bow(&home, &args.of)?;
    let parts = match &args.round {
        Some(code) => round(code)?,
        None => args.part.iter().map(|typed| part(typed)).collect::<Result<_, _>>()?,
    };
    let found = expected_rounds(home.store(), bow.id, archer, &parts, args.sessions, units)?;
    answers::tell(&bow.name, &found, env)
}
