//! The fewest of something that are enough.
//!
//! # Formula
//! Doubling until enough, then halving the gap.
//! # Units
//! A count.
//! # Source
//! Bentley and Yao, Information Processing Letters 5 (1976) 82, citation from memory.
//! # Limits
//! What is enough has to stay enough when there is more; with drawn numbers that holds nearly.

/// Returns the least number above `few`, and at most `most`, for which `enough` holds; nothing where none does.
pub(crate) fn fewest(few: usize, most: usize, enough: impl Fn(usize) -> bool) -> Option<usize> {
    let (mut short, mut next) = (few, (few + 1).min(most));
    while !enough(next) {
        if next >= most {
            return None;
        }
        (short, next) = (next, (2 * next).min(most));
    }
    while next - short > 1 {
        let middle = short + (next - short) / 2;
        if enough(middle) { next = middle } else { short = middle }
    }
    Some(next)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_that_is_enough_is_found_wherever_it_lies() {
        for least in [2, 3, 17, 999, 1000] {
            assert_eq!(fewest(1, 1000, |n| n >= least), Some(least));
        }
        assert_eq!(fewest(10, 1000, |n| n >= 3), Some(11));
        assert_eq!(fewest(1, 1000, |n| n >= 1001), None);
    }
}
