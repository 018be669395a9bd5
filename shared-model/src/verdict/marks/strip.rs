//! A narrow card of marks to print at its true size: beside the sight, on the riser, in the quiver.
//!
//! It is an SVG in mm: a list of distances with their marks, and where the size of the scale's unit is known also a
//! ladder, which laid along the scale shows each distance where its mark is.

use super::{MarkSet, TableRow, words::GUESS};
use crate::{
    chart::escaped,
    stats::marks::{MarkedOn, Place},
    verdict::units::Units,
};
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
        let mut card = Card { body: String::new(), y: 1.0 };
        card.words(4.0, true, &cut(self.bow, 18));
        for line in self.heads() {
            card.words(2.8, false, &line);
        }
        if let Some(stale) = &self.set.stale {
            card.words(4.0, true, "STALE");
            for line in wrapped(&format!("{stale}: all marks below are of the old setup, shoot them again")) {
                card.words(2.8, false, &line);
            }
        }
        card.y += 1.5;
        card.rule();
        let mut signs: Vec<(&str, &str)> = Vec::new();
        for row in &self.set.table {
            let Some(mark) = &row.mark else { continue };
            let sign = sign(row);
            card.row(&row.distance_words, &format!("{mark}{}", sign.map_or("", |(sign, _)| sign)));
            signs.extend(sign.filter(|sign| !signs.contains(sign)));
        }
        for (_, words) in signs {
            for line in wrapped(words) {
                card.words(2.8, false, &line);
            }
        }
        card.y += 2.0;
        self.ladder(&mut card);
        card.framed()
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
        lines.push(cut(self.set.what.noun(), LETTERS));
        if let Some(newest) = self.set.marks.iter().rev().find_map(|mark| mark.day.as_deref()) {
            lines.extend(wrapped(&format!("newest mark {newest}")));
        }
        if !self.day.is_empty() {
            lines.extend(wrapped(&format!("printed {}", self.day)));
        }
        lines
    }

    /// Draws the scale at its true size with each distance at its mark.
    fn ladder(&self, card: &mut Card) {
        let unit = match (self.set.what, self.unit_mm) {
            (MarkedOn::Sight, Some(unit)) if unit > 0.0 => unit,
            // A crawl is in mm by itself.
            (MarkedOn::Crawl, _) => 1.0,
            _ => return,
        };
        let rows = self.set.table.iter();
        let mut rungs: Vec<(f64, &str)> =
            rows.filter_map(|row| Some((row.value? * unit, row.distance_words.as_str()))).collect();
        rungs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (Some(first), Some(last)) = (rungs.first(), rungs.last()) else { return };
        let (from, long) = (first.0, last.0 - first.0);
        if long > LONGEST {
            return;
        }
        let start = card.y + 4.0;
        card.line([6.0, start], [6.0, start + long]);
        let mut last = f64::MIN;
        for (mm, words) in rungs {
            let y = start + mm - from;
            card.line([2.0, y], [10.0, y]);
            if y - last >= APART {
                card.text([11.5, y + 1.0], "font-size=\"3\"", words);
                last = y;
            }
        }
        card.y = start + long + 2.0;
        card.words(2.6, false, "true scale: print at 100 %");
        card.y += 2.0;
    }
}

/// Returns the sign beside a mark that was not found, and what it stands for at the foot.
fn sign(row: &TableRow) -> Option<(&'static str, &'static str)> {
    match (row.place, row.note) {
        (Place::Beyond, _) => Some((" *", "* beyond your marks")),
        (_, Some(GUESS)) => Some((" ~", "~ not found: between the marks beside it, no fit, may be far off")),
        _ => None,
    }
}

/// A card under way.
struct Card {
    body: String,
    y: f64,
}

impl Card {
    fn text(&mut self, [x, y]: [f64; 2], how: &str, text: &str) {
        let _ = write!(self.body, "<text x=\"{x:.2}\" y=\"{y:.2}\" {how}>{}</text>", escaped(text));
    }

    fn line(&mut self, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) {
        let _ = write!(
            self.body,
            "<line x1=\"{x1}\" y1=\"{y1:.2}\" x2=\"{x2}\" y2=\"{y2:.2}\" stroke=\"black\" stroke-width=\"0.2\"/>"
        );
    }

    fn words(&mut self, size: f64, bold: bool, text: &str) {
        self.y += 1.25 * size;
        let weight = if bold { " font-weight=\"bold\"" } else { "" };
        self.text([2.0, self.y], &format!("font-size=\"{size}\"{weight}"), text);
    }

    fn row(&mut self, distance: &str, mark: &str) {
        self.y += LINE;
        let y = self.y - 1.2;
        self.text([2.0, y], "font-size=\"3.8\"", distance);
        self.text([WIDE - 2.0, y], "font-size=\"3.8\" font-weight=\"bold\" text-anchor=\"end\"", mark);
        self.rule();
    }

    fn rule(&mut self) {
        self.line([2.0, self.y], [WIDE - 2.0, self.y]);
    }

    fn framed(&self) -> String {
        let (high, body) = (self.y, &self.body);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"strip\" width=\"{WIDE}mm\" height=\"{high:.1}mm\" \
             viewBox=\"0 0 {WIDE} {high:.1}\" role=\"img\" aria-label=\"A card of marks to print\" \
             font-family=\"sans-serif\"><rect x=\"0.2\" y=\"0.2\" width=\"{:.1}\" height=\"{:.1}\" fill=\"white\" \
             stroke=\"black\" stroke-width=\"0.3\"/>{body}</svg>",
            WIDE - 0.4,
            high - 0.4
        )
    }
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
