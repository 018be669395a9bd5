//! The calls of recording, driven as the page drives them.

#![allow(clippy::unwrap_used)]

mod bow;
mod curve;
mod ends;
mod joining;
mod odd;
mod odd_fields;
mod parts;
mod planned;
pub(super) mod range;
mod shafts;
pub(super) mod shot;
mod things;
mod told;
mod wear;

use super::Desk;
use serde_json::{Value, json};

/// A desk with a clock that goes on by a minute a call, as the page has it.
pub(super) struct Page {
    pub desk: Desk,
    pub now_ms: u64,
    seed: u64,
    /// What the page keeps.
    pub kept: Vec<String>,
    pub card: Value,
}

impl Page {
    /// Begins a team of one, Ada.
    pub fn new() -> Self {
        // 2026-04-12T10:30:00+02:00
        let now_ms = 1_775_982_600_000;
        let mut page = Self { desk: Desk::default(), now_ms, seed: 1, kept: Vec::new(), card: Value::Null };
        page.ok("start", json!({"person": "Ada", "device_name": "phone"}));
        page
    }

    /// Begins a team with the bow Elm and the arrows Red twelve, and returns the two ids.
    pub fn with_bow() -> (Self, String, String) {
        let mut page = Self::new();
        let bow = page.id("add", json!({"kind": "bow", "fields": {"name": "Elm", "riser": "25"}}));
        let fields = json!({"name": "Red twelve", "count": "12", "shaft_diameter_mm": "5,5"});
        let arrows = page.id("add", json!({"kind": "arrows", "fields": fields}));
        (page, bow, arrows)
    }

    pub fn answer(&mut self, call: &str, input: &Value) -> Value {
        self.now_ms += 60_000;
        self.seed += 1;
        let seed = format!("{:016x}", self.seed);
        let request =
            json!({"call": call, "input": input, "now_ms": self.now_ms, "offset_min": 120, "seed": seed});
        let answer: Value = serde_json::from_str(&self.desk.answer(&super::written(&request))).unwrap();
        for text in answer.get("fresh").and_then(Value::as_array).into_iter().flatten() {
            self.kept.push(text.as_str().unwrap().to_owned());
        }
        if let Some(card) = answer.get("card") {
            self.card = card.clone();
        }
        answer
    }

    #[track_caller]
    pub fn ok(&mut self, call: &str, input: Value) -> Value {
        let answer = self.answer(call, &input);
        assert!(answer.get("error").is_none(), "{call} {input}: {answer}");
        answer["output"].clone()
    }

    /// Returns the id that a call gives.
    #[track_caller]
    pub fn id(&mut self, call: &str, input: Value) -> String {
        self.ok(call, input)["id"].as_str().unwrap().to_owned()
    }

    /// Returns code and field of the error that a call gives.
    #[track_caller]
    pub fn error(&mut self, call: &str, input: Value) -> (String, String) {
        let answer = self.answer(call, &input);
        let told = |field: &str| answer["error"][field].as_str().unwrap_or_default().to_owned();
        assert!(!told("code").is_empty() && answer.get("fresh").is_none(), "{call} {input}: {answer}");
        assert!(!told("message").is_empty());
        (told("code"), told("field"))
    }

    /// Returns the id of Ada.
    pub fn me(&mut self) -> String {
        self.ok("status", json!({}))["person"].as_str().unwrap().to_owned()
    }

    /// Opens what was kept on a desk of its own.
    pub fn opened(&self) -> Self {
        let mut page = Self { desk: Desk::default(), kept: Vec::new(), card: self.card.clone(), ..*self };
        page.ok("open", json!({"card": self.card}));
        page.ok("load", json!({"entries": self.kept}));
        page.kept = self.kept.clone();
        page
    }
}

/// An end as the page keeps it.
pub(super) fn end(page: &mut Page, bow: &str, arrows: &str, shot: Value) -> Value {
    let archer = page.me();
    json!({"bow": bow, "archer": archer, "arrows": arrows, "distance_m": 18, "face": "wa_40", "shot": shot})
}
