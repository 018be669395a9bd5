//! What holds for every table: no bytes make the reader panic, what is written is read back.

#![allow(clippy::unwrap_used)]
use super::*;
use crate::kind::Group;
use proptest::prelude::*;
use serde_json::value::to_raw_value;

fn utc() -> Options {
    Options::metric(TimeZone::UTC)
}

fn team() -> TeamId {
    TeamId::new(1_775_000_000_000, [7; 10])
}

fn any_text() -> impl Strategy<Value = Option<String>> {
    prop::option::of("[a-zA-Z0-9=+@'\",;\\-é]([a-zA-Z0-9 \",;\n'-]{0,6}[a-z0-9\",;'-])?")
}

/// Point, number, flyer, bare.
type AnyArrow = (Option<[f64; 2]>, Option<String>, bool, bool);

fn any_group() -> impl Strategy<Value = Group> {
    let arrow = (
        prop::option::of((-2000.0..2000.0, -2000.0..2000.0).prop_map(|(x, y)| [x, y])),
        prop::option::of("[A-Z]{0,2}"),
        any::<bool>(),
        any::<bool>(),
    );
    let many = prop::collection::vec(arrow, 1..8);
    let offset = prop::option::of((-9.0..9.0, -9.0..9.0).prop_map(|(x, y)| [x, y]));
    let labels = (any_text(), any_text(), any_text(), any_text());
    (many, labels, 1.0..90.0, 0i64..4_000_000_000_000, -720i32..720, offset, 0u8..3).prop_map(
        |(arrows, (session, end, sight, note), distance_m, ms, minutes, sight_offset_mrad, face)| {
            let marked = |f: &dyn Fn(&AnyArrow) -> bool| {
                let list: Vec<u32> = arrows.iter().zip(0..).filter(|(a, _)| f(a)).map(|(_, i)| i).collect();
                (!list.is_empty()).then_some(list)
            };
            let number = |(i, a): (usize, &AnyArrow)| a.1.as_ref().map(|series| format!("{series}{}", i + 1));
            let numbers: Vec<Option<String>> = arrows.iter().enumerate().map(number).collect();
            let face = match face {
                0 => None,
                1 => Some(to_raw_value("wa_80").unwrap()),
                _ => Some(
                    to_raw_value(&serde_json::json!({"zones": [{"points": 5, "outer_radius_mm": 61.5}]}))
                        .unwrap(),
                ),
            };
            Group {
                at: Some(crate::timeline::Moment::new(ms, minutes).unwrap().rfc3339()),
                session,
                end,
                distance_m: Some(distance_m),
                face,
                flyers: marked(&|a| a.2),
                bare: marked(&|a| a.3),
                points_mm: Some(arrows.iter().map(|a| a.0).collect()),
                arrow_numbers: numbers.iter().any(Option::is_some).then_some(numbers),
                sight,
                sight_offset_mrad,
                note,
                ..Group::default()
            }
        },
    )
}

/// Returns a file with its columns dealt in another order.
fn shuffled(text: &str, seed: u64) -> String {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let mut order: Vec<usize> = (0..rows[0].len()).collect();
    let mut rng = crate::rng::Rng::new(crate::rng::Seed(seed));
    for i in (1..order.len()).rev() {
        order.swap(i, usize::try_from(rng.below(i as u64 + 1)).unwrap());
    }
    let mut out = csv::Writer::from_writer(Vec::new());
    for row in &rows {
        out.write_record(order.iter().map(|c| &row[*c])).unwrap();
    }
    String::from_utf8(out.into_inner().unwrap()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read_back_as_the_same_groups(
        groups in prop::collection::vec(any_group(), 1..5),
        seed in any::<u64>(),
    ) {
        let with_ids: Vec<(ThingId, Group)> = groups
            .into_iter()
            .zip(0..)
            .map(|(mut g, n)| {
                g.bow = Some(named_id(team(), "bow", "=elm"));
                (ThingId::new(1_775_000_000_000, [n; 10]), g)
            })
            .collect();
        let mut text = Vec::new();
        groups_csv(&mut text, with_ids.iter().map(|(id, g)| (*id, g)), &|_| Some("=elm".into())).unwrap();
        let text = String::from_utf8(text).unwrap();
        for text in [shuffled(&text, seed), text] {
            let table = read(text.as_bytes(), &utc(), &mut |_, _| {}).unwrap();
            prop_assert_eq!(&table.troubles, &[]);
            let back = table.groups(team(), &mut |kind, name| Some(named_id(team(), kind, name))).unwrap();
            let json = |groups: &[(ThingId, Group)]| serde_json::to_string(groups).unwrap();
            prop_assert_eq!(json(&back), json(&with_ids));
        }
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes, &utc(), &mut |_, _| {});
    }

    #[test]
    fn no_table_makes_it_panic(cells in prop::collection::vec("(PK|M|X|9@|[0-9@:,.;\"'eE+-]{0,5}|[ a-zé\n]{0,3}|202[0-9]-[01]?[0-9]-[0-3]?[0-9]|[0-3][0-9]/[01][0-9]/26)", 0..60), columns in 1usize..14) {
        let heads = "at,bow,distance,x,y,shot,score,clock,flyer,miss,time,face,sight_x,sight_y";
        let heads: Vec<&str> = heads.split(',').take(columns.max(5)).collect();
        for head in [heads.join(","), "at,bow,distance,shots,flyers,bare,numbers,x1,y1,score 2,clock 2".into()] {
            let wide = head.split(',').count();
            let mut text = head;
            for row in cells.chunks(wide) {
                text.push('\n');
                text.push_str(&row.join(","));
            }
            for fill_down in [false, true] {
                if let Ok(table) = read(text.as_bytes(), &Options { fill_down, ..utc() }, &mut |_, _| {}) {
                    for found in &table.found {
                        prop_assert!(found.group.check().is_ok());
                    }
                }
            }
        }
    }
}
