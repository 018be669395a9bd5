//! QR codes (ISO/IEC 18004): a short text, such as the link of an invite, as a phone's camera reads it.

use crate::{ModelError, chart::escaped};
use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// How many light modules a reader wants around a code (ISO/IEC 18004, 5.3.8).
pub const MARGIN: usize = 4;

/// The most bytes of a text: a longer one makes a code too dense for a phone's camera.
pub const MOST_BYTES: usize = 600;

/// A QR code: a square of modules that are dark or light.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Qr {
    size: usize,
    dark: Vec<bool>,
}

impl Qr {
    /// Makes the smallest code of a text that can still be read with 15 % of it hidden.
    ///
    /// # Errors
    /// `no_text` for an empty text, `too_long` for one of more than [`MOST_BYTES`].
    pub fn of(text: &str) -> Result<Self, ModelError> {
        if text.is_empty() {
            return Err(ModelError::new("no_text", "there is no text to make a QR code of").at("text"));
        }
        let too_long = || {
            let message =
                format!("a QR code holds at most {MOST_BYTES} bytes here, and the text has {}", text.len());
            ModelError::new("too_long", message).at("text")
        };
        if text.len() > MOST_BYTES {
            return Err(too_long());
        }
        let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| too_long())?;
        let dark = code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect();
        Ok(Self { size: code.width(), dark })
    }

    /// Returns how many modules a side has, the margins not counted.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Returns whether a module is dark; counted from the upper left, margins first, and light where there is none.
    fn dark(&self, row: usize, column: usize) -> bool {
        match (row.checked_sub(MARGIN), column.checked_sub(MARGIN)) {
            (Some(row), Some(column)) if row < self.size && column < self.size => {
                self.dark[row * self.size + column]
            }
            _ => false,
        }
    }

    /// Draws the code as SVG: a light ground and one path of dark runs, in black on white whatever the page's colours
    /// are, since a reader wants them so. `label` is what the picture is, in words.
    pub fn svg(&self, label: &str) -> String {
        self.drawn("", label)
    }

    /// Draws the code as [`svg`](Self::svg) does, within another picture: at a corner, `wide` on a side, margins included.
    pub fn svg_at(&self, label: &str, [x, y]: [f64; 2], wide: f64) -> String {
        self.drawn(&format!(" x=\"{x:.2}\" y=\"{y:.2}\" width=\"{wide:.2}\" height=\"{wide:.2}\""), label)
    }

    fn drawn(&self, place: &str, label: &str) -> String {
        let side = self.size + 2 * MARGIN;
        let mut path = String::new();
        for row in 0..side {
            let mut column = 0;
            while column < side {
                let run = (column..side).take_while(|c| self.dark(row, *c)).count();
                if run > 0 {
                    let _ = write!(path, "M{column} {row}h{run}v1h-{run}z");
                }
                column += run.max(1);
            }
        }
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\"{place} class=\"chart qr\" viewBox=\"0 0 {side} {side}\" role=\"img\" \
             aria-label=\"{}\" shape-rendering=\"crispEdges\"><path class=\"qr-ground\" fill=\"#fff\" \
             d=\"M0 0h{side}v{side}h-{side}z\"/><path class=\"qr-dark\" fill=\"#000\" d=\"{path}\"/></svg>",
            escaped(label)
        )
    }

    /// Draws the code as lines of text, two rows of modules a line: light modules are blocks, dark ones the ground, as a
    /// terminal with light letters on a dark ground shows them. Every line is `size() + 2 * MARGIN` wide.
    pub fn lines(&self) -> Vec<String> {
        let side = self.size + 2 * MARGIN;
        let block = |row: usize, column: usize| match (self.dark(row, column), self.dark(row + 1, column)) {
            (true, true) => ' ',
            (true, false) => '▄',
            (false, true) => '▀',
            (false, false) => '█',
        };
        (0..side).step_by(2).map(|row| (0..side).map(|column| block(row, column)).collect()).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_code_has_its_three_corners_and_its_margin() {
        let code = Qr::of("https://range.example/#join=AB12").unwrap();
        // The versions of the standard have 21, 25, 29 … modules a side.
        assert_eq!(code.size() % 4, 1);
        let far = MARGIN + code.size() - 7;
        for (row, column) in [(MARGIN, MARGIN), (MARGIN, far), (far, MARGIN)] {
            let ring: Vec<bool> = (0..7).map(|n| code.dark(row + 3, column + n)).collect();
            assert_eq!(ring, [true, false, true, true, true, false, true], "the finder at {row}, {column}");
        }
        let side = code.size() + 2 * MARGIN;
        assert!((0..side).all(|n| !code.dark(n, MARGIN - 1) && !code.dark(side - MARGIN, n)));
    }

    #[test]
    fn lines_and_picture_have_the_same_modules() {
        let code = Qr::of("sheaf").unwrap();
        let side = code.size() + 2 * MARGIN;
        let lines = code.lines();
        assert_eq!((lines.len(), lines[0].chars().count()), (side.div_ceil(2), side));
        let from_lines: usize = lines
            .iter()
            .flat_map(|l| l.chars())
            .map(|c| match c {
                ' ' => 2,
                '█' => 0,
                _ => 1,
            })
            .sum();
        let svg = code.svg("a <code> & more");
        assert!(svg.contains("aria-label=\"a &lt;code&gt; &amp; more\""), "{svg}");
        let runs = svg
            .split('M')
            .skip(2)
            .filter_map(|run| run.split('h').nth(1)?.split('v').next()?.parse::<usize>().ok());
        let dark = code.dark.iter().filter(|dark| **dark).count();
        // An odd side leaves a half line below, which is light.
        assert_eq!((from_lines, runs.sum::<usize>()), (dark, dark));
    }

    #[test]
    fn a_text_that_fits_in_no_code_is_told_so() {
        assert_eq!(Qr::of("").unwrap_err().code, "no_text");
        assert!(Qr::of(&"x".repeat(MOST_BYTES)).is_ok());
        let told = Qr::of(&"x".repeat(MOST_BYTES + 1)).unwrap_err();
        assert_eq!((told.code, told.field.as_deref()), ("too_long", Some("text")));
    }
}
