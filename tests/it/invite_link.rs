//! The link of an invite and its QR code, read by a reader that is not ours.

use crate::harness::{
    alone::on_terminal,
    server::{Device, TestServer},
};
use rqrr::PreparedImage;
use sheaf_model::{
    qr::{MARGIN, Qr},
    wire::Admitted,
};
use std::path::Path;
use tempfile::TempDir;

/// How many pixels wide a module is drawn for the reader.
const SCALE: usize = 4;

/// Reads the code of which these are the dark modules, margins included.
fn decoded(dark: &[Vec<bool>]) -> String {
    let (height, width) = (dark.len() * SCALE, dark[0].len() * SCALE);
    let grey = |x: usize, y: usize| if dark[y / SCALE][x / SCALE] { 0 } else { 255 };
    let mut image = PreparedImage::prepare_from_greyscale(width, height, grey);
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "one code is seen");
    grids[0].decode().expect("it can be read").1
}

/// Returns the dark modules of a code in lines of half blocks.
fn from_lines<'a>(lines: impl Iterator<Item = &'a str>) -> Vec<Vec<bool>> {
    let halves = lines.flat_map(|line| {
        let upper = line.chars().map(|c| matches!(c, ' ' | '▄')).collect();
        let lower = line.chars().map(|c| matches!(c, ' ' | '▀')).collect();
        [upper, lower]
    });
    halves.collect()
}

/// Returns the dark modules of a code in SVG, from the runs of its last path.
fn from_svg(svg: &str, side: usize) -> Vec<Vec<bool>> {
    let mut dark = vec![vec![false; side]; side];
    let path = svg.rsplit(" d=\"").next().and_then(|rest| rest.split('"').next()).expect("a path");
    for run in path.split('M').filter(|run| !run.is_empty()) {
        let numbers: Vec<usize> =
            run.split([' ', 'h', 'v']).take(3).map(|n| n.parse().expect("a number")).collect();
        let [column, row, length] = numbers[..] else { panic!("{run} is no run") };
        dark[row][column..column + length].fill(true);
    }
    dark
}

#[test]
fn a_reader_reads_what_was_drawn() {
    let long = format!("https://range.example:7433/#join={}", "AB12-".repeat(100));
    for text in ["x", "https://range.example/#join=0A1B-2C3D", "Übung 3, grüner Köcher", &long] {
        let code = Qr::of(text).expect("it fits");
        let side = code.size() + 2 * MARGIN;
        assert_eq!(decoded(&from_svg(&code.svg("a code"), side)), text);
        assert_eq!(decoded(&from_lines(code.lines().iter().map(String::as_str))), text);
    }
}

/// Makes a keeper's home that is connected to a service.
fn keeper(server: &TestServer, home: &Path) {
    for words in
        [&["start", "Pair", "--me", "Ash"][..], &["connect", &server.url(""), "--key", &server.key()][..]]
    {
        let (code, _, err) = on_terminal(home, words);
        assert_eq!(code, 0, "{err}");
    }
}

#[test]
fn an_invite_is_printed_as_a_link_and_a_code_that_let_a_phone_in() {
    let (server, folder) = (TestServer::start(), TempDir::new().expect("a folder"));
    let home = folder.path().join("home");
    keeper(&server, &home);
    let (code, out, err) = on_terminal(&home, &["invite"]);
    assert_eq!(code, 0, "{err}");
    let link = out.lines().map(str::trim).find(|line| line.contains("/#join=")).expect("a link");
    let (begin, end) = ("\u{1b}[97;40m", "\u{1b}[0m");
    let lines = out.lines().filter_map(|line| line.strip_prefix(begin)?.strip_suffix(end));
    assert_eq!(decoded(&from_lines(lines)), link, "the code says what the link says");
    let (before, secret) = link.split_once("/#join=").expect("a link");
    assert_eq!(before, server.url(""), "the page is at the address of the service");
    assert_eq!(Some(secret), out.lines().next(), "the secret stands in the fragment, which no browser sends");
    let phone = Device::new();
    server.call("POST", "/v1/join", None, Some(&phone.join_request(secret))).ok::<Admitted>();
}

#[test]
fn there_is_no_code_where_it_would_be_in_the_way() {
    let (server, folder) = (TestServer::start(), TempDir::new().expect("a folder"));
    let home = folder.path().join("home");
    keeper(&server, &home);
    let (_, out, _) = on_terminal(&home, &["invite", "--no-qr"]);
    assert!(out.contains("/#join=") && !out.contains('█'), "{out}");
    let (_, out, _) = on_terminal(&home, &["--json", "invite"]);
    let told: serde_json::Value = serde_json::from_str(&out).expect("JSON alone");
    let link = format!("{}/#join={}", server.url(""), told["code"].as_str().expect("a code"));
    assert_eq!(told["link"], link);
    let mut plain = Vec::new();
    let (code, err) = crate::harness::alone::run(&home, &mut plain, "", &["invite"]);
    let plain = String::from_utf8(plain).expect("text");
    assert!(code == 0 && plain.contains("/#join=") && !plain.contains('█'), "{plain}{err}");
}
