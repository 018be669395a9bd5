#![allow(clippy::unwrap_used)]
use super::*;
use crate::{face::Face, verdict::Units};

const HOSTILE: &str = "<script>\"a\" & 'b'</script>\u{1}";

fn all() -> Vec<(&'static str, String)> {
    let face = Face::by_code("wa_122").unwrap();
    let ellipse = Ellipse { centre_mm: [-20.0, 35.0], semi_mm: [40.0, 15.0], angle_rad: 0.5 };
    let shots = [
        Shot { at_mm: [-60.0, 40.0], number: Some(HOSTILE), ..Shot::default() },
        Shot { at_mm: [20.0, 90.0], flyer: true, ..Shot::default() },
        Shot { at_mm: [-5.0, -12.0], bare: true, ..Shot::default() },
        Shot { at_mm: [f64::NAN, f64::INFINITY], ..Shot::default() },
    ];
    let group = FaceGroup {
        face: &face,
        shots: &shots,
        mean_mm: Some([-20.0, 35.0]),
        ellipse: Some(ellipse),
        spread_ellipse: Some(ellipse),
        label: HOSTILE,
    };
    let side = Side {
        points_mm: vec![[-30.0, 30.0], [-10.0, 40.0]],
        mean_mm: Some([-20.0, 35.0]),
        ellipse: Some(ellipse),
        words: HOSTILE.into(),
    };
    let after = Side { points_mm: vec![[30.0, 30.0]], mean_mm: Some([30.0, 30.0]), ..Side::default() };
    let change = BeforeAfter {
        face: Some(&face),
        before: &side,
        after: &after,
        units: Units::Imperial,
        ellipse_words: HOSTILE,
        label: HOSTILE,
    };
    let interval = Band {
        range: [-10.0, 30.0],
        interval: Some([-40.0, 22.0]),
        estimate: Some(4.0),
        small: Some([-12.0, 12.0]),
        ends: [HOSTILE, HOSTILE],
        label: HOSTILE,
    };
    let dealt = Deals {
        distances: &[1.0, 4.0, 4.5, 22.0, 17.0],
        yours: 17.0,
        reaches: &[false, false, false, true, true],
        yours_words: HOSTILE,
        axis_words: HOSTILE,
        label: HOSTILE,
    };
    let row = |finds, enough| PlanBar { words: HOSTILE.into(), finds, finds_words: HOSTILE.into(), enough };
    let rows = [row(52.0, false), row(28.0, true)];
    let bars = PlanBars { rows: &rows, smallest: 30.0, smallest_words: HOSTILE, label: HOSTILE };
    let line = [[9.5, 0.0], [18.0, 21.0], [28.0, 37.8], [f64::NAN, 1.0]];
    let first = DrawnCurve { name: HOSTILE, line: &line, measured: &line[1..], added: Some(line[0]) };
    let draw = DrawCurves { first, beside: None, own_in: Some(27.0), label: HOSTILE };
    vec![
        ("draw_curve", draw_curves(&draw)),
        ("draw_curve_beside", draw_curves(&DrawCurves { beside: Some(first), ..draw })),
        (
            "draw_curve_of_nothing",
            draw_curves(&DrawCurves { first: DrawnCurve { line: &[], ..first }, ..draw }),
        ),
        ("face_group", face_group(&group)),
        ("before_after", before_after(&change)),
        ("before_after_alone", before_after(&BeforeAfter { face: None, ..change })),
        ("band", band(&interval)),
        ("deals", deals(&dealt)),
        ("plan_bars", plan_bars(&bars)),
    ]
}

#[test]
fn every_picture_is_xml_that_says_what_it_shows() {
    for (name, svg) in all() {
        let read = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{name}: {e}\n{svg}"));
        let root = read.root_element();
        assert_eq!(root.tag_name().name(), "svg", "{name}");
        assert_eq!(root.attribute("role"), Some("img"), "{name}");
        let label = root.attribute("aria-label").unwrap();
        assert_eq!(label, HOSTILE.replace('\u{1}', " "), "{name}: a name comes through as it was");
        let view: Vec<f64> =
            root.attribute("viewBox").unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
        assert!(view.len() == 4 && view[2] > 0.0 && view[3] > 0.0, "{name}");
    }
}

#[test]
fn nothing_in_a_picture_acts_or_styles_and_every_letter_can_be_read() {
    let known = ["svg", "circle", "rect", "ellipse", "line", "polygon", "polyline", "text"];
    for (name, svg) in all() {
        let read = roxmltree::Document::parse(&svg).unwrap();
        for element in read.descendants().filter(|n| n.is_element()) {
            assert!(known.contains(&element.tag_name().name()), "{name}: {:?}", element.tag_name());
            for attribute in element.attributes() {
                let word = attribute.name();
                assert!(
                    word != "style" && word != "id" && word != "href" && !word.starts_with("on"),
                    "{name}: {word}"
                );
                assert!(!attribute.value().contains("NaN") && !attribute.value().contains("inf"), "{name}");
            }
            if element.tag_name().name() == "text" {
                let size: f64 = element.attribute("font-size").unwrap().parse().unwrap();
                assert!(size >= 12.0, "{name}: {size}");
            }
        }
    }
}

#[test]
fn one_curve_has_its_area_and_two_differ_in_dash_and_mark() {
    let found = all();
    let svg = |name: &str| &found.iter().find(|(n, _)| *n == name).unwrap().1;
    let (alone, both) = (svg("draw_curve"), svg("draw_curve_beside"));
    assert_eq!((with_classes(alone, &["area"]), with_classes(both, &["area"])), (1, 0));
    assert_eq!(with_classes(both, &["curve"]), 4, "two curves and the legend of each");
    assert_eq!(
        both.matches("stroke-dasharray").count(),
        3,
        "the other curve, its legend, the archer's own draw"
    );
    assert_eq!(with_classes(both, &["point", "before"]), 4, "three measured and the legend");
    assert_eq!(with_classes(alone, &["point", "added"]), 1);
}

/// Returns how many elements of a picture have all of these classes.
fn with_classes(svg: &str, classes: &[&str]) -> usize {
    let read = roxmltree::Document::parse(svg).unwrap();
    let has = |n: &roxmltree::Node<'_, '_>| {
        let own: Vec<&str> = n.attribute("class").unwrap_or_default().split(' ').collect();
        classes.iter().all(|c| own.contains(c))
    };
    read.descendants().filter(has).count()
}

#[test]
fn before_and_after_differ_in_shape_and_every_deal_has_a_mark() {
    let found = all();
    let svg = |name: &str| &found.iter().find(|(n, _)| *n == name).unwrap().1;
    let both = svg("before_after");
    assert_eq!(both.matches("<rect class=\"before mark\"").count(), 3, "two ends and the legend");
    assert_eq!(both.matches("<circle class=\"after mark\"").count(), 2, "one end and the legend");
    assert!(both.contains("<ellipse class=\"before ellipse\"") && both.contains("stroke-dasharray"));
    assert_eq!(with_classes(both, &["ring", "faint"]), 11, "ten zones and the inner ten");
    assert_eq!(with_classes(svg("deals"), &["deal"]) + with_classes(svg("deals"), &["reach"]), 3 + 2 * 2);
    assert_eq!(with_classes(svg("plan_bars"), &["bar", "enough"]), 1);
    assert_eq!(with_classes(svg("face_group"), &["ring-yellow"]), 2);
}
