//! The calls of the page: a line is the name of a call and its input, in which `BOW`, `ME` and `END` stand for the ids of
//! what is there.

use serde_json::{Value, json};
use sheaf_model::desk::Desk;

/// The most lines that are asked.
const MOST: usize = 12;

/// Asks a desk with a bow and an end on it. Every answer is JSON with an output or an error; the numbers of records that
/// were kept have no holes, and they open to the same state on a desk that begins with nothing else.
pub fn check(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let mut page = Page::begun();
    for line in text.lines().take(MOST) {
        let (name, input) = line.split_once(' ').unwrap_or((line, "{}"));
        let input = input.replace("BOW", &page.bow).replace("ME", &page.me).replace("END", &page.end);
        let Ok(input) = serde_json::from_str::<Value>(&input) else { continue };
        // These put the desk into another team or another state on purpose.
        if matches!(name, "open" | "start" | "start_from" | "joined" | "renewed" | "carry") {
            continue;
        }
        page.ask(name, &input);
    }
    let there = page.ask("status", &json!({}));
    let mut again = Page { desk: Desk::default(), ..page };
    again.ask("open", &json!({"card": again.card, "have": {}}));
    let kept = std::mem::take(&mut again.kept);
    let lines = kept.join("\n");
    let loaded = again.desk.answer(&format!("{}\n{lines}", request("load", &json!({}), 1)));
    let loaded: Value = serde_json::from_str(&loaded).expect("JSON");
    assert_eq!(loaded["output"]["refused"], json!([]), "{loaded}");
    assert_eq!(again.ask("status", &json!({}))["output"]["digest"], there["output"]["digest"]);
}

struct Page {
    desk: Desk,
    kept: Vec<String>,
    card: Value,
    asked: u64,
    bow: String,
    me: String,
    end: String,
}

impl Page {
    fn begun() -> Self {
        let mut page = Self {
            desk: Desk::default(),
            kept: Vec::new(),
            card: Value::Null,
            asked: 0,
            bow: String::new(),
            me: String::new(),
            end: String::new(),
        };
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        page.me = text(
            &page.ask("start", &json!({"person": "Ada Fern", "device_name": "phone"}))["output"]["person"],
        );
        page.bow =
            text(&page.ask("add", &json!({"kind": "bow", "fields": {"name": "Kestrel"}}))["output"]["id"]);
        for (plunger, x) in [("1", 12), ("1 1/4", -20)] {
            page.ask(
                "change",
                &json!({"bow": page.bow, "set": [{"setting": "plunger_turns", "to": plunger}]}),
            );
            for n in 0..3 {
                let shot = json!([{"mm": [x, n - 31]}, {"mm": [x - 4 * n, 8]}, {"mm": [x + 9, 3 * n]}, {"mm": null}]);
                let end = json!({"bow": page.bow, "distance_m": 18, "face": "wa_40", "shot": shot});
                page.end = text(&page.ask("keep", &end)["output"]["group"]);
            }
        }
        page
    }

    fn ask(&mut self, name: &str, input: &Value) -> Value {
        self.asked += 1;
        let answer = self.desk.answer(&request(name, input, self.asked));
        let answer: Value = serde_json::from_str(&answer).expect("an answer is JSON");
        let parts = (answer.get("output").is_some(), answer["error"]["message"].is_string());
        assert!(parts.0 != parts.1, "{name}: {answer}");
        self.kept.extend(
            answer["fresh"].as_array().into_iter().flatten().filter_map(Value::as_str).map(str::to_owned),
        );
        if !answer["card"].is_null() {
            self.card = answer["card"].clone();
        }
        answer
    }
}

fn request(name: &str, input: &Value, n: u64) -> String {
    let now_ms = 1_775_000_000_000 + n * 1000;
    json!({"call": name, "input": input, "now_ms": now_ms, "offset_min": 60, "seed": format!("{n:x}")})
        .to_string()
}
