//! Changes inputs where they are JSON or a table, so that what is changed is still read; `tests/fuzz` and the suite
//! put these beside changes of single bytes.

use serde_json::{Value, json};
use sheaf_model::rng::{Rng, Seed};

/// Numbers and words that come nearest to going wrong.
const WORDS: &[&str] = &[
    "0",
    "-0.0",
    "1",
    "-1",
    "0.5",
    "3",
    "100",
    "1000",
    "1e-300",
    "5e-324",
    "1e155",
    "-1e155",
    "1e308",
    "18446744073709551615",
    "4294967295",
    "4294967296",
    "",
    "M",
    "X",
    "nan",
    "yes",
    "=1",
    "'=1",
    "1/2in",
    "-",
    "é",
    "\u{202e}",
    "30m",
    "20yd",
    "10@12",
    "9@4:30!",
    "3:12,-31",
    "1,2;-3,1cm",
    "wa_80",
    "field_80",
    "2026-04-12",
    "2026-04-12T10:00:00Z",
    "2026-04-12T10:00:00+02:00",
    "03/04/2026",
    "10:30",
    "left",
    "a\"b",
    "a,b;c",
    "#1",
    "#2",
    "shaft.x.y",
    "carbon",
    "2500",
    "40lbf",
];

/// Returns an input that differs from this one in one to three places; the same for the same seed.
pub fn mutated(input: &[u8], seed: u64) -> Vec<u8> {
    let mut rng = Rng::new(Seed(seed));
    let mut bytes = input.to_vec();
    for _ in 0..1 + rng.below(3) {
        bytes = one(&bytes, &mut rng);
    }
    bytes
}

fn one(bytes: &[u8], rng: &mut Rng) -> Vec<u8> {
    let Ok(text) = std::str::from_utf8(bytes) else { return byte(bytes, rng) };
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let at = pick(lines.len(), rng);
    match rng.below(12) {
        0 => return byte(bytes, rng),
        1 => drop(lines.remove(at)),
        2 => lines.insert(pick(lines.len(), rng), lines[at].clone()),
        3 => {
            let other = pick(lines.len(), rng);
            lines.swap(at, other);
        }
        _ => lines[at] = line(&lines[at], rng),
    }
    lines.join("\n").into_bytes()
}

fn pick(of: usize, rng: &mut Rng) -> usize {
    rng.below(of.max(1) as u64) as usize
}

fn word(rng: &mut Rng) -> &'static str {
    WORDS[pick(WORDS.len(), rng)]
}

fn byte(bytes: &[u8], rng: &mut Rng) -> Vec<u8> {
    let at = pick(bytes.len(), rng);
    let end = (at + 1 + pick(8, rng)).min(bytes.len());
    let mut out = bytes.to_vec();
    match rng.below(4) {
        _ if bytes.is_empty() => out.extend_from_slice(word(rng).as_bytes()),
        0 => out[at] ^= 1 << rng.below(8),
        1 => drop(out.drain(at..end)),
        2 => drop(out.splice(at..at, word(rng).bytes())),
        _ => drop(out.splice(at..at, bytes[at..end].to_vec())),
    }
    out
}

/// Changes the JSON at the end of a line, or a cell of one without any.
fn line(line: &str, rng: &mut Rng) -> String {
    if let Some(start) = line.find(['{', '['])
        && let Ok(mut value) = serde_json::from_str::<Value>(&line[start..])
    {
        let whole = value.clone();
        node(&mut value, &whole, rng);
        return format!("{}{value}", &line[..start]);
    }
    let separator = [',', ';', '\t', ' '].into_iter().find(|s| line.contains(*s)).unwrap_or(',');
    let mut cells: Vec<&str> = line.split(separator).collect();
    let (at, from) = (pick(cells.len(), rng), pick(cells.len(), rng));
    match rng.below(6) {
        0 => cells.insert(at, word(rng)),
        1 => drop(cells.remove(at)),
        2 => cells[at] = cells[from],
        3 => cells.swap(at, from),
        _ => cells[at] = word(rng),
    }
    cells.join(&separator.to_string())
}

/// Walks down to any place of a value and changes what stands there; `whole` lends parts of itself.
fn node(value: &mut Value, whole: &Value, rng: &mut Rng) {
    let deeper = rng.below(5) > 0;
    match value {
        Value::Array(list) if !list.is_empty() => {
            let at = pick(list.len(), rng);
            if deeper {
                return node(&mut list[at], whole, rng);
            }
            match rng.below(5) {
                0 => drop(list.remove(at)),
                1 => list.push(list[at].clone()),
                2 => list.truncate(at),
                3 => {
                    for _ in 0..rng.below(40) {
                        list.push(list[at].clone());
                    }
                }
                _ => *value = other(whole, rng),
            }
        }
        Value::Object(map) if !map.is_empty() => {
            let name = map.keys().nth(pick(map.len(), rng)).cloned().unwrap_or_default();
            match (deeper, rng.below(3)) {
                (true, _) => {
                    if let Some(inner) = map.get_mut(&name) {
                        node(inner, whole, rng);
                    }
                }
                (false, 0) => drop(map.remove(&name)),
                (false, 1) => drop(map.insert(name, other(whole, rng))),
                _ => *value = other(whole, rng),
            }
        }
        Value::Number(n) if rng.below(2) == 0 => {
            let number = n.as_f64().unwrap_or_default();
            let factor = [-1.0, 0.0, 0.5, 2.0, 10.0, 1e-9, 1e9, 1.0 + 1e-15][pick(8, rng)];
            let whole = number * factor == (number * factor) as i64 as f64;
            *value = if whole { json!((number * factor) as i64) } else { json!(number * factor) };
        }
        _ => *value = other(whole, rng),
    }
}

/// Returns a word, a number, or a part of the whole.
fn other(whole: &Value, rng: &mut Rng) -> Value {
    match rng.below(8) {
        0 => Value::Null,
        1 => json!(rng.below(30)),
        2 => json!([]),
        3 | 4 => {
            let mut part = whole;
            for _ in 0..1 + rng.below(4) {
                part = match part {
                    Value::Array(list) if !list.is_empty() => &list[pick(list.len(), rng)],
                    Value::Object(map) if !map.is_empty() => {
                        map.values().nth(pick(map.len(), rng)).unwrap_or(part)
                    }
                    leaf => leaf,
                };
            }
            part.clone()
        }
        _ => {
            let word = word(rng);
            serde_json::from_str(word).unwrap_or_else(|_| Value::from(word))
        }
    }
}
