//! What holds for every method: no input makes it panic, and its answer holds finite numbers only.

#![allow(clippy::unwrap_used)]
use super::{METHODS, compute, error_json};
use proptest::{prelude::*, sample::Index};
use serde_json::{Value, json};

/// Good inputs, from which bad ones are made.
const CASES: &[&str] = &[
    include_str!("../../../tests/reference/cases/adjust-p.json"),
    include_str!("../../../tests/reference/cases/arrow-set.json"),
    include_str!("../../../tests/reference/cases/arrow.json"),
    include_str!("../../../tests/reference/cases/bare-shaft.json"),
    include_str!("../../../tests/reference/cases/circular-error.json"),
    include_str!("../../../tests/reference/cases/compare.json"),
    include_str!("../../../tests/reference/cases/day-to-day.json"),
    include_str!("../../../tests/reference/cases/deal.json"),
    include_str!("../../../tests/reference/cases/dial.json"),
    include_str!("../../../tests/reference/cases/effects.json"),
    include_str!("../../../tests/reference/cases/expected-round.json"),
    include_str!("../../../tests/reference/cases/expected-score.json"),
    include_str!("../../../tests/reference/cases/face-score.json"),
    include_str!("../../../tests/reference/cases/combinations.json"),
    include_str!("../../../tests/reference/cases/fit.json"),
    include_str!("../../../tests/reference/cases/force-draw.json"),
    include_str!("../../../tests/reference/cases/group.json"),
    include_str!("../../../tests/reference/cases/limits.json"),
    include_str!("../../../tests/reference/cases/marks.json"),
    include_str!("../../../tests/reference/cases/mixed.json"),
    include_str!("../../../tests/reference/cases/numbered-arrows.json"),
    include_str!("../../../tests/reference/cases/plan.json"),
    include_str!("../../../tests/reference/cases/power.json"),
    include_str!("../../../tests/reference/cases/rectify.json"),
    include_str!("../../../tests/reference/cases/scatter-regression.json"),
    include_str!("../../../tests/reference/cases/spread-tests.json"),
    include_str!("../../../tests/reference/cases/trajectory.json"),
    include_str!("../../../tests/reference/cases/walk-back.json"),
];

/// Returns the inputs of a method, of long lists no more than is worth the time.
fn inputs(method: &str) -> Vec<Value> {
    let files = CASES.iter().map(|text| serde_json::from_str::<Value>(text).unwrap());
    let cases = files.flat_map(|file| file["cases"].as_array().unwrap().clone());
    let short = cases.filter(|case| case["method"] == method).map(|case| {
        let mut input = case["input"].clone();
        for list in input.as_object_mut().unwrap().values_mut().filter_map(Value::as_array_mut) {
            list.truncate(12);
        }
        input
    });
    short.collect()
}

/// Any JSON, of the words and numbers that come nearest to going wrong.
fn anything() -> impl Strategy<Value = Value> {
    let numbers = [0.0, -0.0, 1.0, -1.0, 0.5, 3.0, 1e-300, 5e-324, 1e155, -1e155, f64::MAX, f64::MIN];
    let words = ["", "wa_80", "field_80", "2026-04-12T10:00:00Z", "c1", "short", "equal", "s1", "\u{1f3f9}"];
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        prop::sample::select(numbers.to_vec()).prop_map(Value::from),
        (-1e4..1e4).prop_map(Value::from),
        (0..30u64).prop_map(Value::from),
        Just(json!(u64::MAX)),
        prop::sample::select(words.to_vec()).prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 12, 4, |inner| {
        let names = prop::sample::select(vec!["points", "outer_radius_mm", "zones", "at", "id", "set"]);
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::vec((names, inner), 0..4).prop_map(|fields| {
                Value::Object(fields.into_iter().map(|(name, value)| (name.to_owned(), value)).collect())
            }),
        ]
    })
}

/// What is done to one place of an input.
#[derive(Debug, Clone)]
enum Edit {
    Put(Value),
    Remove,
    Repeat,
}

fn edits() -> impl Strategy<Value = Vec<(Vec<Index>, Edit)>> {
    let edit =
        prop_oneof![4 => anything().prop_map(Edit::Put), 1 => Just(Edit::Remove), 1 => Just(Edit::Repeat)];
    prop::collection::vec((prop::collection::vec(any::<Index>(), 1..5), edit), 0..4)
}

/// Walks down a path as far as it goes and edits what stands there.
fn apply(value: &mut Value, path: &[Index], edit: &Edit) {
    let [step, rest @ ..] = path else { return };
    match value {
        Value::Array(list) if !list.is_empty() => {
            let at = step.index(list.len());
            match (rest, edit) {
                ([], Edit::Put(new)) => list[at] = new.clone(),
                ([], Edit::Remove) => drop(list.remove(at)),
                ([], Edit::Repeat) => list.push(list[at].clone()),
                _ => apply(&mut list[at], rest, edit),
            }
        }
        Value::Object(map) if !map.is_empty() => {
            let name = map.keys().nth(step.index(map.len())).unwrap().clone();
            match (rest, edit) {
                ([], Edit::Put(new)) => drop(map.insert(name, new.clone())),
                ([], Edit::Remove) => drop(map.remove(&name)),
                ([], Edit::Repeat) => {}
                _ => apply(&mut map[&name], rest, edit),
            }
        }
        other => {
            if let Edit::Put(new) = edit {
                other.clone_from(new);
            }
        }
    }
}

#[test]
fn every_method_has_inputs_to_start_from() {
    for method in METHODS {
        assert!(!inputs(method.name).is_empty(), "{} has no case", method.name);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_input_makes_a_method_panic_or_lose_a_number(method in any::<Index>(), case in any::<Index>(), edits in edits()) {
        let name = METHODS[method.index(METHODS.len())].name;
        let inputs = inputs(name);
        let mut input = inputs[case.index(inputs.len())].clone();
        edits.iter().for_each(|(path, edit)| apply(&mut input, path, edit));
        match compute(name, &input) {
            Ok(output) => {
                let text = output.to_string();
                prop_assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), output);
            }
            Err(e) => prop_assert!(!e.code.is_empty() && error_json(&e).contains(e.code)),
        }
    }
}
