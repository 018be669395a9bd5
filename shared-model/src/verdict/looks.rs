//! Looks at verdicts outside a plan, each of which is a chance for a false word.

/// Says that a verdict was looked at before while its data grew, from the second look on; `planner` is how the reader
/// makes a plan.
pub fn look_note(look: usize, planner: &str) -> Option<String> {
    (look > 1).then(|| {
        format!(
            "look {look} at the last change while its data grew; verdicts outside a plan are meant for one look, and each \
             further one is a chance for a false word. {} keeps its error rate at every look",
            super::upper_first(planner)
        )
    })
}
