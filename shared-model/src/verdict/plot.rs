//! Pictures as text: a group on its face, and groups over time, in braille dots (Unicode U+2800 to U+28FF).
//!
//! A cell is two dots wide and four high, so a dot is about as wide as high. Marks stand on top of the dots:
//! `+` the mean point of impact, `o` an arrow, `x` an arrow that is set apart (a flyer or a bare shaft), `2` to `9`
//! that many arrows of either sort in one cell (`9` also for more).

use crate::face::Face;
use core::f64::consts::PI;

/// A group to be drawn.
#[derive(Debug, Clone, Default)]
pub struct GroupPlot {
    /// Where the arrows struck, mm from the centre, x to the right, y up.
    pub points_mm: Vec<[f64; 2]>,
    /// Indices of arrows that are set apart and do not count for the mean.
    pub apart: Vec<usize>,
    /// The face, for its rings.
    pub face: Option<Face>,
    /// How many columns the picture may take, 20 or more.
    pub columns: usize,
    /// Whether escape codes for colour may be used.
    pub colour: bool,
}

/// A value over the groups in order.
#[derive(Debug, Clone, Default)]
pub struct SeriesPlot {
    /// What is drawn, with its unit.
    pub title: String,
    /// One value a group, in order; one that is not finite keeps its place and is not drawn.
    pub values: Vec<f64>,
    /// Before which of the values a change was made.
    pub changes: Vec<usize>,
    /// How many columns the picture may take, 20 or more.
    pub columns: usize,
    /// How many lines high, 3 or more.
    pub lines: usize,
}

/// Draws a group on its face, with a scale beneath.
pub fn group_plot(plot: &GroupPlot) -> String {
    let columns = plot.columns.clamp(20, 200);
    let rows = columns / 2;
    let reach = shown_radius(plot);
    let mut canvas = Canvas::new(columns, rows);
    let dot = |mm: f64| mm / reach;
    for zone in plot.face.iter().flat_map(Face::zones).filter(|z| z.outer_radius_mm <= reach) {
        canvas.circle(dot(zone.outer_radius_mm));
    }
    let (mut sum, mut n) = ([0.0; 2], 0.0);
    for (i, p) in plot.points_mm.iter().enumerate() {
        let apart = plot.apart.contains(&i);
        if !apart {
            sum = [sum[0] + p[0], sum[1] + p[1]];
            n += 1.0;
        }
        canvas.arrow(dot(p[0]), dot(p[1]), apart);
    }
    let together = canvas.marks.iter().flatten().any(char::is_ascii_digit);
    let covered = if n > 0.0 { canvas.mark(dot(sum[0] / n), dot(sum[1] / n), '+') } else { None };
    let mut text = canvas.text(plot.colour);
    text.push_str(&format!("from edge to edge {:.0} mm; o arrow, + mean, x set apart", 2.0 * reach));
    // Whoever counts the marks has to come to the arrows that were shot.
    let mut notes = Vec::new();
    if together {
        notes.push("a digit is that many arrows in one place".to_owned());
    }
    match covered {
        Some('o' | 'x') => notes.push("+ covers an arrow".to_owned()),
        Some(many) => notes.push(format!("+ covers {many} arrows")),
        None => {}
    }
    let inside = plot.points_mm.iter().filter(|p| p[0].abs() <= reach && p[1].abs() <= reach).count();
    if inside < plot.points_mm.len() {
        notes.push(format!("{} outside the picture", plot.points_mm.len() - inside));
    }
    if !notes.is_empty() {
        text.push_str(&format!("\n{}", notes.join("; ")));
    }
    text
}

/// Returns the radius in mm that the picture shows: all arrows and a ring around them, the face at most.
fn shown_radius(plot: &GroupPlot) -> f64 {
    let far = plot.points_mm.iter().map(|p| p[0].abs().max(p[1].abs())).fold(0.0, f64::max);
    // A kilometre: what lies further off is said to be outside.
    let far = far.min(1e6);
    let mut radii: Vec<f64> = plot.face.iter().flat_map(Face::zones).map(|z| z.outer_radius_mm).collect();
    radii.sort_by(f64::total_cmp);
    // The third ring at least, so that a tight group is seen with something around it.
    let least = radii.get(2.min(radii.len().saturating_sub(1))).copied().unwrap_or(0.0);
    let ring = radii.iter().copied().find(|r| *r >= far && *r >= least);
    let reach = ring.or(radii.last().copied().map(|r| r.max(far.min(1.6 * r)))).unwrap_or(far);
    if reach > 0.0 { reach * 1.04 } else { 100.0 }
}

/// Draws values over the groups in order, with a line where a change was made.
pub fn series_plot(plot: &SeriesPlot) -> String {
    let known = || plot.values.iter().copied().filter(|v| v.is_finite());
    let Some(first) = known().next() else { return format!("{}: nothing to draw yet", plot.title) };
    let (low, high) = known().fold((first, first), |(l, h), v| (l.min(v), h.max(v)));
    let margin = if high > low { 0.05 * (high - low) } else { 1.0 };
    let (low, high) = (low - margin, high + margin);
    let columns = plot.columns.clamp(20, 200) - 10;
    let mut canvas = Canvas::new(columns, plot.lines.max(3));
    let count = plot.values.len();
    let across = |i: f64| if count > 1 { 2.0 * i / (count as f64 - 1.0) - 1.0 } else { 0.0 };
    for change in &plot.changes {
        canvas.upright(across(*change as f64 - 0.5));
    }
    for (i, value) in plot.values.iter().enumerate() {
        canvas.dot(across(i as f64), 2.0 * (value - low) / (high - low) - 1.0);
    }
    let mut text = with_scale(&plot.title, &canvas, low, high);
    text.push_str(&format!("{}{count} groups in order; upright lines are changes", " ".repeat(10)));
    text
}

/// Returns a picture under its title, with what its top and bottom stand for at its left.
pub(super) fn with_scale(title: &str, canvas: &Canvas, low: f64, high: f64) -> String {
    let picture = canvas.text(false);
    let lines: Vec<&str> = picture.lines().collect();
    let last = lines.len().saturating_sub(1);
    let mut text = format!("{title}\n");
    let decimals = if high - low < 2.0 { 2 } else { 1 };
    for (i, line) in lines.iter().enumerate() {
        let scale = match i {
            0 => format!("{high:9.decimals$} "),
            i if i == last => format!("{low:9.decimals$} "),
            _ => " ".repeat(10),
        };
        text.push_str(format!("{scale}{line}").trim_end());
        text.push('\n');
    }
    text
}

/// Dots and marks in a field from -1 to 1 both ways.
pub(super) struct Canvas {
    columns: usize,
    rows: usize,
    dots: Vec<u8>,
    marks: Vec<Option<char>>,
}

/// The bit of each dot of a braille cell, by column and row from the top.
const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

impl Canvas {
    pub(super) fn new(columns: usize, rows: usize) -> Self {
        Self { columns, rows, dots: vec![0; columns * rows], marks: vec![None; columns * rows] }
    }

    /// Returns the dot at a place, or nothing outside of the field.
    fn place(&self, x: f64, y: f64) -> Option<(usize, usize)> {
        if !(x.abs() <= 1.0 && y.abs() <= 1.0) {
            return None;
        }
        let (width, height) = ((2 * self.columns - 1) as f64, (4 * self.rows - 1) as f64);
        let across = libm::round((x + 1.0) * 0.5 * width) as usize;
        let down = libm::round((1.0 - y) * 0.5 * height) as usize;
        Some((across, down))
    }

    pub(super) fn dot(&mut self, x: f64, y: f64) {
        if let Some((across, down)) = self.place(x, y) {
            self.dots[down / 4 * self.columns + across / 2] |= BITS[across % 2][down % 4];
        }
    }

    fn circle(&mut self, radius: f64) {
        let steps = 16 * self.columns;
        for i in 0..steps {
            let angle = 2.0 * PI * i as f64 / steps as f64;
            self.dot(radius * libm::cos(angle), radius * libm::sin(angle));
        }
    }

    pub(super) fn upright(&mut self, x: f64) {
        let steps = 8 * self.rows;
        for i in 0..=steps {
            self.dot(x, 2.0 * i as f64 / steps as f64 - 1.0);
        }
    }

    /// Marks an arrow; where there is one already, their number.
    fn arrow(&mut self, x: f64, y: f64, apart: bool) {
        if let Some((across, down)) = self.place(x, y) {
            let cell = &mut self.marks[down / 4 * self.columns + across / 2];
            *cell = Some(match *cell {
                None if apart => 'x',
                None => 'o',
                Some(before) => {
                    before.to_digit(10).and_then(|n| char::from_digit((n + 1).min(9), 10)).unwrap_or('2')
                }
            });
        }
    }

    /// Sets a mark and returns the one that it covers.
    pub(super) fn mark(&mut self, x: f64, y: f64, mark: char) -> Option<char> {
        let (across, down) = self.place(x, y)?;
        self.marks[down / 4 * self.columns + across / 2].replace(mark)
    }

    fn text(&self, colour: bool) -> String {
        let mut text = String::new();
        for row in 0..self.rows {
            let mut line = String::new();
            for cell in row * self.columns..(row + 1) * self.columns {
                match self.marks[cell] {
                    Some(mark) if colour => line.push_str(&format!("\u{1b}[1m{mark}\u{1b}[0m")),
                    Some(mark) => line.push(mark),
                    None if self.dots[cell] == 0 => line.push(' '),
                    None => line.push(char::from_u32(0x2800 + u32::from(self.dots[cell])).unwrap_or(' ')),
                }
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn plot(colour: bool) -> GroupPlot {
        let points_mm = vec![[0.0, 0.0], [100.0, 0.0], [-100.0, 0.0], [0.0, -90.0]];
        GroupPlot {
            points_mm,
            apart: vec![3],
            face: Some(Face::by_code("wa_80").unwrap()),
            columns: 40,
            colour,
        }
    }

    #[test]
    fn arrows_lie_where_they_struck() {
        let text = group_plot(&plot(false));
        let lines: Vec<&str> = text.lines().collect();
        let row = lines.iter().position(|l| l.contains('+')).unwrap();
        assert!((9..=10).contains(&row), "the middle of 20 lines: {row}");
        let marks: Vec<usize> =
            lines[row].chars().enumerate().filter(|(_, c)| *c == 'o').map(|(i, _)| i).collect();
        let middle = lines[row].chars().position(|c| c == '+').unwrap();
        assert!(marks.len() == 2 && marks[0] < middle && middle < marks[1]);
        assert!(lines[row + 1..].iter().any(|l| l.contains('x')));
        assert!(lines.iter().all(|l| l.chars().count() <= 80) && !text.contains('\u{1b}'));
        assert!(group_plot(&plot(true)).contains('\u{1b}'));
    }

    #[test]
    fn nothing_and_far_off_arrows_are_drawn_without_harm() {
        assert!(!group_plot(&GroupPlot::default()).is_empty());
        let far = GroupPlot { points_mm: vec![[1e9, -1e9], [f64::MAX, 0.0]], ..plot(false) };
        assert!(group_plot(&far).contains("2 outside the picture"));
        let bare = GroupPlot { face: None, ..far };
        assert!(group_plot(&bare).contains("outside the picture") && !group_plot(&bare).contains("inf"));
        assert!(series_plot(&SeriesPlot::default()).contains("nothing to draw"));
    }

    #[test]
    fn every_arrow_is_accounted_for() {
        let count = |points_mm: Vec<[f64; 2]>, apart: Vec<usize>| {
            let text = group_plot(&GroupPlot { points_mm, apart, ..plot(false) });
            let (picture, words) = text.split_once("from edge").unwrap();
            let marks = |c: char| if c == 'o' || c == 'x' { Some(1) } else { c.to_digit(10) };
            (picture.chars().filter_map(marks).sum::<u32>(), words.lines().nth(1).unwrap_or("").to_owned())
        };
        let pair = vec![[100.0, 0.0], [100.0, 0.0], [-100.0, 0.0], [-100.0, 0.0]];
        assert_eq!(count(pair.clone(), vec![]), (4, "a digit is that many arrows in one place".into()));
        assert_eq!(count(pair, vec![1]), (4, "a digit is that many arrows in one place".into()));
        assert_eq!(count(vec![[0.0, 0.0]], vec![]), (0, "+ covers an arrow".into()));
        let told = "a digit is that many arrows in one place; + covers 3 arrows";
        assert_eq!(count(vec![[0.0, 0.0]; 3], vec![]), (0, told.into()));
        assert_eq!(count(vec![[50.0, 0.0], [-50.0, 0.0]], vec![]), (2, String::new()));
    }

    #[test]
    fn a_group_without_a_mean_keeps_its_place_in_a_series() {
        let series = |values: Vec<f64>| {
            series_plot(&SeriesPlot { title: "x".into(), values, changes: vec![], columns: 40, lines: 3 })
        };
        let text = series(vec![f64::NAN, 1.0, f64::INFINITY, 3.0]);
        assert!(text.contains("3.1") && text.contains("0.9") && text.contains("4 groups"), "{text}");
        assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
        assert_eq!(series(vec![f64::NAN]), "x: nothing to draw yet");
    }

    #[test]
    fn a_series_rises_from_low_to_high_with_its_changes() {
        let plot = SeriesPlot {
            title: "x, mm".into(),
            values: vec![0.0, 1.0, 2.0, 3.0],
            changes: vec![2],
            columns: 40,
            lines: 5,
        };
        let text = series_plot(&plot);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[1].trim_start().starts_with("3.1") || lines[1].contains("3.1"), "{text}");
        assert!(lines.len() == 7 && lines[6].contains("4 groups"), "{text}");
    }
}
