//! The commands, one file each: what was typed, a call of the model, text.

mod add;
mod analyse;
mod arrows;
mod bare;
mod baseline;
mod bundle;
mod change;
mod completions;
mod compute;
mod connect;
mod curve;
mod demo;
mod devices;
mod dial;
pub mod differences;
mod effects;
mod expect;
mod export;
mod fits;
mod import;
mod invite;
mod join;
mod list;
mod mark;
mod marks;
mod note;
mod pair;
mod parts;
mod plan;
mod practice;
mod rebuild;
mod report;
mod retire;
mod sessions;
mod set;
mod settle;
mod shaft;
mod shafts;
mod shift_times;
mod shoot;
mod show;
mod start;
mod suits;
mod sync;
mod timeline;
mod today;
mod walk_back;
mod wear;

use crate::{CliError, Env, args::Command};

/// Carries out a command.
pub fn run(command: Command, env: &mut Env<'_>) -> Result<(), CliError> {
    match command {
        Command::Start(args) => start::run(&args, env),
        Command::Add(args) => add::run(&args, env),
        Command::Set(args) => set::run(&args, env),
        Command::Change(args) => change::run(&args, env),
        Command::Note(args) => note::run(&args, env),
        Command::Practice(args) => practice::run(&args, env),
        Command::Wear(args) => wear::run(&args, env),
        Command::List(args) => list::run(&args, env),
        Command::Show(args) => show::run(&args, env),
        Command::Timeline(args) => timeline::run(&args, env),
        Command::Analyse(args) => analyse::run(&args, env),
        Command::Arrows(args) => arrows::run(&args, env),
        Command::Shaft(args) => shaft::run(&args, env),
        Command::Shafts(args) => shafts::run(&args, env),
        Command::Suits(args) => suits::run(&args, env),
        Command::Bare(args) => bare::run(&args, env),
        Command::Walkback(args) => walk_back::run(&args, env),
        Command::Effects(args) => effects::run(&args, env),
        Command::Expect(args) => expect::run(&args, env),
        Command::Plan(args) => plan::run(&args, env),
        Command::Today(args) => today::run(&args, env),
        Command::Dial(args) => dial::run(&args, env),
        Command::Report(args) => report::run(&args, env),
        Command::Rebuild(args) => rebuild::run(&args, env),
        Command::Curve(args) => curve::run(&args, env),
        Command::Speed(args) => curve::speed(&args, env),
        Command::Pair(args) => pair::pair(&args, env),
        Command::Pairs(args) => pair::list(&args, env),
        Command::Mark(args) => mark::run(&args, env),
        Command::Marks(args) => marks::run(&args, env),
        Command::Parts(args) => parts::run(&args, env),
        Command::Fits(args) => fits::run(&args, env),
        Command::Baseline(args) => baseline::run(&args, env),
        Command::Retire(args) => retire::retire(&args, env),
        Command::Restore(args) => retire::restore(args, env),
        Command::Differences => differences::run(env),
        Command::Settle(args) => settle::run(&args, env),
        Command::Import(args) => import::run(&args, env),
        Command::Export(args) => export::run(&args, env),
        Command::Bundle(args) => bundle::run(&args, env),
        Command::Compute(args) => compute::run(&args, env),
        Command::Demo(args) => demo::run(&args, env),
        Command::Completions(args) => completions::run(&args, env),
        Command::Shoot(args) => shoot::run(&args, env),
        Command::Connect(args) => connect::run(&args, env),
        Command::Join(args) => join::run(&args, env),
        Command::Invite(args) => invite::run(&args, env),
        Command::Devices => devices::list(env),
        Command::Shut(args) => devices::shut(&args, env),
        Command::Role(args) => devices::role(&args, env),
        Command::Sync(args) => sync::run(&args, env),
        Command::ShiftTimes(args) => shift_times::run(&args, env),
    }
}
