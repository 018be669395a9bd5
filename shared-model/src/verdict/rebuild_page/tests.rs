#![allow(clippy::unwrap_used)]
use super::*;
use crate::{
    id::ThingId,
    rig::{
        caution,
        rebuild::{SOURCE, STEPS},
    },
    verdict::{OWN_TOLERANCE, RebuildRow, RebuildSheet},
};

const HOSTILE: &str = "<script>alert(\"1\")</script> & 'x' \u{202e}\u{1}]]>";

/// A sheet of so many settings, taken from the steps in turn.
fn sheet(settings: usize, name: &str) -> RebuildSheet {
    let rows = (0..settings).map(|i| {
        let step = STEPS[i % STEPS.len()];
        RebuildRow {
            setting: step.setting.into(),
            name: format!("{name} {i}"),
            unit: if step.tolerance.is_some() { "mm" } else { "" },
            target: if step.tolerance.is_some() { "215.5 mm".into() } else { name.into() },
            also: step.tolerance.map(|_| "about 8 7/16 in".into()),
            tolerance: step.tolerance.map_or_else(|| "the same".into(), |most| format!("± {most} mm")),
            tolerance_source: if i % 3 == 0 { OWN_TOLERANCE } else { SOURCE },
            measured: None,
            off: None,
            ok: None,
            how: step.how,
            disturbs: step.disturbs.first().map_or_else(String::new, |moved| format!("moves {moved}")),
            first: None,
            beyond: Vec::new(),
            notes: Vec::new(),
        }
    });
    let fields: Vec<&str> = STEPS.iter().map(|step| step.setting).collect();
    let mut cautions = caution::of_settings(fields);
    cautions.push(caution::FIRST);
    RebuildSheet {
        bow: ThingId::new(0, [7; 10]),
        title: format!("{name} as in match"),
        day: Some("15 June 2026".into()),
        note: Some(name.into()),
        head: "Nothing measured yet.".into(),
        rows: rows.collect(),
        cautions,
        source: SOURCE,
        own_tolerances: Some("Tolerances of your own: tiller ± 0.5 mm.".into()),
        elsewhere: Vec::new(),
    }
}

fn about(opens: Opens, paper: Paper) -> PageAbout {
    PageAbout { team: HOSTILE.into(), who: "Ash".into(), day: "1 July 2026".into(), opens, paper }
}

fn link() -> Opens {
    Opens::link("https://range.example:7433/#bow?bow=0197d0b4-3c8f-7a10-9f3e-1f2a3b4c5d6e").unwrap()
}

#[test]
fn twenty_settings_fit_on_one_page_of_either_paper() {
    for paper in [Paper::A4, Paper::Letter] {
        let pages = rebuild_svg(&sheet(20, "brace height"), &about(link(), paper));
        assert_eq!(pages.len(), 1);
        let (more, rest) =
            (rebuild_svg(&sheet(60, "brace height"), &about(link(), paper)), "continues on page 2");
        assert!(more.len() > 1 && more[0].contains(rest) && !more.last().unwrap().contains("continues on"));
        assert!(more[1].contains("page 2 of"), "{}", more[1]);
        for number in 1..=60 {
            let row = format!(">{number}.</text>");
            let on = more.iter().map(|page| page.matches(&row).count()).sum::<usize>();
            assert_eq!(on, 1, "setting {number} is on one page");
        }
    }
    let html = rebuild_html(&sheet(20, "brace height"), &about(link(), Paper::A4));
    assert_eq!(html.matches("<section").count(), 1);
    let html = rebuild_html(&sheet(60, "brace height"), &about(link(), Paper::A4));
    assert!(html.matches("<section").count() > 1 && html.contains("It continues on page 2 of"));
}

/// Returns every place that something is drawn at, in mm.
fn places(page: &str) -> Vec<[f64; 2]> {
    let document = roxmltree::Document::parse(page).unwrap();
    let number =
        |node: &roxmltree::Node, name: &str| node.attribute(name).and_then(|n| n.parse::<f64>().ok());
    let mut places = Vec::new();
    for node in document.root_element().children() {
        let Some((x, y)) = number(&node, "x").zip(number(&node, "y")) else { continue };
        let [wide, high] = match node.tag_name().name() {
            "text" => {
                let letters = number(&node, "font-size").unwrap();
                [letters::width_mm(node.text().unwrap_or_default(), letters), 0.3 * letters]
            }
            _ => ["width", "height"].map(|name| number(&node, name).unwrap_or(0.0)),
        };
        places.extend([[x, y], [x + wide, y + high]]);
    }
    places
}

#[test]
fn nothing_runs_over_the_edge_whatever_is_written() {
    let long = "extraordinarily-long-name-without-a-single-space-in-it ".repeat(4);
    for (name, settings) in [("tiller", 3), (HOSTILE, 23), (long.as_str(), 24), ("弓の高さ🏹🏹", 40), ("", 1)]
    {
        for opens in [link(), Opens::Nothing("there is no server.".into())] {
            for paper in [Paper::A4, Paper::Letter] {
                let [wide, high] = paper.size_mm();
                let mut sheet = sheet(settings, name);
                sheet.rows[0].measured = Some(name.into());
                sheet.rows[0].first = Some(long.clone());
                for page in rebuild_svg(&sheet, &about(opens.clone(), paper)) {
                    let places = places(&page);
                    assert!(places.len() > 20);
                    for [x, y] in places {
                        let inside = (5.0..=wide - 5.0).contains(&x) && (5.0..=high - 5.0).contains(&y);
                        assert!(inside, "{name}: {x} {y} of {wide} {high}");
                    }
                }
            }
        }
    }
}

#[test]
fn what_a_user_wrote_is_words_and_nothing_else() {
    let sheet = sheet(5, HOSTILE);
    let html = rebuild_html(&sheet, &about(link(), Paper::A4));
    assert!(!html.contains("<script") && html.contains("&lt;script&gt;alert(&quot;1&quot;)"), "{html}");
    assert!(!html.contains(['\u{202e}', '\u{1}']));
    for page in rebuild_svg(&sheet, &about(link(), Paper::A4)) {
        let document = roxmltree::Document::parse(&page).unwrap();
        assert!(document.descendants().all(|node| node.tag_name().name() != "script"));
        let words: String = document.descendants().filter_map(|node| node.text()).collect();
        assert!(words.contains("<script>"), "{words}");
    }
}

#[test]
fn the_sheet_says_whose_word_it_is_and_what_to_take_care_of() {
    let sheet = sheet(6, "tiller");
    let html = rebuild_html(&sheet, &about(link(), Paper::A4));
    for words in
        ["common practice, no source", "qualified coach", "<b>own</b>", "1 July 2026", "Ash", "15 June 2026"]
    {
        assert!(html.contains(words), "{words}");
    }
    let none = rebuild_html(&sheet, &about(Opens::Nothing("there is no server.".into()), Paper::A4));
    assert!(none.contains("there is no server.") && !none.contains("<svg"));
    let long = Opens::link(&format!("https://range.example/{}", "x".repeat(700))).unwrap();
    let none = rebuild_html(&sheet, &about(long, Paper::A4));
    assert!(none.contains("a QR code holds at most") && !none.contains("<svg"), "a link that no code holds");
}

#[test]
fn what_there_is_to_know_of_a_setting_stands_in_its_row() {
    let mut sheet = sheet(3, "tiller");
    sheet.rows[1].notes = vec!["38 lbf was noted by Ash & Birch.".into()];
    let told = "38 lbf was noted by Ash &amp; Birch.";
    assert!(rebuild_html(&sheet, &about(link(), Paper::A4)).contains(told));
    let page = rebuild_svg(&sheet, &about(link(), Paper::A4)).remove(0);
    assert!(page.contains("38 lbf was noted"), "{page}");
}

#[test]
fn a_link_is_an_address_of_the_web() {
    for typed in ["javascript:alert(1)", "range.example", "https://", "https://a b", "", "file:///etc"] {
        assert_eq!(Opens::link(typed).unwrap_err().code, "bad_link", "{typed}");
    }
    assert!(Opens::link(" HTTPS://range.example/#bow ").is_ok());
}
