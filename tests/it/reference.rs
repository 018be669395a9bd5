//! The published and computed check values, through the library.

use sheaf_model::door::{METHODS, compute};
use sheaf_tests::cases;
use std::collections::BTreeSet;

fn known() -> Vec<&'static str> {
    METHODS.iter().map(|m| m.name).collect()
}

#[test]
fn the_library_answers_every_case_of_its_methods() {
    let all = cases::all();
    let tally = cases::run(&all, &known(), |method, input| compute(method, input).map_err(|e| e.message));
    println!("{} cases agree; methods not there yet: {:?}", tally.passes(), tally.skipped);
    assert!(tally.failed.is_empty(), "{} cases differ:\n{}", tally.failed.len(), tally.failed.join("\n"));
    assert_eq!(tally.passes() + tally.skipped.values().sum::<usize>(), all.len());
}

#[test]
fn every_case_has_a_name_of_its_own_and_says_where_it_comes_from() {
    let all = cases::all();
    let names: BTreeSet<_> = all.iter().map(|case| &case.id).collect();
    assert_eq!(names.len(), all.len());
    for case in &all {
        assert!(!case.source.is_empty(), "{}", case.id);
        assert!(case.expect_error || case.expect.is_object(), "{} expects nothing", case.id);
    }
}
