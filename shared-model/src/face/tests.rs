#![allow(clippy::unwrap_used)]

use serde_json::{Value, json};

use super::{Colour, Face, Zone};

fn published_faces() -> Vec<Value> {
    let text = include_str!("../../../tests/reference/target_faces.json");
    let all: Value = serde_json::from_str(text).unwrap();
    all["faces"].as_array().unwrap().clone()
}

fn colour_name(colour: Option<Colour>) -> &'static str {
    match colour {
        Some(Colour::Yellow) => "yellow",
        Some(Colour::Red) => "red",
        Some(Colour::Blue) => "blue",
        Some(Colour::Black) => "black",
        Some(Colour::White) => "white",
        None => "none",
    }
}

#[test]
fn the_faces_are_those_of_the_rule_book() {
    let published = published_faces();
    assert_eq!(published.len(), Face::codes().count());
    for want in published {
        let face = Face::by_code(want["code"].as_str().unwrap()).unwrap();
        assert_eq!(face.name(), want["name"].as_str().unwrap());
        assert_eq!(face.inner10_radius_mm(), want["inner10_radius_mm"].as_f64(), "{}", face.name());
        assert_eq!(face.scoring_outer_radius_mm(), want["scoring_outer_radius_mm"].as_f64().unwrap());
        if want["inner10_scores_10_rest_of_10_ring_scores_9"] == json!(true) {
            continue;
        }
        let zones: Vec<Value> = face
            .zones()
            .iter()
            .map(|zone| json!([zone.points, zone.outer_radius_mm, colour_name(zone.colour)]))
            .collect();
        let wanted: Vec<Value> = want["zones"]
            .as_array()
            .unwrap()
            .iter()
            .map(|zone| json!([zone["points"], zone["outer_radius_mm"].as_f64(), zone["colour"]]))
            .collect();
        assert_eq!(zones, wanted, "{}", face.name());
    }
}

#[test]
fn the_compound_indoor_face_counts_only_its_inner_ten_as_ten() {
    let face = Face::by_code("wa_40_triple_vertical_compound").unwrap();
    let score = |x: f64| (face.score([x, 0.0], 5.0).points, face.score([x, 0.0], 5.0).inner_ten);
    assert_eq!(score(12.5), (10, true));
    assert_eq!(score(12.625), (9, false));
    assert_eq!(score(42.5), (9, false));
    assert_eq!(score(42.625), (8, false));
}

#[test]
fn an_unknown_code_names_the_nearest() {
    let error = Face::by_code("wa_123").unwrap_err();
    assert_eq!(error.code, "unknown_face");
    assert_eq!(error.field.as_deref(), Some("face"));
    assert!(error.message.contains("\"wa_123\"") && error.message.contains("wa_122"), "{error}");
    assert!(Face::by_code("feild_60").unwrap_err().message.contains("field_60"));
    assert!(Face::by_code("").is_err());
    assert_eq!(Face::by_code(" WA_80 ").unwrap().code(), Some("wa_80"));
}

#[test]
fn a_ring_reads_back_as_itself_with_any_legal_shaft() {
    for code in Face::codes() {
        let face = Face::by_code(code).unwrap();
        for shaft in [0.0, 5.5, 9.3] {
            for zone in face.zones() {
                let radius = face.ring_radius_mm(zone.points).unwrap();
                let score = face.score([0.0, radius], shaft);
                let only_inner = face.inner10_radius_mm() == Some(zone.outer_radius_mm);
                assert_eq!((score.points, score.inner_ten), (zone.points, only_inner), "{code} {shaft}");
            }
            if let Ok(radius) = face.inner_ten_middle_mm() {
                assert!(face.score([radius, 0.0], shaft).inner_ten, "{code}");
            }
        }
    }
    let face = Face::by_code("wa_80").unwrap();
    assert_eq!(face.ring_radius_mm(9).unwrap(), 60.0);
    assert_eq!(face.inner_ten_middle_mm().unwrap(), 10.0);
    assert!(face.ring_radius_mm(11).unwrap_err().message.contains("10, 9, 8"));
    assert_eq!(Face::by_code("field_60").unwrap().inner_ten_middle_mm().unwrap_err().code, "no_inner_ten");
}

#[test]
fn a_face_goes_to_json_and_back() {
    let own = json!({"zones": [{"points": 10, "outer_radius_mm": 61.0}, {"points": 5, "outer_radius_mm": 122.5}],
        "inner10_radius_mm": 30.5});
    let face: Face = serde_json::from_value(own.clone()).unwrap();
    assert_eq!(face.code(), None);
    assert_eq!(serde_json::to_value(&face).unwrap(), own);
    let known: Face = serde_json::from_value(json!("field_40")).unwrap();
    assert_eq!(serde_json::to_value(&known).unwrap(), json!("field_40"));
}

#[track_caller]
fn refuse(face: Value, code: &str, field: &str) {
    let error = Face::from_json(&face, "face").unwrap_err();
    assert_eq!((error.code, error.field.as_deref()), (code, Some(field)), "{error}");
}

#[test]
fn a_wrong_face_says_what_is_wrong_with_it() {
    refuse(json!(7), "wrong_type", "face");
    refuse(json!({}), "missing_field", "face.zones");
    refuse(json!({"zones": 3}), "wrong_type", "face.zones");
    refuse(json!({"zones": []}), "face_zones", "face.zones");
    refuse(json!({"zones": [{"points": 10}]}), "wrong_type", "face.zones[0].outer_radius_mm");
    refuse(json!({"zones": [{"points": 2.5, "outer_radius_mm": 1}]}), "wrong_type", "face.zones[0].points");
    refuse(json!({"zones": [{"points": 1, "outer_radius_mm": -1}]}), "face_zones", "face.zones[0]");
    refuse(json!({"zones": [{"points": 0, "outer_radius_mm": 1}]}), "face_zones", "face.zones[0]");
    let rising = json!({"zones": [{"points": 1, "outer_radius_mm": 1}, {"points": 2, "outer_radius_mm": 3}]});
    refuse(rising, "face_zones", "face.zones");
    let wide = json!({"zones": [{"points": 1, "outer_radius_mm": 1}], "inner10_radius_mm": 2});
    refuse(wide, "face_inner10", "face.inner10_radius_mm");
    assert!(Face::own(vec![Zone { points: 1, outer_radius_mm: f64::NAN, colour: None }], None).is_err());
}
