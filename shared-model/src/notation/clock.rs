//! Directions from the middle of a face as the hour hand of a clock shows them, in words.

use core::f64::consts::PI;

const HOURS: [&str; 12] =
    ["twelve", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"];
/// Nearer to the middle than this, nobody sees a direction, mm.
const NO_DIRECTION_MM: f64 = 1.0;

/// Returns the direction of a point, right and up of the middle in mm, to the half hour: `half past four`,
/// `twelve o'clock` for straight up; nothing in the very middle.
pub fn clock_words([x, y]: [f64; 2]) -> Option<String> {
    if !x.is_finite() || !y.is_finite() || libm::hypot(x, y) < NO_DIRECTION_MM {
        return None;
    }
    // Clockwise from up, in halves of an hour, of which the circle has 24.
    let halves = libm::round(libm::atan2(x, y) / (2.0 * PI) * 24.0) + 24.0;
    let halves = (halves as usize) % 24;
    let hour = HOURS[halves / 2];
    Some(if halves.is_multiple_of(2) { format!("{hour} o'clock") } else { format!("half past {hour}") })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        face::Face,
        notation::{Length, shot},
    };

    #[test]
    fn up_is_twelve_and_right_is_three() {
        for (point, words) in [
            ([0.0, 5.0], "twelve o'clock"),
            ([5.0, 0.0], "three o'clock"),
            ([0.0, -5.0], "six o'clock"),
            ([-5.0, 0.0], "nine o'clock"),
            ([5.0, -5.0], "half past four"),
            ([-5.0, 5.0], "half past ten"),
            // 14.9 degrees right of up is nearer to half past twelve, 7.4 to twelve.
            ([0.257, 0.966], ""),
            ([25.7, 96.6], "half past twelve"),
            ([12.9, 99.2], "twelve o'clock"),
            ([-12.9, 99.2], "twelve o'clock"),
        ] {
            assert_eq!(clock_words(point).unwrap_or_default(), words, "{point:?}");
        }
        assert_eq!(clock_words([f64::NAN, 3.0]), None);
    }

    #[test]
    fn what_is_typed_by_the_clock_is_told_by_the_clock() {
        let face = Face::by_code("wa_122").unwrap();
        for (hour, word) in (1..=12).zip(HOURS.iter().cycle().skip(1)) {
            let told = |typed: String| clock_words(shot(&typed, &face, Length::Mm).unwrap().at.unwrap());
            assert_eq!(told(format!("5@{hour}")).unwrap(), format!("{word} o'clock"));
            assert_eq!(told(format!("5@{hour}:30")).unwrap(), format!("half past {word}"));
        }
    }
}
