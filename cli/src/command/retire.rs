//! `sheaf retire` and `sheaf restore`: out of use and back; nothing is deleted.

use crate::{CliError, Env, args::Which, lookup, store::Home};
use serde_json::json;
use sheaf_model::kind;

/// Records that a thing is out of use, or in use again.
pub fn run(args: &Which, retired: bool, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let thing = lookup::find_any(&home, &args.name)?;
    home.record(env, vec![kind::retire(thing.kind, thing.id, retired)])?;
    if env.json {
        return env.print_json(&json!({"kind": thing.kind, "id": thing.id, "retired": retired}));
    }
    let name = if thing.name.is_empty() { thing.id.short() } else { thing.name };
    match retired {
        true => {
            writeln!(env.out, "Kept: {} {name} is out of use. `sheaf restore` brings it back.", thing.kind)?
        }
        false => writeln!(env.out, "Kept: {} {name} is in use again.", thing.kind)?,
    }
    Ok(())
}
