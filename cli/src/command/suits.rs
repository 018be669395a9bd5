//! `sheaf suits`: one arrow set held against several bows.

use super::shafts::{section, wanted};
use crate::{CliError, Env, args::Suits, lookup, render, store::Home};
use sheaf_model::verdict::suits;

/// Says for each bow whether the set suits it, with the limits.
pub fn run(args: &Suits, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let set = lookup::find(&home, "arrows", &args.set)?;
    let mut bows = Vec::new();
    for name in &args.bows {
        let bow = lookup::find(&home, "bow", name)?.id;
        if !bows.contains(&bow) {
            bows.push(bow);
        }
    }
    let told = suits(home.store(), set.id, &bows, home.card().person, lookup::units(&args.scale))?;
    if env.json {
        return env.print_json(&told);
    }
    writeln!(env.out, "{}", render::fitted(&render::tame(&told.head), env.width))?;
    for bow in &told.bows {
        section(&bow.name.replace(char::is_control, " "), &bow.words, env)?;
    }
    section("For all of them", &told.said, env)?;
    wanted(&told.wanted, env)?;
    for caution in &told.cautions {
        env.caution(caution)?;
    }
    Ok(())
}
