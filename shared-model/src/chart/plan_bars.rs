//! What a plan of so many ends would show, beside the smallest move that matters.

use super::{
    scale::Scale,
    svg::{Anchor, Svg, WIDTH},
};

/// Where the bars begin, right of what they stand for, and the farthest that one reaches.
const LINE: [f64; 2] = [122.0, WIDTH - 74.0];
const ROW: f64 = 44.0;
const TOP: f64 = 8.0;

/// A number of ends.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanBar {
    /// What stands before the bar, like `8 + 8 ends`.
    pub words: String,
    /// The smallest move that so many ends show.
    pub finds: f64,
    /// That in words.
    pub finds_words: String,
    /// Whether it is no more than the move that is looked for.
    pub enough: bool,
}

/// Bars to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanBars<'a> {
    /// The bars from above.
    pub rows: &'a [PlanBar],
    /// The smallest move that matters, in the unit of the bars.
    pub smallest: f64,
    /// That in words.
    pub smallest_words: &'a str,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws a bar a row, and a dashed line at the smallest move that matters.
pub fn plan_bars(shown: &PlanBars<'_>) -> String {
    let far = shown.rows.iter().map(|r| r.finds).fold(shown.smallest, f64::max);
    let scale = Scale::new([0.0, far], LINE);
    let bottom = TOP + ROW * shown.rows.len() as f64;
    let mut svg = Svg::new("plan-bars", [WIDTH, bottom + 26.0], shown.label);
    for (n, row) in shown.rows.iter().enumerate() {
        let y = TOP + ROW * (n as f64 + 0.5);
        let end = scale.place(row.finds);
        svg.words("text", [LINE[0] - 8.0, y + 5.0], Anchor::End, &row.words);
        let class = if row.enough { "bar enough" } else { "bar" };
        svg.rect(class, [LINE[0], y - 10.0], [end - LINE[0], 20.0]);
        let sign = if row.enough { " \u{2713}" } else { "" };
        svg.words("text", [WIDTH - 2.0, y + 5.0], Anchor::End, &format!("{}{sign}", row.finds_words));
    }
    let x = scale.place(shown.smallest);
    svg.dashed_line("mark-line", [x, TOP], [x, bottom], 2.5);
    svg.words("text", [x, bottom + 18.0], Anchor::Middle, shown.smallest_words);
    svg.finish()
}
