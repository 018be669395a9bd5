//! What people call a sight's epoch, which is one distance with one label for the sight (see `timeline/season.rs`).

use super::units::{Units, trimmed};

/// Returns the words for an epoch; nothing for what is none.
pub(super) fn sight_words(name: &str, units: Units) -> Option<String> {
    let epoch = name.strip_prefix("sight ")?;
    if let Some(distance) = distance_of(name) {
        return Some(format!("the change of distance to {}", far(distance, units)));
    }
    let labelled = epoch.rsplit_once(" at ").and_then(|(label, rest)| Some((label, metres(rest)?)));
    Some(match labelled {
        Some((label, distance)) => format!("the move of the sight ({label} at {})", far(distance, units)),
        None => format!("the move of the sight ({epoch})"),
    })
}

/// Returns the distance of an epoch in which nobody named the sight: all that is known to differ is how far it was.
pub(super) fn distance_of(name: &str) -> Option<f64> {
    metres(name.strip_prefix("sight ")?)
}

fn metres(text: &str) -> Option<f64> {
    text.strip_suffix(" m")?.parse().ok()
}

/// Returns a distance in words, close enough that two distances somebody shot read differently.
fn far(m: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} m", trimmed(m, 2)),
        Units::Imperial => format!("{} yd", trimmed(m / 0.9144, 2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_distance_is_no_move_of_the_sight() {
        let words = |name| sight_words(name, Units::Metric);
        assert_eq!(words("sight 27.432 m").as_deref(), Some("the change of distance to 27.43 m"));
        assert_eq!(
            sight_words("sight 27.432 m", Units::Imperial).as_deref(),
            Some("the change of distance to 30 yd")
        );
        assert_eq!(words("sight b at 27.432 m").as_deref(), Some("the move of the sight (b at 27.43 m)"));
        assert_eq!(words("sight at 2.5").as_deref(), Some("the move of the sight (at 2.5)"));
        assert_eq!(words("session"), None);
    }
}
