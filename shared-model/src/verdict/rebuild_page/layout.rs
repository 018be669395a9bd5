//! What stands where on the sheet: how large the letters are, what is on which page, how high each row is.

use super::{
    MARGIN_MM, Opens, PageAbout,
    letters::{Block, clipped},
};
use crate::{
    qr::Qr,
    verdict::{RebuildRow, RebuildSheet, upper_first},
};

/// Heights of letters in mm at full size.
pub const TITLE: f64 = 5.2;
pub const BIG: f64 = 3.5;
pub const SMALL: f64 = 2.45;
/// How far apart lines stand, in heights of letters.
pub const LEAD: f64 = 1.22;
/// The side of the QR code with its margin, mm.
pub const QR_MM: f64 = 30.0;
/// Widths of the columns but for the last, mm: number, name, as it was, tolerance, measured, right.
pub const COLUMNS: [f64; 6] = [7.5, 32.5, 30.0, 22.0, 28.0, 9.0];
/// Between two columns, and above and below what stands in a row, mm.
pub const GAP: f64 = 2.0;
pub const PAD: f64 = 0.9;
/// The least height of a box that a hand can write into, mm, at full size.
pub const BOX: f64 = 7.0;
/// The line above a row, mm.
const RULE: f64 = 0.2;
/// The heads of the columns, mm.
pub const HEADS: f64 = 5.0;
/// The line for day and name at the foot, mm.
pub const SIGNED: f64 = 9.0;
/// How small letters may get before a second page is better.
const SCALES: [f64; 4] = [1.0, 0.94, 0.88, 0.82];
/// How large letters are where a second page is needed anyway.
const SECOND: f64 = 0.94;

/// A setting on the sheet, in lines.
pub struct Row {
    pub number: usize,
    pub name: Block,
    pub target: Block,
    pub also: Block,
    pub tolerance: Block,
    /// Whose word the tolerance is, where it is the archer's own.
    pub own: bool,
    /// What was measured and by how much it is off; empty where the box is to be written into.
    pub measured: Block,
    pub off: Block,
    pub unit: &'static str,
    pub right: Option<bool>,
    /// What is off above and comes first.
    pub first: Block,
    /// How it is measured, and what it moves.
    pub how: Block,
    pub height: f64,
}

/// The sheet in lines.
pub struct Layout {
    /// How large letters are, of full size.
    pub scale: f64,
    pub title: Block,
    /// The team, the days, what the code opens.
    pub about: Vec<Block>,
    pub code: Option<Qr>,
    pub head: Block,
    pub cautions: Block,
    pub pages: Vec<Vec<Row>>,
    pub foot: Vec<Block>,
}

impl Layout {
    /// Lays a sheet out on paper of this size in mm: on one page where that can be read, else on as many as it takes.
    pub fn of(sheet: &RebuildSheet, about: &PageAbout, [wide, high]: [f64; 2]) -> Self {
        let inner = [wide - 2.0 * MARGIN_MM, high - 2.0 * MARGIN_MM];
        let one = SCALES.iter().map(|scale| Self::at(*scale, sheet, about, inner));
        one.into_iter()
            .find(|layout| layout.pages.len() == 1)
            .unwrap_or_else(|| Self::at(SECOND, sheet, about, inner))
    }

    fn at(scale: f64, sheet: &RebuildSheet, about: &PageAbout, [wide, high]: [f64; 2]) -> Self {
        let (code, opens) = code(&about.opens);
        let beside = if code.is_some() { wide - QR_MM - GAP } else { wide };
        let [title, big, small] = [TITLE, BIG, SMALL].map(|letters| letters * scale);
        let whose = format!("Team {}, printed {} by {}.", about.team, about.day, about.who);
        let noted = sheet.day.as_ref().map(|day| format!("Noted {day}."));
        let note = sheet.note.as_ref().map(|note| format!("Note: {}", clipped(note, 300)));
        let told = [Some(whose), noted, note, Some(opens)].into_iter().flatten();
        let mut layout = Self {
            scale,
            title: Block::of(&format!("Rebuild sheet: {}", clipped(&sheet.title, 160)), title * 1.1, beside),
            about: told.map(|words| Block::of(&clipped(&words, 900), small, beside)).collect(),
            code,
            head: Block::of(&head(sheet), big * 1.1, beside),
            cautions: Block::of(&format!("Care: {}", sheet.cautions.join(" ")), small, wide - 2.0 * GAP),
            pages: Vec::new(),
            foot: foot(sheet).iter().map(|words| Block::of(words, small, wide)).collect(),
        };
        let rows: Vec<Row> =
            sheet.rows.iter().enumerate().map(|(i, row)| self::row(i + 1, row, scale, wide)).collect();
        layout.pages = layout.paged(rows, high);
        layout
    }

    /// Returns how high what stands above the first row of a page is.
    pub fn above(&self, page: usize) -> f64 {
        if page > 0 {
            return self.scale * BIG * LEAD + GAP + HEADS;
        }
        self.header() + self.care() + GAP + HEADS
    }

    /// Returns how high what stands beside the code is, the code included.
    pub fn header(&self) -> f64 {
        let big = self.title.len() as f64 * TITLE + self.head.len() as f64 * BIG;
        let words = (big + height(&self.about) * SMALL) * LEAD * self.scale + GAP;
        words.max(if self.code.is_some() { QR_MM } else { 0.0 }) + GAP
    }

    /// Returns how high the frame of the cautions is.
    pub fn care(&self) -> f64 {
        self.scale * SMALL * LEAD * self.cautions.len() as f64 + 2.0 * PAD
    }

    /// Returns how high what stands below the last row is.
    pub fn below(&self) -> f64 {
        GAP + self.scale * SMALL * LEAD * height(&self.foot) + SIGNED
    }

    fn paged(&self, rows: Vec<Row>, high: f64) -> Vec<Vec<Row>> {
        let mut pages: Vec<Vec<Row>> = vec![Vec::new()];
        let mut left = high - self.above(0) - self.below();
        for row in rows {
            let page = pages.len() - 1;
            if row.height > left && !(pages[page].is_empty() && page > 0) {
                pages.push(Vec::new());
                left = high - self.above(page + 1) - self.below();
            }
            left -= row.height;
            pages.last_mut().expect("there is always a page").push(row);
        }
        pages
    }
}

/// Returns how many lines some blocks have.
fn height(blocks: &[Block]) -> f64 {
    blocks.iter().map(Block::len).sum::<usize>() as f64
}

fn code(opens: &Opens) -> (Option<Qr>, String) {
    match opens {
        Opens::Nothing(why) => (None, why.clone()),
        Opens::Link(link) => match Qr::of(link) {
            Ok(code) => (Some(code), format!("The code opens this bow on a phone of the team: {link}")),
            Err(e) => (None, format!("No code to scan: {}. The link is {link}", e.message)),
        },
    }
}

fn head(sheet: &RebuildSheet) -> String {
    if sheet.rows.iter().any(|row| row.measured.is_some()) {
        return clipped(&sheet.head, 600);
    }
    let what = "Go down the list: what is put right above moves what stands below. Write what you measure into the boxes.";
    if sheet.rows.is_empty() { sheet.head.clone() } else { what.into() }
}

/// Whose word it is, and how to read it.
fn foot(sheet: &RebuildSheet) -> Vec<String> {
    let mut said = vec![format!(
        "Order, tolerances, how a setting is measured and what it moves: {}. What the makers of the parts say comes first.",
        sheet.source
    )];
    said.extend(sheet.own_tolerances.as_ref().map(|own| format!("{own} They are marked \"own\".")));
    if sheet.rows.iter().any(|row| row.also.is_some()) {
        said.push(
            "Small under a length: the nearest sixteenth of an inch, as many bow squares are marked, where that is \
             within the tolerance."
                .into(),
        );
    }
    said
}

fn row(number: usize, row: &RebuildRow, scale: f64, wide: f64) -> Row {
    let (big, small) = (BIG * scale, SMALL * scale);
    let how_wide = wide - COLUMNS.iter().sum::<f64>();
    let column = |i: usize| COLUMNS[i] - GAP;
    // Bold letters are wider.
    let bold = big * 1.1;
    let first = row.first.as_deref().map_or_else(String::new, |first| format!("{}.", upper_first(first)));
    // What is beyond a limit comes before everything.
    let first = row.beyond.iter().cloned().chain([first]).collect::<Vec<_>>().join(" ");
    let short = |words: &str| clipped(words, 110);
    let mut made = Row {
        number,
        name: Block::of(&upper_first(&short(&row.name)), bold, column(1)),
        target: Block::of(&short(&row.target), bold, column(2)),
        also: Block::of(row.also.as_deref().unwrap_or_default(), small, column(2)),
        tolerance: Block::of(&row.tolerance, big, column(3)),
        own: row.tolerance_source == crate::verdict::OWN_TOLERANCE,
        measured: Block::of(&short(row.measured.as_deref().unwrap_or_default()), bold, column(4) - GAP),
        off: Block::of(row.off.as_deref().unwrap_or_default(), small, column(4) - GAP),
        unit: row.unit,
        right: row.ok,
        first: Block::of(&clipped(&first, 400), small * 1.1, how_wide),
        how: Block::of(&how(row), small, how_wide),
        height: 0.0,
    };
    let tall = |bigs: usize, smalls: usize| LEAD * (big * bigs as f64 + small * smalls as f64);
    let highest = [
        tall(made.name.len(), 0),
        tall(made.target.len(), made.also.len()),
        tall(made.tolerance.len(), usize::from(made.own)),
        tall(made.measured.len(), made.off.len()) + 2.0 * PAD,
        tall(0, made.first.len() + made.how.len()),
    ];
    made.height = highest.into_iter().fold(BOX * scale, f64::max) + 2.0 * PAD + RULE;
    made
}

/// Says what there is to know of a setting, how it is measured, and what it moves.
fn how(row: &RebuildRow) -> String {
    let notes: String = row.notes.iter().map(|note| format!("{} ", clipped(note, 200))).collect();
    let moves = match row.disturbs.as_str() {
        "" => String::new(),
        disturbs => format!(" It {disturbs}."),
    };
    format!("{notes}{}{moves}", row.how)
}
