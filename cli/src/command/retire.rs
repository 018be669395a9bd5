//! `sheaf retire` and `sheaf restore`: out of use and back; nothing is deleted.

use crate::{
    CliError, Env,
    args::{Meant, Restore},
    lookup::{self, Named},
    store::Home,
};
use serde_json::json;
use sheaf_model::kind;

/// Records that a thing is out of use.
pub fn retire(args: &Meant, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let thing = lookup::find_meant(&home, args)?;
    keep(home, thing, true, env)
}

/// Records that a thing is in use again; `last` is what was retired last.
pub fn restore(args: Restore, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let last = args.words.len() == 1 && args.words[0] == "last";
    let thing = match last {
        true => lookup::retired_last(&home)?.ok_or_else(|| {
            CliError::input("nothing is retired, so there is nothing to restore")
                .hint("`sheaf list groups --all` shows retired groups too")
        })?,
        false => lookup::find_meant(&home, &Meant { words: args.words })?,
    };
    keep(home, thing, false, env)
}

fn keep(mut home: Home, thing: Named, retired: bool, env: &mut Env<'_>) -> Result<(), CliError> {
    let already = thing.retired == retired;
    if !already {
        home.record(env, vec![kind::retire(thing.kind, thing.id, retired)])?;
    }
    if env.json {
        let answer = json!({"kind": thing.kind, "id": thing.id, "retired": retired, "already": already});
        return env.print_json(&answer);
    }
    let id = thing.id.short();
    let name = if thing.name.is_empty() { &id } else { &thing.name };
    let what = format!("{} {name}", thing.kind);
    match (retired, already) {
        (true, true) => {
            writeln!(env.out, "{what} is out of use already; `sheaf restore {id}` brings it back.")?
        }
        (false, true) => writeln!(env.out, "{what} is in use already; nothing was altered.")?,
        (true, false) => {
            writeln!(env.out, "Kept: {what} is out of use. `sheaf restore {id}` brings it back.")?
        }
        (false, false) => writeln!(env.out, "Kept: {what} is in use again.")?,
    }
    Ok(())
}
