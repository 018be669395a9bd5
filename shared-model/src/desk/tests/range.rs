//! A desk with invented people, bows and groups, for the tests of its calls.

#![allow(clippy::unwrap_used)]
use super::super::{Ask, Desk, written};
use crate::{
    id::ThingId,
    kind::{self, Change, Group, Kind, Person},
    rng::{Rng, Seed},
};
use serde_json::{Value, json};

/// 15 June 2026, 12:00 UTC.
pub const NOW_MS: u64 = 1_781_524_800_000;
/// A day in ms.
pub const DAY_MS: u64 = 86_400_000;

/// A desk, its own person, and a generator.
pub struct Range {
    pub desk: Desk,
    pub me: ThingId,
    rng: Rng,
    seed: u64,
}

impl Range {
    /// Begins a team of one.
    pub fn open() -> Self {
        let mut range =
            Self { desk: Desk::default(), me: ThingId::from_bytes([0; 16]), rng: Rng::new(Seed(7)), seed: 0 };
        let said = range.ask("start", json!({"person": "Ash", "device_name": "phone"}));
        range.me = said["output"]["person"].as_str().unwrap().parse().unwrap();
        range
    }

    /// Makes a call, and returns the whole answer.
    pub fn ask(&mut self, call: &str, input: Value) -> Value {
        self.seed += 1;
        let request = json!({
            "call": call, "input": input, "now_ms": NOW_MS, "offset_min": 0, "seed": format!("{:016x}", self.seed),
        });
        serde_json::from_str(&self.desk.answer(&written(&request))).unwrap()
    }

    /// Makes a call that has to succeed.
    #[track_caller]
    pub fn output(&mut self, call: &str, input: Value) -> Value {
        let answer = self.ask(call, input);
        assert!(answer.get("output").is_some(), "{answer}");
        answer["output"].clone()
    }

    /// Keeps a record.
    pub fn keep<K: Kind>(&mut self, record: &K) -> ThingId {
        self.seed += 1;
        let ask = Ask::new(NOW_MS, 0, self.seed);
        let id = ask.thing_id();
        self.desk.write(&ask, vec![kind::draft(id, record).unwrap()]).unwrap();
        id
    }

    pub fn person(&mut self, name: &str) -> ThingId {
        self.keep(&Person { name: Some(name.into()), ..Person::default() })
    }

    /// Notes a change so many days ago.
    pub fn change(&mut self, bow: ThingId, days_ago: u64, settings: &[(&str, Value)]) -> ThingId {
        let at = Some(at(days_ago, 0));
        let mut change = Change { bow: Some(bow), at, by: Some(self.me), ..Change::default() };
        settings.iter().for_each(|(setting, value)| change.set(setting, value.clone()));
        self.keep(&change)
    }

    /// Shoots ends of six arrows at 30 m about a point, with this SD.
    pub fn ends(
        &mut self,
        (bow, archer): (ThingId, ThingId),
        days_ago: u64,
        count: u64,
        mean: [f64; 2],
        sd: f64,
    ) {
        for n in 0..count {
            let mut arrow = || Some([mean[0] + sd * self.rng.normal(), mean[1] + sd * self.rng.normal()]);
            let points = (0..6).map(|_| arrow()).collect();
            let group = Group {
                bow: Some(bow),
                archer: Some(archer),
                at: Some(at(days_ago, 10 + n)),
                distance_m: Some(30.0),
                face: Some(serde_json::from_str("\"wa_80\"").unwrap()),
                points_mm: Some(points),
                ..Group::default()
            };
            self.keep(&group);
        }
    }
}

/// A moment so many days and minutes before and after noon of the day of all tests.
pub fn at(days_ago: u64, minute: u64) -> String {
    let ms = NOW_MS - days_ago * DAY_MS - 4 * 3_600_000 + minute * 60_000;
    crate::moment::Moment::new(i64::try_from(ms).unwrap(), 0).unwrap().rfc3339()
}
