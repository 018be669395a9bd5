//! `sheaf sync`: both sides level.

use crate::{
    CliError, Env,
    args::Sync,
    exchange::{Detail, exchange_with_progress, remark_on, tell},
    store::Home,
};

/// Exchanges records with the server until both sides are level.
pub fn run(args: &Sync, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let report = exchange_with_progress(&mut home, env, args.quiet)?;
    let calm =
        report.agree && report.refused.is_empty() && report.unfit.is_empty() && report.renewed.is_none();
    if args.quiet && calm && !env.json {
        return remark_on(&home, &report, env);
    }
    let detail = if args.verbose { Detail::Full } else { Detail::Brief };
    tell(&home, &report, detail, env)
}
