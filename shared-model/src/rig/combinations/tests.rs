#![allow(clippy::unwrap_used)]
use super::*;

fn riser(name: &str, riser_in: f64, discipline: &str) -> OwnRiser {
    OwnRiser { name: name.into(), riser_in, discipline: Some(discipline.into()), limits: Limits::default() }
}

fn limbs(name: &str, length: LimbLength, marked: f64) -> OwnLimbs {
    OwnLimbs {
        name: name.into(),
        limb_length: Some(length),
        marked_weight_lbf: Some(marked),
        ..OwnLimbs::default()
    }
}

/// Two risers, three pairs of limbs, one string, one pair that is true.
fn own() -> Own {
    Own {
        draw_in: Some(28.0),
        discipline: Some("target".into()),
        wanted_lbf: Some(36.0),
        risers: vec![riser("oak", 19.0, "field"), riser("elm", 25.0, "target")],
        limbs: vec![
            limbs("medium 34", LimbLength::Medium, 34.0),
            limbs("medium 38", LimbLength::Medium, 38.0),
            limbs("long 36", LimbLength::Long, 36.0),
        ],
        strings: vec![OwnString {
            name: "red".into(),
            bow_in: Some(68.0),
            on: None,
            limits: Limits::default(),
        }],
        pairs: vec![OwnPair { riser: 1, limbs: 1, sits: Sits::True, beyond: false }],
        ..Own::default()
    }
}

fn order(own: &Own) -> Vec<(&str, &str)> {
    let name = |c: &Combination| (own.risers[c.riser].name.as_str(), own.limbs[c.limbs].name.as_str());
    combinations(own).iter().map(name).collect()
}

#[test]
fn the_best_comes_first_by_each_step_in_turn() {
    let mut own = own();
    assert_eq!(
        order(&own),
        [
            ("elm", "medium 38"), // the rule's limbs, a string, a true pair
            ("elm", "medium 34"), // no pair measured
            ("oak", "medium 34"), // no string for 62 in; 19 in of riser add 12 to 18 %
            ("oak", "medium 38"),
            ("elm", "long 36"), // not the rule's limbs; the discipline's riser
            ("oak", "long 36"),
        ]
    );
    // True by bolts that a maker does not allow is as good as not measured: then the order of the limbs counts.
    own.pairs[0].beyond = true;
    assert_eq!(order(&own)[..2], [("elm", "medium 34"), ("elm", "medium 38")]);
    own.strings.clear();
    own.discipline = Some("field".into());
    assert_eq!(order(&own)[0], ("oak", "medium 34"));
}

#[test]
fn a_pair_that_is_loose_or_tight_stands_last_of_all() {
    let mut own = own();
    own.limbs[2].limits.most_weight_lbf = Some(20.0);
    for sits in [Sits::Loose, Sits::Tight] {
        own.pairs[0].sits = sits;
        let all = combinations(&own);
        let last = all.last().unwrap();
        assert!(last.do_not_shoot() && (last.riser, last.limbs, last.limits) == (1, 1, Keeps::Kept));
        assert_eq!(all.iter().filter(|made| made.do_not_shoot()).count(), 1);
        assert_eq!(all[all.len() - 2].limits, Keeps::Passed, "what a maker does not allow stands before it");
    }
}

#[test]
fn a_string_that_is_on_another_bow_is_not_at_hand() {
    let mut own = own();
    let said =
        |own: &Own| words::reasons(own, &own.combined(1, 1)).into_iter().map(|r| r.words).collect::<Vec<_>>();
    let has =
        |own: &Own, words: &str| assert!(said(own).iter().any(|w| w.starts_with(words)), "{:?}", said(own));
    own.strings[0].on = Some("elm".into());
    has(&own, "string at hand: red; ");
    own.strings[0].on = Some("oak".into());
    has(&own, "string for it: red (on oak now); ");
    own.strings.push(OwnString {
        name: "blue".into(),
        bow_in: Some(68.0),
        on: None,
        limits: Limits::default(),
    });
    has(&own, "string at hand: red (on oak now) and blue; ");
}

#[test]
fn what_a_maker_does_not_allow_comes_last_and_is_never_hidden() {
    let mut own = own();
    own.limbs[1].limits.most_weight_lbf = Some(34.0);
    let all = combinations(&own);
    assert_eq!(all.len(), 6);
    let last = all.last().unwrap();
    assert_eq!((last.limbs, last.limits), (1, Keeps::Passed));
    assert!(last.cautions.contains(&caution::BEYOND));
    assert!(last.reasons[0].words.contains("more than the 34 lbf that the maker of medium 38 allows"));
    // 38 lbf by the bolts are 36.1 to 39.9 lbf.
    own.limbs[1].limits.most_weight_lbf = Some(38.0);
    let elm = combinations(&own).into_iter().find(|c| (c.riser, c.limbs) == (1, 1)).unwrap();
    assert_eq!(elm.limits, Keeps::MayPass);
    assert!(elm.cautions.contains(&caution::LIMB_BOLTS));
    own.limbs[1].limits = Limits { most_draw_in: Some(27.5), ..Limits::default() };
    assert_eq!(combinations(&own).last().unwrap().limits, Keeps::Passed);
    own.limbs[1].limits = Limits { least_weight_lbf: Some(50.0), ..Limits::default() };
    assert_eq!(combinations(&own).last().unwrap().limits, Keeps::Passed);
}

#[test]
fn brace_limits_that_exclude_each_other_are_not_kept() {
    let of = |least, most| Limits { brace_mm: [least, most], ..Limits::default() };
    assert_eq!(apart([of(Some(220.0), None), of(None, Some(210.0))]), Some([220.0, 210.0]));
    assert_eq!(apart([of(Some(210.0), None), of(None, Some(210.0))]), None);
    let mut own = own();
    own.risers[0].limits = of(Some(220.0), None);
    own.limbs[0].limits = of(None, Some(210.0));
    let made = own.combined(0, 0);
    assert_eq!((made.limits, made.brace.start_mm), (Keeps::Passed, None));
    assert_eq!(
        made.reasons[0].words,
        "no brace height keeps both makers' limits: the maker of oak asks for 220 mm at least, the maker of medium 34 \
         allows 210 mm at most"
    );
    assert!(made.cautions.contains(&caution::BEYOND));
}

#[test]
fn what_is_not_known_is_said_and_still_listed() {
    let bare = Own {
        risers: vec![OwnRiser { name: "elm".into(), riser_in: 25.0, ..OwnRiser::default() }],
        limbs: vec![OwnLimbs { name: "old".into(), ..OwnLimbs::default() }],
        ..Own::default()
    };
    let all = combinations(&bare);
    let one = &all[0];
    assert_eq!((one.suits, one.bow_in, one.weight_lbf), (Suits::Unknown, None, None));
    let said: Vec<&str> = one.reasons.iter().map(|r| r.words.as_str()).collect();
    assert!(said.iter().any(|w| w.contains("length class of the limbs is not noted")), "{said:?}");
    assert!(said.iter().any(|w| w.contains("no weight is noted as marked")), "{said:?}");
    assert!(combinations(&Own::default()).is_empty());
}

#[test]
fn a_pair_that_does_not_sit_true_says_what_that_can_do() {
    let mut own = own();
    let cautions = |own: &Own, sits| {
        let made = combinations(own).into_iter().find(|made| made.pair == Some(sits));
        made.unwrap().cautions
    };
    assert!(
        cautions(&own, Sits::True)
            .iter()
            .all(|care| ![crate::rig::pair::LOOSE, crate::rig::pair::TIGHT].contains(care))
    );
    for (sits, care) in [(Sits::Loose, crate::rig::pair::LOOSE), (Sits::Tight, crate::rig::pair::TIGHT)] {
        own.pairs[0].sits = sits;
        assert_eq!(cautions(&own, sits)[..2], [care, caution::LIMBS]);
    }
}

#[test]
fn what_is_on_a_limit_but_for_rounding_keeps_to_it() {
    let mut own = own();
    let medium = |own: &Own| combinations(own).into_iter().find(|c| (c.riser, c.limbs) == (1, 1)).unwrap();
    let [low, high] = medium(&own).weight_lbf.unwrap();
    own.limbs[1].limits = Limits {
        least_weight_lbf: Some(low + 1e-12),
        most_weight_lbf: Some(high - 1e-12),
        ..Limits::default()
    };
    let made = medium(&own);
    assert_eq!(made.limits, Keeps::Kept);
    assert!(made.reasons[0].words.starts_with("within the makers' limits"), "{:?}", made.reasons[0]);
    own.limbs[1].limits = Limits { most_weight_lbf: Some(high - 0.01), ..Limits::default() };
    let made = medium(&own);
    assert_eq!(made.limits, Keeps::MayPass);
    assert!(made.reasons[0].words.contains("can be more than"), "{:?}", made.reasons[0]);
}

#[test]
fn a_weight_that_was_measured_stands_in_place_of_the_rule() {
    let mut own = own();
    own.limbs[1].limits.most_weight_lbf = Some(37.0);
    own.weights =
        vec![OwnWeight { riser: 1, limbs: 1, lbf: 36.0 }, OwnWeight { riser: 1, limbs: 1, lbf: 37.04 }];
    let all = combinations(&own);
    let told = |riser: usize, limbs: usize| {
        let made = all.iter().find(|made| (made.riser, made.limbs) == (riser, limbs)).unwrap();
        let words = |n: usize| made.reasons[n].words.as_str();
        (made.weight_lbf, made.weight_measured, words(0).to_owned(), words(made.reasons.len() - 1).to_owned())
    };
    // The last one counts; 37 would be the limit, so that a decimal more is told.
    let (lbf, measured, limit, weight) = told(1, 1);
    assert_eq!((lbf, measured), (Some([37.04; 2]), true));
    assert_eq!(limit, "37.04 lbf is more than the 37 lbf that the maker of medium 38 allows");
    assert_eq!(weight, "37 lbf on the fingers as it was measured, 1 lbf from the 36 lbf wanted");
    let (_, measured, _, weight) = told(0, 1);
    assert!(!measured && weight.contains("on the fingers to be expected, its middle"), "{weight}");
}
