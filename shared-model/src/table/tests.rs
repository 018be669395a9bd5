#![allow(clippy::unwrap_used)]
use super::*;
use std::fmt::Write as _;

fn utc() -> Options {
    Options::metric(TimeZone::UTC)
}

fn table(text: &str) -> Table {
    table_with(text, &utc())
}

fn table_with(text: &str, options: &Options) -> Table {
    read(text.as_bytes(), options, &mut |_, _| {}).unwrap()
}

/// Returns a group as a line: who, when, where, and its points rounded to mm.
fn line(found: &Found) -> String {
    let g = &found.group;
    let points: Vec<String> = g
        .points_mm
        .iter()
        .flatten()
        .map(|p| p.map_or("M".into(), |[x, y]| format!("{:.0},{:.0}", x.round() + 0.0, y.round() + 0.0)))
        .collect();
    format!(
        "{} {}/{} {:.2}m {}",
        found.bow,
        g.session.as_deref().unwrap_or("-"),
        g.end.as_deref().unwrap_or("-"),
        g.distance_m.unwrap(),
        points.join(" ")
    )
}

#[track_caller]
fn check(text: &str, expect: &[&str]) {
    let table = table(text);
    assert_eq!(table.troubles, []);
    assert_eq!(table.found.iter().map(line).collect::<Vec<_>>(), expect);
}

#[track_caller]
fn check_troubles(text: &str, expect: &[(u64, Option<&str>, &str)]) {
    let table = table(text);
    let got: Vec<_> = table.troubles.iter().map(|t| (t.line, t.column.as_deref(), t.code)).collect();
    assert_eq!(got, expect, "{:#?}", table.troubles);
}

#[test]
fn one_row_an_arrow_in_any_words() {
    check(
        "Y (mm);Bow name;X (mm);Date;End no.;Range [yd]\n-31,5;elm;12;12.04.2026;1;20\n4;elm;-5,25;12.04.2026;1;20\n\
         7;elm;8;12.04.2026;2;20\n",
        &["elm -/1 18.29m 12,-32 -5,4", "elm -/2 18.29m 8,7"],
    );
}

#[test]
fn one_row_an_end_as_columns_or_as_shots() {
    check(
        "date,time,bow,distance,x1,y1,x2_mm,y2_mm,x3,y3\n2026-04-12,10:05,elm,30m,1,2,3,4,,\n2026-04-12,10:11,elm,20yd,1cm,2cm,M,,0.5in,1in\n",
        &["elm -/- 30.00m 1,2 3,4", "elm -/- 18.29m 10,20 M 13,25"],
    );
    check(
        "at,bow,distance_m,face,end,shots\n2026-04-12T10:05:00+02:00,elm,30,80cm,1,9@3 3:X@12 M!\n",
        &["elm -/1 30.00m 60,0 0,10 M"],
    );
    check(
        "at\tbow\tdistance\tface\tarrow 1\tarrow 2\n2026-04-12 10:05\telm\t30m\tWA 80\t9@3\t10@6\n",
        &["elm -/- 30.00m 60,0 0,-30"],
    );
}

#[test]
fn marks_numbers_and_misses_are_kept() {
    let table = table(
        "at,bow,distance,end,arrow no,x,y,flyer,bare,miss,note,sight\n\
         2026-04-12,elm,30m,1,7,1,2,yes,,,gusty,a\n2026-04-12,elm,30m,1,9,3,4,,1,,,a\n2026-04-12,elm,30m,1,,,,,,x,,a\n",
    );
    let group = &table.found[0].group;
    assert_eq!((group.flyers.as_deref(), group.bare.as_deref()), (Some(&[0][..]), Some(&[1][..])));
    assert_eq!(group.arrow_numbers.as_ref().unwrap(), &[Some("7".into()), Some("9".into()), None]);
    assert_eq!(group.points_mm.as_ref().unwrap()[2], None);
    assert_eq!((group.note.as_deref(), group.sight.as_deref()), (Some("gusty"), Some("a")));
    assert!(table.notes[0].contains("noon"), "{:?}", table.notes);
}

#[test]
fn each_bad_row_is_named_by_line_column_and_reason() {
    check_troubles(
        "at,bow,distance,end,x,y,note\r\n\r\n2026-04-12,elm,30m,1,1,2,\"two\r\nlines\"\r\n2026-04-12,elm,30m,1,a,2,\r\n\
         2026-02-30,elm,30m,2,1,2,\r\n2026-04-12,,30m,3,1,2,\r\n2026-04-12,elm,0,4,1,2,\r\n2026-04-12,elm,30m,5,1,,\r\n\
         2026-04-12,elm,30m,6,,,\r\n2026-04-12,elm,30 furlongs,7,1,2,\r\n2026-04-12,elm,30m,8,1,2,,,9\r\n\
         2026-04-12,elm,30m,9,NaN,2,\r\n2026-04-12,elm,30m,10,1e999,2,\r\n2026-04-12,elm,30m,11,99999,2,\r\n",
        &[
            (5, Some("x"), "bad_number"),
            (6, Some("at"), "bad_time"),
            (7, Some("bow"), "missing_field"),
            (8, None, "out_of_range"),
            (9, Some("x"), "missing_field"),
            (10, None, "missing_field"),
            (11, Some("distance"), "bad_unit"),
            (12, None, "too_many_cells"),
            (13, Some("x"), "bad_number"),
            (14, Some("x"), "bad_number"),
            (15, None, "out_of_range"),
        ],
    );
}

#[test]
fn a_bad_row_takes_its_end_with_it_and_leaves_the_others() {
    let table = table(
        "at,bow,distance,end,x,y\n2026-04-12,elm,30m,1,1,2\n2026-04-12,elm,30m,1,oops,2\n2026-04-12,elm,30m,2,1,2\n\
         12 Foo 2026,elm,30m,3,1,2\n2026-04-12,elm,30m,3,3,4\n2026-04-12,elm,30m,4,5,6\n",
    );
    assert_eq!(
        table.found.iter().map(line).collect::<Vec<_>>(),
        ["elm -/2 30.00m 1,2", "elm -/4 30.00m 5,6"]
    );
    assert_eq!((table.troubles.len(), table.left_out), (2, 2));
}

#[test]
fn a_score_without_a_direction_is_no_position() {
    check_troubles(
        "at,bow,distance,face,shots\n2026-04-12,elm,30m,80,9 X@12\n2026-04-12,elm,30m,81,9@3\n\
         2026-04-12,elm,30m,80,11@3\n2026-04-12,elm,30m,80,9@25\n2026-04-12,elm,30m,,9@3\n",
        &[
            (2, Some("shots"), "no_direction"),
            (3, Some("face"), "unknown_face"),
            (4, Some("shots"), "bad_shot"),
            (5, Some("shots"), "bad_shot"),
            (6, Some("shots"), "missing_face"),
        ],
    );
}

#[test]
fn a_row_is_told_of_once_by_its_first_cause() {
    let table = table("at,bow,distance,face,shots\nsome day,elm,30,80,9@3\n2026-04-12,elm,30m,80,9@3\n");
    let columns: Vec<_> = table.troubles.iter().map(|t| (t.line, t.column.as_deref())).collect();
    assert_eq!((columns, table.found.len()), (vec![(2, Some("at"))], 1));
}

#[track_caller]
fn check_file(text: &[u8], options: &Options, code: &str, says: &str) {
    let error = read(text, options, &mut |_, _| {}).unwrap_err();
    assert_eq!(error.code, code, "{error}");
    assert!(error.message.contains(says), "{error}");
}

#[test]
fn what_is_wrong_with_the_file_as_a_whole_says_what_to_do() {
    let with = |columns: &[(&str, &str)]| Options {
        columns: columns.iter().map(|(f, h)| ((*f).to_owned(), (*h).to_owned())).collect(),
        ..utc()
    };
    check_file(b"", &utc(), "empty_table", "first row");
    check_file(b"PK\x03\x04rest", &utc(), "not_text", "save the sheet as CSV");
    check_file(b"at,x\n\xff\xff", &utc(), "not_text", "line 2");
    check_file(b"at,bow,distance,score\n", &utc(), "no_positions", "at, bow, distance, score");
    check_file(b"at,bow,x,y\n", &utc(), "no_column", "--distance 30m");
    check_file(b"at,bow,distance,x,y,x (cm)\n", &utc(), "column_twice", "`x` and `x (cm)`");
    check_file(b"at,bow,distance,x,y,x1,y1\n", &utc(), "two_layouts", "--column");
    check_file(b"at,bow,distance,x,y\n", &with(&[("z", "x")]), "unknown_field", "x1, y1");
    check_file(
        b"at,bow,distance,across,y\n",
        &with(&[("x", "acros")]),
        "unknown_column",
        "did you mean `across`",
    );
    check_troubles(
        "at,bow,distance,x,y\n2026-04-12,elm,30m,1,2\n2026-04-12,elm,30m,\"3,4\n2026-04-12,elm,30m,5,6\n",
        &[(3, None, "open_quote")],
    );
}

#[test]
fn the_user_can_say_which_column_is_which() {
    let options = Options {
        columns: vec![("x_cm".into(), "left/right".into()), ("y_cm".into(), "UP/DOWN".into())],
        ..utc()
    };
    let found = table_with("at,bow,distance,left/right,up/down,y\n2026-04-12,elm,30m,1,2,99\n", &options);
    assert_eq!(line(&found.found[0]), "elm -/- 30.00m 10,20");
    assert_eq!(found.columns[5], ("y".into(), None));
}

#[test]
fn a_date_that_reads_two_ways_is_asked_about() {
    let text = |date: &str| format!("date,bow,distance,x,y\n{date},elm,30m,1,2\n");
    let day = |text: &str| {
        table(text).found.iter().map(|f| f.group.at.clone().unwrap()[..10].to_owned()).collect::<Vec<_>>()
    };
    check_troubles(&text("03/04/2026"), &[(2, Some("date"), "date_order")]);
    assert_eq!(day(&format!("{}13/04/2026,elm,30m,1,2\n", text("03/04/2026"))), ["2026-04-03", "2026-04-13"]);
    assert_eq!(day(&format!("{}04/13/2026,elm,30m,1,2\n", text("03/04/2026"))), ["2026-03-04", "2026-04-13"]);
    let torn = format!("{}13/04/2026,elm,30m,1,2\n04/14/2026,elm,30m,1,2\n", text("03/04/2026"));
    check_troubles(&torn, &[(2, Some("date"), "date_order")]);
    assert_eq!(day(&torn), ["2026-04-13", "2026-04-14"]);
    for date in ["3.4.2026", "3 Apr 2026", "\"April 3, 2026\"", "2026/4/3", "3-Apr-26", "2026-04-03 1:05 pm"]
    {
        assert_eq!(day(&text(date)), ["2026-04-03"], "{date}");
    }
}

#[test]
fn times_are_those_of_the_clock_on_the_wall() {
    let zone = TimeZone::fixed(jiff::tz::offset(2));
    let text =
        "date,time,bow,distance,x,y\n2026-04-12,10:05,elm,30m,1,2\n2026-04-12T09:05:00Z,,elm,30m,1,2\n";
    let found = table_with(text, &Options::metric(zone)).found;
    assert_eq!(found[0].group.at.as_deref(), Some("2026-04-12T10:05:00+02:00"));
    assert_eq!(found[1].group.at.as_deref(), Some("2026-04-12T09:05:00+00:00"));
}

#[test]
fn imperial_tables_need_no_units() {
    let found =
        table_with("at,bow,distance,x,y\n2026-04-12,elm,20,1,-0.5\n", &Options::imperial(TimeZone::UTC))
            .found;
    assert_eq!(found[0].group.distance_m, Some(18.288)); // 20 yd of 0.9144 m, NIST SP 811
    assert_eq!(found[0].group.points_mm, Some(vec![Some([25.4, -12.7])]));
}

#[test]
fn empty_cells_mean_what_stands_above_when_the_user_says_so() {
    let options = Options { fill_down: true, ..utc() };
    let text = "date,bow,distance,end,x,y\n2026-04-12,elm,30m,1,1,2\n,,,,3,4\n,,,2,5,6\n";
    let found = table_with(text, &options).found;
    assert_eq!(found.iter().map(line).collect::<Vec<_>>(), ["elm -/1 30.00m 1,2 3,4", "elm -/2 30.00m 5,6"]);
}

#[test]
fn byte_order_marks_wide_text_and_a_told_separator_are_understood() {
    let text = "sep=;\nat;bow;distance;x;y\n2026-04-12;élan;30m;1,5;2\n";
    let wide: Vec<u8> =
        std::iter::once(0xFEFF).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let marked = [b"\xEF\xBB\xBF", text.as_bytes()].concat();
    for bytes in [&wide, &marked] {
        let table = read(bytes, &utc(), &mut |_, _| {}).unwrap();
        assert_eq!(line(&table.found[0]), "élan -/- 30.00m 2,2");
        assert_eq!(table.found[0].line, 3);
    }
}

#[test]
fn a_time_is_filled_down_only_to_dates_without_one() {
    let options = Options { fill_down: true, ..utc() };
    let text = "time,date,bow,distance,x,y\n10:05,2026-04-12,elm,30m,1,2\n,2026-04-12T09:30:00Z,elm,30m,1,2\n\
                ,2026-04-13,elm,30m,1,2\n";
    let at: Vec<_> = table_with(text, &options).found.into_iter().filter_map(|f| f.group.at).collect();
    let want = ["2026-04-12T10:05:00+00:00", "2026-04-12T09:30:00+00:00", "2026-04-13T10:05:00+00:00"];
    assert_eq!(at, want);
}

#[test]
fn a_semicolon_between_x_and_y_makes_no_two_arrows() {
    let text = "at,bow,distance,shots\n2026-04-12,elm,30m,\"1,2;-3,1cm 4,5\"\n";
    check(text, &["elm -/- 30.00m 12,-31 4,5"]);
    check_troubles(
        "at,bow,distance,face,shots\n2026-04-12,elm,30m,80,9@3;X@12\n",
        &[(2, Some("shots"), "bad_shot")],
    );
}

#[test]
fn the_arrows_of_an_end_stand_in_the_order_that_their_rows_say() {
    let rows = |third: &str| {
        format!(
            "at,bow,distance,shot no,x,y,flyer\n2026-04-12,elm,30m,10,1,2,yes\n2026-04-12,elm,30m,9,3,4,\n\
             2026-04-12,elm,30m,{third},5,6,\n"
        )
    };
    check(&rows("2"), &["elm -/- 30.00m 5,6 3,4 1,2"]);
    assert_eq!(table(&rows("2")).found[0].group.flyers, Some(vec![2]));
    check(&rows(""), &["elm -/- 30.00m 1,2 3,4 5,6"]);
}

#[test]
fn rows_of_one_group_id_agree_about_their_end() {
    let id = ThingId::new(1_775_000_000_000, [1; 10]);
    let (head, other) = ("group,at,bow,distance,x,y\n", ThingId::new(1_775_000_000_000, [2; 10]));
    let row = |id: ThingId, bow: &str| format!("{id},2026-04-12,{bow},30m,1,2\n");
    let text =
        format!("{head}{}{}{}{}", row(id, "elm"), row(id, "ash"), row(other, "elm"), row(other, "elm"));
    check_troubles(&text, &[(3, Some("group"), "group_twice")]);
    let read = table(&text);
    assert_eq!(read.found.iter().map(line).collect::<Vec<_>>(), ["elm -/- 30.00m 1,2 1,2"]);
    assert_eq!(read.left_out, 1);

    let text = format!("group,at,bow,distance,x1,y1\n{0}{0}", row(id, "elm"));
    check_troubles(&text, &[(3, Some("group"), "group_twice")]);
    assert!(table(&text).found.is_empty());
}

fn team() -> TeamId {
    TeamId::new(1_775_000_000_000, [7; 10])
}

fn ids(table: &Table) -> Vec<ThingId> {
    let groups = table.groups(team(), &mut |kind, name| Some(named_id(team(), kind, name))).unwrap();
    groups.into_iter().map(|(id, _)| id).collect()
}

#[test]
fn the_same_rows_are_the_same_groups_and_new_rows_new_ones() {
    let head = "at,bow,distance,x1,y1,x2,y2\n";
    let one = "2026-04-12T10:00:00Z,elm,30m,1,2,3,4\n";
    let first = ids(&table(&format!("{head}{one}{one}")));
    assert_ne!(first[0], first[1], "two equal ends are two groups");
    let grown = ids(&table(&format!("{head}{one}2026-04-12T10:05:00Z,elm,30m,1,2,3,4\n{one}{one}")));
    assert_eq!((grown[0], grown[2]), (first[0], first[1]));
    assert!(!first.contains(&grown[1]) && !first.contains(&grown[3]));
    let noted = ids(&table(&format!("note,{head}gusty,{one}")));
    assert_eq!(noted[0], first[0], "a column of notes makes no new groups");
    let other = table(&format!("{head}{}", one.replace("elm", "ash")));
    assert_ne!(ids(&other)[0], first[0]);
    // The time of a UUIDv7 is its first 48 bits (RFC 9562): 2026-04-12T10:00:00Z is 1,775,988,000,000 ms.
    assert_eq!(first[0].as_bytes()[..6], 1_775_988_000_000u64.to_be_bytes()[2..]);
}

#[test]
fn names_are_handed_out_with_their_use() {
    let table =
        table("at,bow,archer,distance,x1,y1\n2026-04-12,elm,Ash,30m,1,2\n2026-04-13,elm,Birch,30m,1,2\n");
    let names: Vec<_> = table.names().into_iter().map(|n| (n.kind, n.name, n.groups)).collect();
    assert_eq!(names, [("bow", "elm".into(), 2), ("person", "Ash".into(), 1), ("person", "Birch".into(), 1)]);
    let error = table.groups(team(), &mut |kind, name| (kind == "bow").then(|| named_id(team(), kind, name)));
    assert!(error.unwrap_err().message.contains("Ash"));
    assert_eq!(named_id(team(), "bow", " Elm"), named_id(team(), "bow", "elm"));
}

#[test]
fn progress_reaches_the_end() {
    let mut text = String::from("at,bow,distance,x1,y1\n");
    for n in 0..1000 {
        writeln!(text, "2026-04-12,elm,30m,{n},0").unwrap();
    }
    let mut told = Vec::new();
    read(text.as_bytes(), &utc(), &mut |done, of| told.push((done, of))).unwrap();
    assert_eq!((told[0], *told.last().unwrap()), ((0, 1000), (1000, 1000)));
}
