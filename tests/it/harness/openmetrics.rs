//! A strict reader of the text format of OpenMetrics 1.0 (the specification's sections 5 "Data Model" and 6.1 "Text
//! Format"), as far as a service that gives no timestamps and no exemplars needs it.

use std::collections::{BTreeMap, BTreeSet};

/// What was told: the value of each series, by its name with its labels as they are written.
pub type Series = BTreeMap<String, f64>;

/// A family while its lines are read.
#[derive(Default)]
struct Family {
    name: String,
    kind: Option<String>,
    unit: Option<String>,
    help: bool,
    sampled: bool,
    buckets: Vec<(String, f64, f64)>,
}

/// Reads a text; the error names the line.
pub fn read(text: &str) -> Result<Series, String> {
    let body = text.strip_suffix("# EOF\n").ok_or("it does not end with `# EOF` and a line feed")?;
    if !body.is_empty() && !body.ends_with('\n') {
        return Err("the last line is not ended".into());
    }
    let (mut series, mut seen, mut family) = (Series::new(), BTreeSet::new(), Family::default());
    for line in body.lines() {
        let wrong = |why: &str| format!("{why}: {line}");
        if let Some(described) = line.strip_prefix("# ") {
            let mut words = described.splitn(3, ' ');
            let (what, name) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
            if name != family.name {
                family.end()?;
                family = Family::begin(name, &mut seen).map_err(|why| wrong(&why))?;
            }
            family.describe(what, words.next().unwrap_or_default()).map_err(|why| wrong(&why))?;
        } else {
            let (name, labels, value) = sample(line).map_err(|why| wrong(&why))?;
            family.take(name, &labels, value).map_err(|why| wrong(&why))?;
            let key = line[..line.rfind(' ').unwrap_or_default()].to_owned();
            if series.insert(key, value).is_some() {
                return Err(wrong("the series was told already"));
            }
        }
    }
    family.end()?;
    Ok(series)
}

fn is_name(name: &str) -> bool {
    let first = |c: char| c.is_ascii_alphabetic() || c == '_' || c == ':';
    name.starts_with(first) && name.chars().all(|c| first(c) || c.is_ascii_digit())
}

impl Family {
    fn begin(name: &str, seen: &mut BTreeSet<String>) -> Result<Self, String> {
        if !is_name(name) {
            return Err("this is no name of a family".into());
        }
        if !seen.insert(name.to_owned()) {
            return Err("the family was told already".into());
        }
        Ok(Self { name: name.to_owned(), ..Self::default() })
    }

    fn describe(&mut self, what: &str, text: &str) -> Result<(), String> {
        let kinds = ["counter", "gauge", "histogram", "info", "unknown"];
        let twice = match what {
            _ if self.sampled => return Err("a description stands behind samples".into()),
            "TYPE" if kinds.contains(&text) => self.kind.replace(text.to_owned()).is_some(),
            "UNIT" if self.name.ends_with(&format!("_{text}")) => {
                self.unit.replace(text.to_owned()).is_some()
            }
            "HELP" if !text.is_empty() => std::mem::replace(&mut self.help, true),
            _ => return Err("this is no description of the family".into()),
        };
        if twice { Err("it is described twice".into()) } else { Ok(()) }
    }

    fn take(&mut self, name: &str, labels: &[(String, String)], value: f64) -> Result<(), String> {
        self.sampled = true;
        let suffix = name.strip_prefix(&self.name).ok_or("the sample is of another family")?;
        let kind = self.kind.as_deref().ok_or("the family has no type")?;
        let allowed: &[&str] = match kind {
            "counter" => &["_total"],
            "histogram" => &["_bucket", "_sum", "_count"],
            "info" => &["_info"],
            _ => &[""],
        };
        if !allowed.contains(&suffix) {
            return Err(format!("a {kind} has no `{suffix}`"));
        }
        let counts = matches!(suffix, "_total" | "_bucket" | "_count");
        if counts && value < 0.0 || kind == "info" && value != 1.0 || value.is_nan() {
            return Err(format!("a {kind} is never {value}"));
        }
        if kind == "histogram" {
            return self.bucket(suffix, labels, value);
        }
        match labels.iter().any(|(name, _)| name == "le") {
            true => Err("only a histogram has `le`".into()),
            false => Ok(()),
        }
    }

    /// Buckets rise with their edges and end with +Inf, which is the count.
    fn bucket(&mut self, suffix: &str, labels: &[(String, String)], value: f64) -> Result<(), String> {
        let rest: Vec<String> =
            labels.iter().filter(|(n, _)| n != "le").map(|(n, v)| format!("{n}={v}")).collect();
        let (rest, edge) = (rest.join(","), labels.iter().find(|(n, _)| n == "le").map(|(_, v)| v));
        let last = self.buckets.iter().rfind(|(of, ..)| *of == rest).cloned();
        match (suffix, edge) {
            ("_bucket", Some(edge)) => {
                let edge = number(edge).ok_or("an edge is a number")?;
                if last.is_some_and(|(_, before, count)| before >= edge || count > value) {
                    return Err("buckets rise".into());
                }
                self.buckets.push((rest, edge, value));
                Ok(())
            }
            ("_count", None) => match last {
                Some((_, edge, count)) if edge != f64::INFINITY || count != value => {
                    Err("the last bucket is +Inf and holds all".into())
                }
                _ => Ok(()),
            },
            ("_sum", None) => Ok(()),
            _ => Err("a bucket has `le`, and nothing else has".into()),
        }
    }

    fn end(&self) -> Result<(), String> {
        let ends = |of: &str| self.buckets.iter().rfind(|(name, ..)| name == of).map(|b| b.1);
        match self.buckets.iter().find(|(of, ..)| ends(of) != Some(f64::INFINITY)) {
            Some((of, ..)) => Err(format!("{} of {of} has no bucket +Inf", self.name)),
            None if !self.name.is_empty() && self.kind.is_none() => Err(format!("{} has no type", self.name)),
            None => Ok(()),
        }
    }
}

fn number(text: &str) -> Option<f64> {
    match text {
        "+Inf" => Some(f64::INFINITY),
        "-Inf" => Some(f64::NEG_INFINITY),
        "NaN" => Some(f64::NAN),
        text => {
            text.parse().ok().filter(|_| text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b)))
        }
    }
}

/// Reads a line `name{label="value",…} number`.
#[allow(clippy::type_complexity)]
fn sample(line: &str) -> Result<(&str, Vec<(String, String)>, f64), String> {
    let (series, value) = line.rsplit_once(' ').ok_or("there is no value")?;
    let value = number(value).ok_or("this is no number")?;
    let (name, labels) = match series.split_once('{') {
        None => (series, Vec::new()),
        Some((name, rest)) => (name, labels(rest.strip_suffix('}').ok_or("the labels do not end")?)?),
    };
    if is_name(name) { Ok((name, labels, value)) } else { Err("this is no name".into()) }
}

fn labels(mut text: &str) -> Result<Vec<(String, String)>, String> {
    let mut found: Vec<(String, String)> = Vec::new();
    loop {
        let (name, rest) = text.split_once("=\"").ok_or("a label has no value")?;
        if !is_name(name) || name.contains(':') || found.iter().any(|(n, _)| n == name) {
            return Err(format!("`{name}` is no label, or stands twice"));
        }
        let (mut value, mut chars) = (String::new(), rest.char_indices());
        let end = loop {
            match chars.next() {
                Some((at, '"')) => break at,
                Some((_, '\\')) => match chars.next() {
                    Some((_, c @ ('\\' | '"' | 'n'))) => value.extend(['\\', c]),
                    _ => return Err("this is no escape".into()),
                },
                Some((_, c)) => value.push(c),
                None => return Err("a value does not end".into()),
            }
        };
        found.push((name.to_owned(), value));
        match &rest[end + 1..] {
            "" => return Ok(found),
            more => text = more.strip_prefix(',').ok_or("labels are parted by commas")?,
        }
    }
}

#[test]
fn the_reader_takes_what_is_right_and_nothing_else() {
    let good = "# HELP a_b What.\n# TYPE a_b counter\na_b_total{x=\"1\",y=\"\\\"\"} 3\na_b_total{x=\"2\"} 4\n\
                # TYPE h_seconds histogram\n# UNIT h_seconds seconds\nh_seconds_sum 2.5\n\
                h_seconds_bucket{le=\"1.0\"} 1\nh_seconds_bucket{le=\"+Inf\"} 2\nh_seconds_count 2\n# EOF\n";
    assert_eq!(read(good).expect("it is right").get("a_b_total{x=\"2\"}"), Some(&4.0));
    for (part, put) in [
        ("# EOF\n", ""),
        ("# EOF\n", "# EOF\n\n"),
        ("a_b_total{x=\"2\"}", "a_b{x=\"2\"}"),
        ("a_b_total{x=\"2\"} 4", "a_b_total{x=\"2\"} four"),
        ("a_b_total{x=\"2\"} 4", "a_b_total{x=\"2\"} -4"),
        ("a_b_total{x=\"2\"} 4", "a_b_total{x=\"2\",} 4"),
        ("a_b_total{x=\"2\"} 4", "a_b_total{x=\"1\",y=\"\\\"\"} 4"),
        ("x=\"2\"", "x=\"2\",x=\"3\""),
        ("x=\"2\"", "x=\"\\2\""),
        ("# TYPE a_b counter\n", ""),
        ("# TYPE a_b counter\n", "# TYPE a_b counter\n# TYPE a_b counter\n"),
        ("# TYPE h_seconds histogram", "# TYPE a_b histogram"),
        ("# UNIT h_seconds seconds", "# UNIT h_seconds bytes"),
        ("le=\"+Inf\"} 2", "le=\"+Inf\"} 0"),
        ("h_seconds_bucket{le=\"+Inf\"} 2\n", ""),
        ("h_seconds_count 2", "h_seconds_count 3"),
        ("h_seconds_sum 2.5", "h_seconds_sum 2.5 "),
        ("h_seconds_sum 2.5\n", "\nh_seconds_sum 2.5\n"),
    ] {
        let bad = good.replacen(part, put, 1);
        assert!(bad != good && read(&bad).is_err(), "{part:?} as {put:?} is taken");
    }
}
