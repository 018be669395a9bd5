//! The rebuild sheet on paper: to print, to write on, to keep in the case. As HTML with a print style, and as SVG of true
//! size, which prints without a browser. What one page does not hold goes on on a second.

mod html;
mod layout;
mod letters;
mod svg;

pub use html::rebuild_html;
pub use svg::rebuild_svg;

use crate::ModelError;

/// A size of paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8 1/2 by 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

/// How far from the edges of the paper nothing is printed, mm: printers need some.
const MARGIN_MM: f64 = 10.0;

impl Paper {
    /// Returns width and height in mm.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// What stands on the sheet beside the settings.
#[derive(Debug, Clone)]
pub struct PageAbout {
    /// The team.
    pub team: String,
    /// Who prints it.
    pub who: String,
    /// The day on which that is.
    pub day: String,
    /// What the QR code opens.
    pub opens: Opens,
    /// The paper; HTML fits either.
    pub paper: Paper,
}

/// What the QR code of a sheet opens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opens {
    /// A link.
    Link(String),
    /// Nothing, and why that is so, in a whole sentence for the paper.
    Nothing(String),
}

impl Opens {
    /// Takes a link that somebody typed.
    ///
    /// # Errors
    /// `bad_link` for what is no address of the web.
    pub fn link(typed: &str) -> Result<Self, ModelError> {
        let typed = typed.trim();
        let begins = ["https://", "http://"].iter().any(|scheme| {
            typed.get(..scheme.len()).is_some_and(|head| head.eq_ignore_ascii_case(scheme))
                && typed.len() > scheme.len()
        });
        if !begins || typed.contains(|c: char| c.is_whitespace() || c.is_control()) {
            let shown: String = typed.chars().take(60).collect();
            let message =
                format!("`{shown}` is no link; one begins with https:// or http:// and has no spaces");
            return Err(ModelError::new("bad_link", message).at("link"));
        }
        Ok(Self::Link(typed.to_owned()))
    }
}

#[cfg(test)]
mod tests;
