//! The rebuild sheet as SVG: a picture a page, in mm of the paper, black on white.

use super::{
    MARGIN_MM, PageAbout,
    layout::{BIG, COLUMNS, GAP, HEADS, LEAD, Layout, PAD, QR_MM, Row, SMALL, TITLE},
    letters::{Block, clipped, width_mm},
};
use crate::{chart::escaped, verdict::RebuildSheet};
use std::fmt::Write as _;

/// The heads of the columns.
pub const COLUMN_HEADS: [&str; 7] =
    ["", "setting", "as it was", "tolerance", "measured", "right", "how, and what it moves"];

/// Draws the sheet, a text a page.
pub fn rebuild_svg(sheet: &RebuildSheet, about: &PageAbout) -> Vec<String> {
    let size = about.paper.size_mm();
    let layout = Layout::of(sheet, about, size);
    (0..layout.pages.len()).map(|page| Sheet::new(&layout, size, page, &sheet.title).drawn(page)).collect()
}

/// A page under way: where the next line goes, from the top.
struct Sheet<'a> {
    layout: &'a Layout,
    text: String,
    right: f64,
    y: f64,
}

impl<'a> Sheet<'a> {
    fn new(layout: &'a Layout, [wide, high]: [f64; 2], page: usize, title: &str) -> Self {
        let title = escaped(&clipped(title, 160));
        let of = layout.pages.len();
        let text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" \
             height=\"{high}mm\" viewBox=\"0 0 {wide} {high}\" font-family=\"Helvetica, Arial, 'Liberation Sans', \
             sans-serif\" fill=\"#000\"><style>@page {{ size: {wide}mm {high}mm; margin: 0; }}</style><title>Rebuild sheet: {title}, page {} of {of}</title><path fill=\"#fff\" \
             d=\"M0 0h{wide}v{high}h-{wide}z\"/>",
            page + 1
        );
        Self { layout, text, right: wide - MARGIN_MM, y: MARGIN_MM }
    }

    fn drawn(mut self, page: usize) -> String {
        if page == 0 {
            self.top()
        } else {
            self.goes_on(page)
        }
        self.heads();
        for row in &self.layout.pages[page] {
            self.row(row);
        }
        self.rule(0.3);
        let last = page + 1 == self.layout.pages.len();
        if last {
            self.foot();
        } else {
            self.y += GAP;
            let words = format!("It continues on page {} of {}.", page + 2, self.layout.pages.len());
            self.line(MARGIN_MM, self.size(BIG), true, &words);
        }
        self.text.push_str("</svg>\n");
        self.text
    }

    fn size(&self, letters: f64) -> f64 {
        self.layout.scale * letters
    }

    /// Writes words with their upper edge at a height.
    fn words(&mut self, [x, y]: [f64; 2], letters: f64, bold: bool, words: &str) {
        let bold = if bold { " font-weight=\"bold\"" } else { "" };
        let (x, y, letters) = (hundredths(x), hundredths(y + 0.92 * letters), hundredths(letters));
        let words = escaped(words);
        let _ = write!(self.text, "<text x=\"{x}\" y=\"{y}\" font-size=\"{letters}\"{bold}>{words}</text>");
    }

    /// Writes a line and goes on below it.
    fn line(&mut self, x: f64, letters: f64, bold: bool, words: &str) {
        self.words([x, self.y], letters, bold, words);
        self.y += letters * LEAD;
    }

    /// Writes lines below one another from a height; returns the height below them.
    fn block(&mut self, [x, y]: [f64; 2], letters: f64, bold: bool, block: &Block) -> f64 {
        for (i, words) in block.lines.iter().enumerate() {
            self.words([x, y + i as f64 * letters * LEAD], letters, bold, words);
        }
        y + block.len() as f64 * letters * LEAD
    }

    /// Writes small blocks below one another from a height; returns the height below them.
    fn blocks(&mut self, y: f64, blocks: &[Block]) -> f64 {
        let small = self.size(SMALL);
        blocks.iter().fold(y, |y, block| self.block([MARGIN_MM, y], small, false, block))
    }

    fn frame(&mut self, [x, y]: [f64; 2], [wide, high]: [f64; 2], thick: f64) {
        let [x, y, wide, high] = [x, y, wide, high].map(hundredths);
        let _ = write!(
            self.text,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{wide}\" height=\"{high}\" fill=\"none\" stroke=\"#000\" \
             stroke-width=\"{thick}\"/>"
        );
    }

    fn stroke(&mut self, points: &str, thick: f64) {
        let _ = write!(
            self.text,
            "<path d=\"{points}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{thick}\"/>"
        );
    }

    fn rule(&mut self, thick: f64) {
        let (y, right) = (hundredths(self.y), hundredths(self.right));
        self.stroke(&format!("M{MARGIN_MM} {y}H{right}"), thick);
    }

    fn top(&mut self) {
        let layout = self.layout;
        let begin = self.y;
        if let Some(code) = &layout.code {
            let corner = [self.right - QR_MM, begin];
            self.text.push_str(&code.svg_at("QR code that opens this bow", corner, QR_MM));
        }
        let below = self.block([MARGIN_MM, begin], self.size(TITLE), true, &layout.title);
        let below = self.blocks(below, &layout.about) + GAP;
        self.block([MARGIN_MM, below], self.size(BIG), true, &layout.head);
        self.y = begin + layout.header();
        self.frame([MARGIN_MM, self.y], [self.right - MARGIN_MM, layout.care()], 0.3);
        self.block([MARGIN_MM + GAP, self.y + PAD], self.size(SMALL), false, &layout.cautions);
        self.y += layout.care() + GAP;
    }

    fn goes_on(&mut self, page: usize) {
        let title = self.layout.title.lines.first().cloned().unwrap_or_default();
        let words = format!("{title}, page {} of {}", page + 1, self.layout.pages.len());
        self.line(MARGIN_MM, self.size(BIG), true, &words);
        self.y += GAP;
    }

    fn heads(&mut self) {
        for (i, head) in COLUMN_HEADS.iter().enumerate() {
            self.words([left(i), self.y + 1.0], self.size(SMALL), false, head);
        }
        self.y += HEADS;
    }

    fn row(&mut self, row: &Row) {
        self.rule(0.15);
        let (big, small) = (self.size(BIG), self.size(SMALL));
        let y = self.y + PAD;
        self.words([left(0), y], big, false, &format!("{}.", row.number));
        self.block([left(1), y], big, true, &row.name);
        let below = self.block([left(2), y], big, true, &row.target);
        self.block([left(2), below], small, false, &row.also);
        let below = self.block([left(3), y], big, false, &row.tolerance);
        if row.own {
            self.words([left(3), below], small, true, "own");
        }
        self.measured(row);
        let below = self.block([left(6), y], small, true, &row.first);
        self.block([left(6), below], small, false, &row.how);
        self.y += row.height;
    }

    /// Draws the box for what is measured, with what was, and the one to tick.
    fn measured(&mut self, row: &Row) {
        let (big, small) = (self.size(BIG), self.size(SMALL));
        let [x, y] = [left(4), self.y + PAD];
        let [wide, high] = [COLUMNS[4] - GAP, row.height - 2.0 * PAD];
        self.frame([x, y], [wide, high], 0.3);
        if row.measured.is_empty() {
            let at = [x + wide - 1.0 - width_mm(row.unit, small), y + high - 1.1 * small];
            self.words(at, small, false, row.unit);
        } else {
            let below = self.block([x + 1.0, y + PAD], big, true, &row.measured);
            self.block([x + 1.0, below], small, false, &row.off);
        }
        let side = 4.6;
        let [x, y] = [left(5) + 1.0, self.y + 0.5 * (row.height - side)];
        self.frame([x, y], [side, side], 0.3);
        let at = |dx: f64, dy: f64| format!("{} {}", hundredths(x + dx), hundredths(y + dy));
        match row.right {
            Some(true) => self.stroke(&format!("M{}L{}L{}", at(0.8, 2.4), at(1.9, 3.7), at(3.9, 0.9)), 0.6),
            Some(false) => {
                let cross = format!("M{}L{}M{}L{}", at(0.9, 0.9), at(3.7, 3.7), at(3.7, 0.9), at(0.9, 3.7));
                self.stroke(&cross, 0.6);
            }
            None => {}
        }
    }

    fn foot(&mut self) {
        self.y += GAP;
        self.y = self.blocks(self.y, &self.layout.foot);
        self.y += 4.0;
        let third = (self.right - MARGIN_MM) / 3.0;
        for (i, words) in ["Measured on", "by", "all right on"].iter().enumerate() {
            let x = MARGIN_MM + third * i as f64;
            self.words([x, self.y], self.size(BIG), false, words);
            let from = x + 1.5 + width_mm(words, self.size(BIG));
            let (y, to) = (hundredths(self.y + self.size(BIG)), hundredths(x + third - GAP));
            self.stroke(&format!("M{} {y}H{to}", hundredths(from)), 0.2);
        }
    }
}

/// Returns where a column begins.
fn left(column: usize) -> f64 {
    MARGIN_MM + COLUMNS[..column].iter().sum::<f64>()
}

/// Returns a number in hundredths.
fn hundredths(value: f64) -> f64 {
    libm::round(value * 100.0) / 100.0
}
