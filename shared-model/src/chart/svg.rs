//! The writer: elements with classes, words escaped, numbers in hundredths.

use std::fmt::Write as _;

/// The size of letters, in units of a picture that is 358 wide.
pub(super) const LETTERS: f64 = 14.0;
/// The width of a picture that fills the column.
pub(super) const WIDTH: f64 = 358.0;

/// Where words stand beside their place.
#[derive(Clone, Copy)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A picture under way.
pub(super) struct Svg {
    text: String,
}

impl Svg {
    /// Begins a picture; `label` says in words what it shows.
    pub fn new(class: &str, [width, height]: [f64; 2], label: &str) -> Self {
        let (width, height) = (number(width), number(height));
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart {class}\" viewBox=\"0 0 {width} {height}\" role=\"img\" \
             aria-label=\"{}\" fill=\"currentColor\">",
            escaped(label)
        );
        Self { text }
    }

    /// Ends the picture.
    pub fn finish(mut self) -> String {
        self.text.push_str("</svg>");
        self.text
    }

    /// Opens a window beyond whose edges nothing is drawn; places in it count from its corner.
    pub fn open_window(&mut self, at: [f64; 2], size: [f64; 2]) {
        let [x, y] = at.map(number);
        let [width, height] = size.map(number);
        let _ = write!(
            self.text,
            "<svg x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             overflow=\"hidden\">"
        );
    }

    /// Closes the window that was opened last.
    pub fn close_window(&mut self) {
        self.text.push_str("</svg>");
    }

    /// Draws a filled disc.
    pub fn disc(&mut self, class: &str, at: [f64; 2], radius: f64) {
        self.circle(class, at, radius, "");
    }

    /// Draws a circle that is filled by the style sheet alone.
    pub fn ring(&mut self, class: &str, at: [f64; 2], radius: f64) {
        self.circle(class, at, radius, " fill=\"none\" stroke=\"currentColor\" stroke-width=\"1\"");
    }

    fn circle(&mut self, class: &str, at: [f64; 2], radius: f64, more: &str) {
        let ([x, y], r) = (at.map(number), number(radius));
        let _ =
            write!(self.text, "<circle class=\"{}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"{more}/>", escaped(class));
    }

    /// Draws a hollow square about a place.
    pub fn square(&mut self, class: &str, at: [f64; 2], side: f64) {
        let corner = at.map(|v| v - 0.5 * side);
        self.rect_with(
            class,
            corner,
            [side, side],
            " fill=\"none\" stroke=\"currentColor\" stroke-width=\"2\"",
        );
    }

    /// Draws a filled rectangle from its upper left corner.
    pub fn rect(&mut self, class: &str, corner: [f64; 2], size: [f64; 2]) {
        self.rect_with(class, corner, size, "");
    }

    fn rect_with(&mut self, class: &str, corner: [f64; 2], size: [f64; 2], more: &str) {
        let ([x, y], [width, height]) = (corner.map(number), size.map(|v| number(v.max(0.0))));
        let _ = write!(
            self.text,
            "<rect class=\"{}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"{more}/>",
            escaped(class)
        );
    }

    /// Draws the outline of an ellipse whose longer axis is turned clockwise by `turn_deg`.
    pub fn ellipse(&mut self, class: &str, at: [f64; 2], semi: [f64; 2], turn_deg: f64, dashed: bool) {
        let ([x, y], [rx, ry]) = (at.map(number), semi.map(number));
        let dashes = if dashed { " stroke-dasharray=\"7 4\"" } else { "" };
        let _ = write!(
            self.text,
            "<ellipse class=\"{}\" cx=\"{x}\" cy=\"{y}\" rx=\"{rx}\" ry=\"{ry}\" transform=\"rotate({} {x} {y})\" \
             fill=\"none\" stroke=\"currentColor\" stroke-width=\"3\"{dashes}/>",
            escaped(class),
            number(turn_deg)
        );
    }

    /// Draws a line, `wide` units wide.
    pub fn line(&mut self, class: &str, from: [f64; 2], to: [f64; 2], wide: f64) {
        self.line_with(class, from, to, wide, "");
    }

    /// Draws a broken line, `wide` units wide.
    pub fn dashed_line(&mut self, class: &str, from: [f64; 2], to: [f64; 2], wide: f64) {
        self.line_with(class, from, to, wide, " stroke-dasharray=\"7 4\"");
    }

    fn line_with(&mut self, class: &str, from: [f64; 2], to: [f64; 2], wide: f64, more: &str) {
        let ([x1, y1], [x2, y2], wide) = (from.map(number), to.map(number), number(wide));
        let _ = write!(
            self.text,
            "<line class=\"{}\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"currentColor\" \
             stroke-width=\"{wide}\"{more}/>",
            escaped(class)
        );
    }

    /// Draws a filled shape with these corners.
    pub fn shape(&mut self, class: &str, corners: &[[f64; 2]]) {
        let _ = write!(self.text, "<polygon class=\"{}\" points=\"{}\"/>", escaped(class), places(corners));
    }

    /// Draws a line through places, `wide` units wide.
    pub fn trace(&mut self, class: &str, through: &[[f64; 2]], wide: f64, dashed: bool) {
        let dashes = if dashed { " stroke-dasharray=\"7 4\"" } else { "" };
        let _ = write!(
            self.text,
            "<polyline class=\"{}\" points=\"{}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"{}\"{dashes}/>",
            escaped(class),
            places(through),
            number(wide)
        );
    }

    /// Draws a shape with these corners through which what lies behind is seen.
    pub fn area(&mut self, class: &str, corners: &[[f64; 2]]) {
        let (class, points) = (escaped(class), places(corners));
        let _ = write!(self.text, "<polygon class=\"{class}\" points=\"{points}\" fill-opacity=\"0.15\"/>");
    }

    /// Draws an arrow; one too short for its head is not drawn.
    pub fn arrow(&mut self, class: &str, from: [f64; 2], to: [f64; 2], wide: f64) {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = libm::hypot(dx, dy);
        let head = (4.0 * wide).min(0.6 * length);
        if length < 3.0 * wide {
            return;
        }
        let (ux, uy) = (dx / length, dy / length);
        let neck = [to[0] - head * ux, to[1] - head * uy];
        let half = 0.5 * head;
        self.line(class, from, neck, wide);
        let (left, right) =
            ([neck[0] - half * uy, neck[1] + half * ux], [neck[0] + half * uy, neck[1] - half * ux]);
        self.shape(class, &[to, left, right]);
    }

    /// Draws a cross.
    pub fn cross(&mut self, class: &str, at: [f64; 2], half: f64, wide: f64) {
        for turn in [1.0, -1.0] {
            let [from, to] = [-half, half].map(|v| [at[0] + v, at[1] + turn * v]);
            self.line(class, from, to, wide);
        }
    }

    /// Writes words on a line.
    pub fn words(&mut self, class: &str, at: [f64; 2], anchor: Anchor, words: &str) {
        let [x, y] = at.map(number);
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let _ = write!(
            self.text,
            "<text class=\"{}\" x=\"{x}\" y=\"{y}\" font-size=\"{}\"{anchor}>{}</text>",
            escaped(class),
            number(LETTERS),
            escaped(words)
        );
    }
}

/// Returns places as a list of points.
fn places(all: &[[f64; 2]]) -> String {
    let points: Vec<String> = all.iter().map(|p| format!("{},{}", number(p[0]), number(p[1]))).collect();
    points.join(" ")
}

/// Returns about how wide words are, for keeping them apart: 0.56 of the letters' height each, in a plain sans serif.
pub(super) fn width_of(words: &str) -> f64 {
    0.56 * LETTERS * words.chars().count() as f64
}

/// Returns a number in hundredths, within what a picture can hold.
fn number(value: f64) -> String {
    let value = if value.is_finite() { value.clamp(-1e5, 1e5) } else { 0.0 };
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Returns words with what XML reads as its own made harmless, and without what it cannot hold.
pub(crate) fn escaped(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            '"' => text.push_str("&quot;"),
            '\'' => text.push_str("&#39;"),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => text.push(' '),
            c => text.push(c),
        }
    }
    text
}
