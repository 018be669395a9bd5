//! A line with round numbers on it.

use super::svg::{Anchor, Svg};

/// From values to places along a line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

impl Scale {
    /// Makes a line from `from` to `to` on which the values lie from `low` to `high`.
    pub fn new([low, high]: [f64; 2], [from, to]: [f64; 2]) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self { low, high, from, to }
    }

    /// Returns the place of a value, at most the line's ends.
    pub fn place(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    /// Draws the line with its ticks at a height, numbers below it; returns nothing that was not drawn.
    pub fn draw(&self, svg: &mut Svg, y: f64, at_most: f64) {
        svg.line("axis", [self.from, y], [self.to, y], 2.0);
        for value in self.ticks(at_most) {
            let x = self.place(value);
            svg.line("axis", [x, y - 5.0], [x, y + 5.0], 2.0);
            svg.words("text", [x, y + 21.0], Anchor::Middle, &shown(value));
        }
    }

    /// Returns round numbers along the line, about so many at most.
    pub fn ticks(&self, at_most: f64) -> Vec<f64> {
        let step = round_step_above((self.high - self.low) / at_most);
        let (first, last) =
            ((self.low / step - 1e-9).ceil() as i64, (self.high / step + 1e-9).floor() as i64);
        (first..=last).map(|n| n as f64 * step).collect()
    }
}

/// Returns the round number, 1, 2 or 5 times a power of ten, at or below a number above 0.
pub(super) fn round_step(at_most: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(at_most.max(1e-6))));
    let lead = at_most / power;
    let round = if lead >= 5.0 {
        5.0
    } else if lead >= 2.0 {
        2.0
    } else {
        1.0
    };
    // A power of ten below 1 is not exact; its digits are.
    (round * power * 1e6).round() / 1e6
}

fn round_step_above(at_least: f64) -> f64 {
    let below = round_step(at_least);
    if below >= at_least {
        return below;
    }
    // From 1 to 2, from 2 to 5, from 5 to 10.
    round_step(2.51 * below)
}

/// Returns a round number as it is written under a tick.
fn shown(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.replace('-', "\u{2212}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_ticks_stay_on_the_line() {
        assert_eq!([0.4, 1.0, 3.0, 70.0].map(round_step), [0.2, 1.0, 2.0, 50.0]);
        assert_eq!([0.4, 1.0, 3.0, 70.0].map(round_step_above), [0.5, 1.0, 5.0, 100.0]);
        let ticks = Scale::new([-3.0, 21.0], [0.0, 100.0]).ticks(6.0);
        assert_eq!(ticks, [0.0, 5.0, 10.0, 15.0, 20.0]);
        assert_eq!([-0.25, 0.0, 1.5].map(shown), ["\u{2212}0.25", "0", "1.5"]);
    }
}
