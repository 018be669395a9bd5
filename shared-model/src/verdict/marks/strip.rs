//! A narrow card of marks to print at its true size: beside the sight, on the riser, in the quiver.
//!
//! It is an SVG in mm: a list of distances with their marks, and where the size of the scale's unit is known also a
//! ladder, which laid along the scale shows each distance where its mark is.

use super::MarkSet;
use crate::{chart::escaped, stats::marks::MarkedOn, verdict::units::Units};
use std::fmt::Write as _;

/// Width of the card, of a line, of the letters, and how many letters of small print go into a line.
const WIDE: f64 = 46.0;
const LINE: f64 = 5.2;
const LETTERS: usize = 25;
/// The nearest that two words of the ladder stand to each other.
const APART: f64 = 3.2;
/// The longest ladder, so that a wrong unit makes no roll of paper.
const LONGEST: f64 = 400.0;

/// A card to print.
#[derive(Debug, Clone, Copy)]
pub struct Strip<'a> {
    /// What the bow is called.
    pub bow: &'a str,
    /// The marks.
    pub set: &'a MarkSet,
    /// The day, in words.
    pub day: &'a str,
    /// Size of a unit of the sight's scale in mm.
    pub unit_mm: Option<f64>,
    /// In which units distances are told.
    pub units: Units,
}

impl Strip<'_> {
    /// Returns the card as SVG, its size in mm.
    pub fn svg(&self) -> String {
        let mut body = String::new();
        let mut y = 1.0;
        let mut words = |y: &mut f64, size: f64, bold: bool, text: &str| {
            *y += size * 1.25;
            let weight = if bold { " font-weight=\"bold\"" } else { "" };
            let _ = write!(body, "<text x=\"2\" y=\"{:.2}\" font-size=\"{size}\"{weight}>{}</text>", *y, escaped(text));
        };
        words(&mut y, 4.0, true, &cut(self.bow, 18));
        for line in self.heads() {
            words(&mut y, 2.8, false, &line);
        }
        if self.set.stale.is_some() {
            words(&mut y, 4.0, true, "STALE");
            let why = format!("{}: shoot these marks again", self.set.stale.as_deref().unwrap_or_default());
            for line in wrapped(&why) {
                words(&mut y, 2.8, false, &line);
            }
        }
        y += 1.5;
        let rule = |body: &mut String, y: f64| {
            let _ = write!(
                body,
                "<line x1=\"2\" y1=\"{y:.2}\" x2=\"{:.2}\" y2=\"{y:.2}\" stroke=\"black\" stroke-width=\"0.2\"/>",
                WIDE - 2.0
            );
        };
        rule(&mut body, y);
        for row in &self.set.table {
            y += LINE;
            let Some(mark) = &row.mark else { continue };
            let star = if row.note == Some("beyond your marks") { " *" } else { "" };
            let _ = write!(
                body,
                "<text x=\"2\" y=\"{0:.2}\" font-size=\"3.8\">{1}</text><text x=\"{2:.2}\" y=\"{0:.2}\" font-size=\"3.8\" \
                 font-weight=\"bold\" text-anchor=\"end\">{3}{star}</text>",
                y - 1.2,
                escaped(&row.distance_words),
                WIDE - 2.0,
                escaped(mark)
            );
            rule(&mut body, y);
        }
        if self.set.table.iter().any(|row| row.note == Some("beyond your marks")) {
            y += 3.6;
            let _ = write!(body, "<text x=\"2\" y=\"{y:.2}\" font-size=\"2.6\">* beyond your marks</text>");
        }
        y += 2.0;
        y = self.ladder(&mut body, y);
        framed(&body, y)
    }

    /// Returns the card as a page of its own that prints at true size.
    pub fn html(&self) -> String {
        let title = escaped(&format!("{}, {}", self.bow, self.set.title));
        format!(
            "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{title}</title>\n<style>@page {{ \
             margin: 10mm }} body {{ margin: 0; background: #fff; color: #000 }} svg {{ display: block }}</style>\
             </head>\n<body>{}</body></html>\n",
            self.svg()
        )
    }

    fn heads(&self) -> Vec<String> {
        let mut lines = vec![cut(&self.set.archer_name, LETTERS)];
        if let Some(arrows) = &self.set.arrows_name {
            lines.push(cut(&format!("arrows {arrows}"), LETTERS));
        }
        lines.push(cut(&format!("{}, {}", self.set.what.noun(), self.day), LETTERS));
        lines
    }

    /// Draws the scale at its true size with each distance at its mark; returns where it ends.
    fn ladder(&self, body: &mut String, top: f64) -> f64 {
        let unit = match (self.set.what, self.unit_mm) {
            (MarkedOn::Sight, Some(unit)) if unit > 0.0 => unit,
            // A crawl is in mm by itself.
            (MarkedOn::Crawl, _) => 1.0,
            _ => return top,
        };
        let mut rungs: Vec<(f64, &str)> =
            self.set.table.iter().filter_map(|row| Some((row.value? * unit, row.distance_words.as_str()))).collect();
        rungs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (Some(first), Some(last)) = (rungs.first(), rungs.last()) else { return top };
        let (from, long) = (first.0, last.0 - first.0);
        if long > LONGEST {
            return top;
        }
        let start = top + 4.0;
        let mut free = f64::MIN;
        let _ = write!(
            body,
            "<line x1=\"6\" y1=\"{start:.2}\" x2=\"6\" y2=\"{:.2}\" stroke=\"black\" stroke-width=\"0.3\"/>",
            start + long
        );
        for (mm, words) in rungs {
            let y = start + mm - from;
            let _ = write!(
                body,
                "<line x1=\"2\" y1=\"{y:.2}\" x2=\"10\" y2=\"{y:.2}\" stroke=\"black\" stroke-width=\"0.2\"/>"
            );
            if y - free >= APART {
                let _ = write!(
                    body,
                    "<text x=\"11.5\" y=\"{:.2}\" font-size=\"3\">{}</text>",
                    y + 1.0,
                    escaped(words)
                );
                free = y;
            }
        }
        let end = start + long + 5.0;
        let _ = write!(body, "<text x=\"2\" y=\"{end:.2}\" font-size=\"2.6\">true scale: print at 100 %</text>");
        end + 2.0
    }
}

fn framed(body: &str, high: f64) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"strip\" width=\"{WIDE}mm\" height=\"{high:.1}mm\" viewBox=\"0 0 \
         {WIDE} {high:.1}\" role=\"img\" aria-label=\"A card of marks to print\" font-family=\"sans-serif\">\
         <rect x=\"0.2\" y=\"0.2\" width=\"{:.1}\" height=\"{:.1}\" fill=\"white\" stroke=\"black\" \
         stroke-width=\"0.3\"/>{body}</svg>",
        WIDE - 0.4,
        high - 0.4
    )
}

/// Returns a text of at most so many letters.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most - 1).chain(['\u{2026}']).collect()
}

fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > LETTERS {
            lines.push(cut(word, LETTERS));
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&cut(word, LETTERS));
        }
    }
    lines
}
