//! Parts that come and go, tabs, servings, plain counts.

#![allow(clippy::unwrap_used)]
use super::*;
use crate::{
    id::DeviceId,
    kind::{Change, Group, Practice},
    log::{Stamp, Tick},
    timeline::{Item, Practiced, What},
};
use serde_json::json;

const DAY: i64 = 86_400_000;

fn id(n: u8) -> ThingId {
    ThingId::from_bytes([n; 16])
}

fn item(day: i64, what: What) -> Item {
    let at = Moment::new(day * DAY, 0).unwrap();
    let tick = Tick::default().next(u64::try_from(day * DAY).unwrap()).unwrap();
    Item { id: id(200), at, stamp: Stamp { tick, device: DeviceId::from_bytes([1; 16]) }, what }
}

fn change(day: i64, setting: &str, value: Value) -> Item {
    let mut change = Change::default();
    change.set(setting, value);
    item(day, What::Change(change))
}

fn shot(day: i64, arrows: usize, set: Option<ThingId>) -> Item {
    let group = Group { points_mm: Some(vec![None; arrows]), arrows: set, ..Group::default() };
    item(day, What::Group(Box::new(group)))
}

fn bow(n: u8, items: Vec<Item>) -> Timeline {
    Timeline { bow: id(n), items, practice: Vec::new(), unplaced: Vec::new() }
}

#[test]
fn a_string_counts_on_whatever_bow_it_is() {
    let string = json!(id(9));
    let elm = bow(
        1,
        vec![
            shot(1, 100, None),
            change(2, "string", string.clone()),
            shot(3, 6, None),
            // The string is on the other bow from day 4 on, though nobody noted what came in its place.
            shot(5, 50, None),
        ],
    );
    let oak = bow(2, vec![change(4, "string", string), shot(5, 12, None), shot(6, 3, None)]);
    let found = wear(&[elm, oak]);
    let string = &found[&Worn::Thing(id(9))];
    assert_eq!((string.arrows(), string.bows.len(), string.on), (21, 2, Some(id(2))));
    assert_eq!(string.since.unix_ms(), 2 * DAY);
}

#[test]
fn a_part_that_came_off_no_longer_counts_and_words_stay_with_their_bow() {
    let elm = bow(
        1,
        vec![
            change(1, "string", json!("sixteen strands")),
            shot(2, 6, None),
            change(3, "string", json!("the old one")),
            shot(4, 30, None),
        ],
    );
    let oak = bow(2, vec![change(1, "string", json!("sixteen strands")), shot(2, 5, None)]);
    let found = wear(&[elm, oak]);
    let of = |bow: u8, words: &str| &found[&Worn::Named(id(bow), "string".into(), words.into())];
    assert_eq!(
        [of(1, "sixteen strands"), of(1, "the old one"), of(2, "sixteen strands")].map(|w| w.arrows()),
        [6, 30, 5]
    );
}

#[test]
fn arrows_count_by_the_group_before_the_bow() {
    let (blue, red) = (id(21), id(22));
    let elm = bow(
        1,
        vec![
            change(1, "arrows", json!(blue)),
            change(1, "brace_height_mm", json!(215)),
            shot(2, 6, None),
            shot(3, 12, Some(red)),
        ],
    );
    let oak = bow(2, vec![shot(2, 3, Some(blue))]);
    let found = wear(&[elm, oak]);
    assert_eq!((found[&Worn::Thing(blue)].arrows(), found[&Worn::Thing(red)].arrows()), (9, 12));
    assert_eq!(found.len(), 2);
}

fn noted(day: i64, by: u8, setting: &str, value: Value) -> Item {
    let mut change = Change { by: Some(id(by)), ..Change::default() };
    change.set(setting, value);
    Item {
        id: ThingId::from_bytes([u8::try_from(100 + day).unwrap(); 16]),
        ..item(day, What::Change(change))
    }
}

fn shot_by(day: i64, arrows: usize, archer: u8) -> Item {
    let group = Group { points_mm: Some(vec![None; arrows]), archer: Some(id(archer)), ..Group::default() };
    item(day, What::Group(Box::new(group)))
}

fn counted(day: i64, arrows: u32, set: Option<ThingId>) -> Practiced {
    let Item { id, at, stamp, .. } = item(day, What::Change(Change::default()));
    let practice = Practice { arrows: set, count: Some(arrows), ..Practice::default() };
    Practiced { id, at, stamp, practice, arrows }
}

#[test]
fn plain_counts_wear_what_is_on_the_bow_and_the_set_that_they_name() {
    let (string, blue, red) = (json!(id(9)), id(21), id(22));
    let mut elm =
        bow(1, vec![change(2, "string", string), change(2, "arrows", json!(blue)), shot(4, 6, None)]);
    elm.practice = vec![counted(1, 500, None), counted(3, 72, None), counted(5, 30, Some(red))];
    let found = wear(&[elm]);
    let of = |id: ThingId| (found[&Worn::Thing(id)].placed, found[&Worn::Thing(id)].practice);
    // What was shot before the string was noted counts for nothing.
    assert_eq!([of(id(9)), of(blue), of(red)], [(6, 102), (6, 72), (0, 30)]);
}

#[test]
fn counts_beyond_all_reason_do_not_wrap() {
    let mut elm = bow(1, vec![change(1, "string", json!(id(9)))]);
    elm.practice = (0..5).map(|day| counted(2 + day, u32::MAX, None)).collect();
    let wear = &wear(&[elm])[&Worn::Thing(id(9))];
    assert_eq!(wear.arrows(), 5 * u64::from(u32::MAX));
    let most = Wear { placed: u64::MAX, practice: 3, ..wear.clone() };
    assert_eq!(most.arrows(), u64::MAX);
}

#[test]
fn a_tab_is_on_the_hand_whatever_bow_it_draws() {
    let (tab, new) = (json!(id(31)), json!(id(32)));
    let (ash, birch) = (5, 6);
    // Ash noted the tab on one bow and shoots two; Birch shoots the same bow with a tab that nobody noted.
    let elm = bow(1, vec![noted(1, ash, "tab", tab.clone()), shot_by(2, 6, ash), shot_by(2, 50, birch)]);
    let oak = bow(2, vec![shot_by(3, 12, ash)]);
    let found = wear(&[elm.clone(), oak.clone()]);
    let wear_of = |found: &BTreeMap<Worn, Wear>, n: u8| found[&Worn::Thing(id(n))].arrows();
    assert_eq!(wear_of(&found, 31), 18);
    assert_eq!(found[&Worn::Thing(id(31))].fitted.keys().copied().collect::<Vec<_>>(), [id(1), id(2)]);
    // Noted on the other bow too, it counts both; a new one on the first bow leaves the second with the old one.
    let oak = bow(2, vec![noted(2, ash, "tab", tab), shot_by(3, 12, ash), shot_by(5, 3, ash)]);
    let elm = bow(1, [elm.items, vec![noted(4, ash, "tab", new), shot_by(5, 24, ash)]].concat());
    let found = wear(&[elm, oak]);
    assert_eq!((wear_of(&found, 31), wear_of(&found, 32)), (6 + 12 + 3, 24));
    assert_eq!(found[&Worn::Thing(id(31))].fitted.keys().copied().collect::<Vec<_>>(), [id(2)]);
}

#[test]
fn a_tab_noted_by_who_shoots_no_bow_is_whoever_draws_that_one() {
    let elm = bow(1, vec![noted(1, 7, "tab", json!("old face")), shot_by(2, 6, 5), shot_by(3, 3, 6)]);
    let found = wear(&[elm]);
    assert_eq!(found[&Worn::Named(id(1), "tab".into(), "old face".into())].arrows(), 9);
}

#[test]
fn a_serving_begins_anew_and_the_string_goes_on() {
    let elm = bow(
        1,
        vec![
            change(1, "string", json!(id(9))),
            noted(1, 5, "serving", json!("new")),
            shot(2, 10, None),
            noted(3, 5, "serving", json!("new")),
            shot(4, 20, None),
        ],
    );
    let found = wear(&[elm]);
    let served = |day: u8| Worn::Served(id(1), id(100 + day), "new".into());
    assert_eq!(
        [&found[&served(1)], &found[&served(3)], &found[&Worn::Thing(id(9))]].map(Wear::arrows),
        [10, 20, 30]
    );
    assert!(found[&served(1)].fitted.is_empty() && found[&served(3)].fitted.contains_key(&id(1)));
}

#[test]
fn a_serving_comes_off_with_its_string_and_is_back_with_it() {
    let (red, old) = (json!(id(9)), json!(id(10)));
    let elm = bow(
        1,
        vec![
            noted(1, 5, "serving", json!("tight")),
            change(1, "string", red.clone()),
            shot(2, 10, None),
            change(3, "string", old),
            shot(4, 100, None),
        ],
    );
    let oak = bow(2, vec![change(5, "string", red), shot(6, 7, None)]);
    let found = wear(&[elm, oak]);
    let serving = &found[&Worn::Served(id(1), id(101), "tight".into())];
    assert_eq!((serving.arrows(), serving.on), (17, Some(id(2))));
    assert_eq!(found[&Worn::Thing(id(9))].arrows(), 17);
}

#[test]
fn without_a_record_all_else_counts() {
    let elm = bow(1, vec![change(1, "string", json!(id(9))), shot(2, 6, None), shot_by(3, 4, 5)]);
    let last = ThingId::from_bytes([201; 16]);
    let mut items = elm.items;
    items[2].id = last;
    let elm = bow(1, items);
    assert_eq!(wear_without(&[elm], last)[&Worn::Thing(id(9))].arrows(), 6);
}
