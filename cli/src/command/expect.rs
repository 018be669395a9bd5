//! `sheaf expect`: what is a round expected to score, and where do the lost points go?

use crate::{
    CliError, Env,
    args::Expect,
    lookup,
    render::{self, Tone},
    store::Home,
};
use sheaf_model::{
    face::{part, round},
    verdict::{Units, expected_rounds},
};

/// Prints what every archer may expect of a round with a bow.
pub fn run(args: &Expect, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let archer =
        args.archer.as_deref().map(|name| lookup::find(&home, "person", name)).transpose()?.map(|p| p.id);
    let units = if args.imperial { Units::Imperial } else { Units::Metric };
    let parts = match &args.round {
        Some(code) => round(code)?,
        None => args.part.iter().map(|typed| part(typed)).collect::<Result<_, _>>()?,
    };
    let found = expected_rounds(home.store(), bow.id, archer, &parts, args.sessions.max(1), units)?;
    if env.json {
        return env.print_json(&found);
    }
    if found.is_empty() {
        writeln!(env.out, "No groups with {} yet: `sheaf shoot` records one.", bow.name)?;
    }
    for one in &found {
        let title = render::paint(env, Tone::Strong, &format!("{} with {}", one.name, bow.name));
        writeln!(env.out, "{title}")?;
        for line in
            one.sentences.iter().flat_map(|s| render::wrapped(s, env.width.min(100).saturating_sub(2)))
        {
            writeln!(env.out, "  {line}")?;
        }
    }
    Ok(())
}
