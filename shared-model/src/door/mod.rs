//! The compute door: one function, `compute(method, json) -> json`, behind which every method of the
//! model stands.
//!
//! The command line, the service and the WebAssembly build all come in here, so they cannot drift apart.
//! Each method is a file of this module that exports `run` and `HELP`, and one line in [`METHODS`].
//! A method reads its input through [`read`] and writes its output through [`write`], which refuses a
//! number that is not finite: `serde_json` alone would turn it into `null` without a word.

mod read;
mod write;

mod adjust_p;
mod arrow;
mod arrow_set;
mod bare_shaft;
mod circular_error;
mod combinations;
mod compare;
mod day_to_day;
mod deal;
mod dial;
mod effects;
mod expected_round;
mod expected_score;
mod face_score;
mod fit;
mod force_draw;
mod group;
mod limits;
mod marks;
mod mixed;
mod numbered_arrows;
mod plan;
mod power;
mod rectify;
mod scatter_regression;
mod shots;
mod spread_tests;
mod trajectory;
mod walk_back;

use crate::ModelError;
use serde_json::{Value, json};

/// A method of the door.
#[derive(Debug, Clone, Copy)]
pub struct Method {
    /// What it is called by: lower-case words joined by hyphens.
    pub name: &'static str,
    /// One line that says what it is for.
    pub summary: &'static str,
    /// Its input, output, units and source, for a terminal.
    pub help: &'static str,
    run: fn(&Value) -> Result<Value, ModelError>,
}

/// Every method, by name.
#[rustfmt::skip]
pub const METHODS: &[Method] = &[
    Method { name: "adjust-p", summary: "Corrects p-values for having asked several questions", help: adjust_p::HELP, run: adjust_p::run },
    Method { name: "arrow", summary: "Balance, energy, momentum and grains per pound of an arrow", help: arrow::HELP, run: arrow::run },
    Method { name: "arrow-set", summary: "How a set of arrows scatters, whom to pair or keep, what its masses are worth", help: arrow_set::HELP, run: arrow_set::run },
    Method { name: "bare-shaft", summary: "Where bare shafts land beside fletched ones, and how that is read", help: bare_shaft::HELP, run: bare_shaft::run },
    Method { name: "circular-error", summary: "The circle that holds a share of arrows, or the share that a circle holds", help: circular_error::HELP, run: circular_error::run },
    Method { name: "combinations", summary: "The bows that one's own risers and limbs make, best first, with why", help: combinations::HELP, run: combinations::run },
    Method { name: "compare", summary: "Whether two groups differ in place or in spread", help: compare::HELP, run: compare::run },
    Method { name: "day-to-day", summary: "How much an archer varies from day to day, and whether the last day is different", help: day_to_day::HELP, run: day_to_day::run },
    Method { name: "deal", summary: "How often chance alone deals two piles of ends as far apart", help: deal::HELP, run: deal::run },
    Method { name: "dial", summary: "How groups answer to a numeric setting shot at three values or more", help: dial::HELP, run: dial::run },
    Method { name: "effects", summary: "Which change moved the groups or made them tighter, and what that is worth", help: effects::HELP, run: effects::run },
    Method { name: "expected-round", summary: "What a round is expected to score, and where the lost points go", help: expected_round::HELP, run: expected_round::run },
    Method { name: "expected-score", summary: "What an arrow scores on average on a face, given its mean and spread", help: expected_score::HELP, run: expected_score::run },
    Method { name: "face-score", summary: "What each arrow scores on a face, line-cutters included", help: face_score::HELP, run: face_score::run },
    Method { name: "fit", summary: "Limbs, bow, string, brace height and tiller that follow from archer and riser", help: fit::HELP, run: fit::run },
    Method { name: "force-draw", summary: "Weight, slope and stored energy along a measured draw curve", help: force_draw::HELP, run: force_draw::run },
    Method { name: "group", summary: "Where a group is, how wide, of what shape, and how sure that is", help: group::HELP, run: group::run },
    Method { name: "limits", summary: "What of a bow lies beyond the limits of its makers or of common practice", help: limits::HELP, run: limits::run },
    Method { name: "marks", summary: "Sight marks, crawls or gaps for any distance between those that were found", help: marks::HELP, run: marks::run },
    Method { name: "mixed", summary: "A linear model in which sessions and ends have effects of their own", help: mixed::HELP, run: mixed::run },
    Method { name: "numbered-arrows", summary: "Which numbered arrows keep landing apart from their set", help: numbered_arrows::HELP, run: numbered_arrows::run },
    Method { name: "plan", summary: "How many ends of which setup in which order find a change", help: plan::HELP, run: plan::run },
    Method { name: "plan-verdict", summary: "What a planned experiment says so far, however often one looks", help: plan::HELP_VERDICT, run: plan::run_verdict },
    Method { name: "power-shift", summary: "How many arrows find a shift, or what shift so many find", help: power::HELP_SHIFT, run: power::run_shift },
    Method { name: "power-spread", summary: "How many arrows find a change of spread, or what change so many find", help: power::HELP_SPREAD, run: power::run_spread },
    Method { name: "rectify", summary: "From pixels of a picture to mm on the face", help: rectify::HELP, run: rectify::run },
    Method { name: "scatter-regression", summary: "How the spread of ends depends on what was set", help: scatter_regression::HELP, run: scatter_regression::run },
    Method { name: "spread-tests", summary: "Whether several samples have one spread", help: spread_tests::HELP, run: spread_tests::run },
    Method { name: "trajectory", summary: "Height, time and speed of an arrow at its distances", help: trajectory::HELP, run: trajectory::run },
    Method { name: "walk-back", summary: "Whether arrows drift sideways with the distance, straight or curved", help: walk_back::HELP, run: walk_back::run },
];

/// Runs the method of that name on an input.
///
/// # Errors
/// `unknown_method`, whatever the method finds wrong with its input, and `not_computable` when the
/// numbers leave what a computer can hold.
pub fn compute(name: &str, input: &Value) -> Result<Value, ModelError> {
    (method(name)?.run)(input)
}

/// Runs the method of that name on an input in JSON, and returns its output in JSON.
///
/// # Errors
/// As [`compute`], and `not_json` when the input cannot be read.
pub fn compute_json(name: &str, input: &str) -> Result<String, ModelError> {
    let method = method(name)?;
    let input: Value = serde_json::from_str(input).map_err(|e| not_json(&e))?;
    Ok((method.run)(&input)?.to_string())
}

/// Returns the method of that name.
///
/// # Errors
/// `unknown_method`, with the nearest name.
pub fn method(name: &str) -> Result<&'static Method, ModelError> {
    METHODS.iter().find(|m| m.name == name).ok_or_else(|| unknown_method(name))
}

/// Returns an error as the door writes it: `{"error": {"code", "message", "field"}}`.
pub fn error_json(error: &ModelError) -> String {
    json!({"error": {"code": error.code, "message": error.message, "field": error.field}}).to_string()
}

fn unknown_method(name: &str) -> ModelError {
    let shown: String = name.chars().take(40).collect();
    let near = METHODS
        .iter()
        .map(|m| (strsim::damerau_levenshtein(&shown.to_lowercase(), m.name), m.name))
        .min()
        .filter(|(steps, name)| 2 * steps <= name.len());
    let near = near.map_or(String::new(), |(_, name)| format!(" Did you mean '{name}'?"));
    ModelError::new(
        "unknown_method",
        format!(
            "There is no method '{shown}'.{near} `sheaf compute --list` and GET /v1/compute name them all."
        ),
    )
}

fn not_json(e: &serde_json::Error) -> ModelError {
    ModelError::new(
        "not_json",
        format!(
            "The input is not JSON: {e}. It is one JSON object; numbers are finite and written without units."
        ),
    )
}

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_method_names_the_nearest_and_the_list() {
        let e = compute("adjustp", &json!({})).expect_err("no such method");
        assert_eq!(e.code, "unknown_method");
        assert!(e.message.contains("'adjust-p'") && e.message.contains("--list"), "{}", e.message);
        let far = compute("zzzzzzzzzzzz", &json!({})).expect_err("no such method");
        assert!(!far.message.contains("Did you mean"), "{}", far.message);
        compute(&"x".repeat(1_000_000), &json!({})).expect_err("no such method");
    }

    #[test]
    fn text_that_is_not_json_is_an_error_with_its_place() {
        for bad in ["", "{", "[NaN]", "{\"p\": [1e999]}"] {
            let e = compute_json("adjust-p", bad).expect_err("not JSON");
            assert_eq!(e.code, "not_json");
            assert!(e.message.contains("line 1"), "{}", e.message);
        }
    }

    #[test]
    fn an_error_is_written_with_code_message_and_field() {
        let e = compute("adjust-p", &json!({"p": [0.5, "x"]})).expect_err("a word is no number");
        let back: Value = serde_json::from_str(&error_json(&e)).expect("JSON");
        assert_eq!(back["error"]["code"], "wrong_type");
        assert_eq!(back["error"]["field"], "p[1]");
        assert_eq!(back["error"]["message"], e.message);
    }

    #[test]
    fn every_method_has_a_line_and_a_help_with_its_parts() {
        for m in METHODS {
            assert!(
                !m.summary.is_empty() && !m.summary.contains('\n') && m.summary.len() <= 80,
                "{}",
                m.name
            );
            for part in ["Input\n", "Output\n", "Units\n", "Source\n"] {
                assert!(m.help.contains(part), "the help of {} lacks '{}'", m.name, part.trim());
            }
            assert!(m.help.lines().all(|l| l.chars().count() <= 100), "the help of {} is too wide", m.name);
        }
        let names: Vec<_> = METHODS.iter().map(|m| m.name).collect();
        let mut sorted = names.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(names, sorted, "the table is in order, each name once");
    }

    #[test]
    fn an_input_that_is_no_object_is_an_error_of_every_method() {
        for m in METHODS {
            for bad in [json!(null), json!([]), json!("x"), json!(3)] {
                assert_eq!(compute(m.name, &bad).expect_err(m.name).code, "wrong_type");
            }
        }
    }
}
