//! What lies beyond a limit is said where it is noted, measured and shot; it is kept all the same.

use crate::harness::alone::begun;
use serde_json::Value;

fn flat(err: &str) -> String {
    err.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_change_beyond_the_makers_limit_is_kept_and_said_first() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "steel", "--what", "riser"]).0, 0);
    assert_eq!(sheaf(&["set", "part", "steel", "most_bolt_turns=4", "most_weight=40lbf"]).0, 0);
    let (code, out, err) = sheaf(&["change", "elm", "riser=steel", "limb_bolt_top=5", "draw_weight=42"]);
    let err = flat(&err);
    assert!(code == 0 && out.starts_with("Kept: elm"), "{out}{err}");
    assert!(
        err.starts_with(
            "Stop. The top limb bolt is 5 turns out, 1 turn beyond the 4 turns that the maker of the riser allows. \
             Stop. 42 lbf on the fingers: 2 lbf above the 40 lbf that the maker of the riser allows."
        ),
        "{err}"
    );
    assert!(err.contains("Care: Never turn a limb bolt out"), "{err}");
    // Said once with the change, and once more to who shoots first with it.
    assert!(!flat(&sheaf(&["change", "elm", "tiller=4"]).2).contains("Stop."));
    assert!(flat(&sheaf(&["shoot", "elm", "18m", "9@1 9@5", "--face", "wa_40"]).2).contains("Stop. The top"));
    assert!(!sheaf(&["shoot", "9@1 9@5"]).2.contains("Stop."));
    let told = sheaf(&["change", "elm", "limb_bolt_top=4 1/2", "--json"]).1;
    let told: Value = serde_json::from_str(&told).expect("JSON");
    assert_eq!(told["beyond"][0]["code"], "bolt_out");
    assert_eq!((&told["beyond"][0]["limit"], &told["beyond"][0]["severity"]), (&4.0.into(), &"stop".into()));
    assert!(!flat(&sheaf(&["change", "elm", "limb_bolt_top=4"]).2).contains("Stop. The top"));
}

#[test]
fn a_value_measured_anew_is_set_against_the_makers_limit() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "long 36", "--what", "limbs"]).0, 0);
    assert_eq!(sheaf(&["set", "part", "long 36", "least_brace=210", "most_brace=220"]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "limbs=long 36", "brace_height=215"]).0, 0);
    let (code, _, err) = sheaf(&["rebuild", "elm", "brace=206"]);
    let err = flat(&err);
    assert!(
        code == 0
            && err.starts_with(
                "Stop. The brace height of 206 mm is 4 mm below the 210 mm that the maker of the limbs allows."
            ),
        "{err}"
    );
    assert!(!sheaf(&["rebuild", "elm", "brace=212"]).2.contains("Stop."));
}

#[test]
fn a_light_arrow_and_a_longer_draw_are_found() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "feather", "--mass", "190gr"]).0, 0);
    let (_, _, err) = sheaf(&["change", "elm", "draw_weight=40", "arrows=feather"]);
    let err = flat(&err);
    assert!(
        err.contains("4.8 grains for each pound, fewer than the 5")
            && err.contains("common practice, no source"),
        "{err}"
    );
    assert_eq!(sheaf(&["add", "part", "medium 34", "--what", "limbs"]).0, 0);
    assert_eq!(sheaf(&["set", "part", "medium 34", "most_draw=29in", "least_grains_per_pound=4"]).0, 0);
    assert_eq!(sheaf(&["set", "person", "Ash", "draw_length=30in"]).0, 0);
    let err = flat(&sheaf(&["change", "elm", "limbs=medium 34", "draw_weight=40"]).2);
    assert!(
        err.contains("Ash's draw of 30 in is 1 in longer than the 29 in that the maker of the limbs allows"),
        "{err}"
    );
    // The maker's least comes before the common floor.
    assert!(!err.contains("grains for each pound"), "{err}");
}

#[test]
fn a_bow_far_heavier_than_what_was_shot_asks_for_a_coach() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "draw_weight=30"]).0, 0);
    assert_eq!(sheaf(&["shoot", "elm", "18m", "9@1 9@5", "--face", "wa_40"]).0, 0);
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    let err = flat(&sheaf(&["change", "oak", "draw_weight=36"]).2);
    assert!(
        err.starts_with(
            "Stop. 36 lbf on the fingers: 6 lbf (20 %) above the 30 lbf that is the most Ash has shot"
        ),
        "{err}"
    );
    assert!(err.contains("ask a qualified coach"), "{err}");
    let err = flat(&sheaf(&["change", "oak", "draw_weight=32.5"]).2);
    assert!(err.starts_with("32.5 lbf on the fingers: 2.5 lbf (8 %) above"), "{err}");
    assert!(!sheaf(&["change", "oak", "draw_weight=31"]).2.contains("by these records"));
}
