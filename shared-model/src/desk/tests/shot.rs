//! A desk with an archer, a bow and what was shot with it, for the tests of the calls.

use super::super::{Ask, Desk};
use crate::{
    id::ThingId,
    kind::{self, Bow, Change, Group, Kind},
    rng::{Rng, Seed},
};
use serde_json::{Value, json};

pub const NOW_MS: u64 = 1_776_600_000_000;

/// A desk that was begun, and a bow.
pub struct Range {
    pub desk: Desk,
    pub bow: ThingId,
    pub me: ThingId,
    rng: Rng,
    asked: u64,
}

impl Range {
    /// Begins a team of Ash with a bow of that name.
    pub fn with_bow(name: &str) -> Self {
        let bow = ThingId::new(NOW_MS, [7; 10]);
        let mut range = Self { desk: Desk::default(), bow, me: bow, rng: Rng::new(Seed(11)), asked: 0 };
        let begun = range.call("start", &json!({"person": "Ash", "device_name": "phone"}));
        range.me = begun["person"].as_str().and_then(|id| id.parse().ok()).expect("a person");
        range.add(bow, &Bow { name: Some(name.into()), ..Bow::default() });
        range
    }

    /// Makes a call and returns its output.
    #[track_caller]
    pub fn call(&mut self, call: &str, input: &Value) -> Value {
        let answer = self.answer(call, input);
        assert!(answer.get("error").is_none(), "{call}: {answer}");
        answer["output"].clone()
    }

    /// Makes a call that is refused and returns why.
    #[track_caller]
    pub fn refused(&mut self, call: &str, input: &Value) -> Value {
        let answer = self.answer(call, input);
        assert!(answer.get("error").is_some(), "{call}: {answer}");
        answer["error"].clone()
    }

    fn answer(&mut self, call: &str, input: &Value) -> Value {
        self.asked += 1;
        let request = json!({"call": call, "input": input, "now_ms": NOW_MS, "offset_min": 0,
            "seed": format!("{:016x}", self.asked)});
        serde_json::from_str(&self.desk.answer(&request.to_string())).expect("an answer is JSON")
    }

    /// Writes a record.
    pub fn add<K: Kind>(&mut self, id: ThingId, record: &K) {
        self.asked += 1;
        let draft = kind::draft(id, record).expect("a draft");
        self.desk.write(&Ask::new(NOW_MS, 0, self.asked), vec![draft]).expect("written");
    }

    pub fn new_id(&mut self) -> ThingId {
        self.asked += 1;
        ThingId::new(
            NOW_MS,
            Ask::new(NOW_MS, 0, self.asked).thing_id().as_bytes()[6..].try_into().expect("ten"),
        )
    }

    /// Alters a setting on a day of April 2026.
    pub fn change(&mut self, day: u32, hour: u32, setting: &str, value: Value) -> ThingId {
        let id = self.new_id();
        let at = Some(format!("2026-04-{day:02}T{hour:02}:00:00Z"));
        let mut change = Change { bow: Some(self.bow), at, ..Change::default() };
        change.set(setting, value);
        self.add(id, &change);
        id
    }

    /// Shoots ends of six arrows at 30 m about a place, five minutes apart: an arrow strays by 30 mm, an end by 6.
    pub fn ends(&mut self, day: u32, hour: u32, count: u32, about: [f64; 2]) {
        for n in 0..count {
            let end = about.map(|v| v + 6.0 * self.rng.normal());
            let points = (0..6).map(|_| Some(end.map(|v| v + 30.0 * self.rng.normal()))).collect();
            let group = Group {
                bow: Some(self.bow),
                archer: Some(self.me),
                at: Some(format!("2026-04-{day:02}T{hour:02}:{:02}:00Z", n * 5)),
                distance_m: Some(30.0),
                face: serde_json::from_str("\"wa_80\"").ok(),
                points_mm: Some(points),
                ..Group::default()
            };
            let id = self.new_id();
            self.add(id, &group);
        }
    }
}
