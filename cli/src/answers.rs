//! Answers of every archer with a bow, for people and for programs.

use crate::{
    CliError, Env,
    render::{self, Tone},
};
use serde::Serialize;
use sheaf_model::verdict::ArcherAnswer;

/// Prints the answers, an archer at a time.
pub fn tell<F: Serialize>(bow: &str, answers: &[ArcherAnswer<F>], env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        return env.print_json(&answers);
    }
    if answers.is_empty() {
        writeln!(env.out, "No groups with {bow} yet: `sheaf shoot` records one.")?;
    }
    for answer in answers {
        render::say(env, Tone::Strong, &format!("{} with {bow}", answer.name))?;
        render::sentences(env, &answer.sentences)?;
    }
    Ok(())
}
