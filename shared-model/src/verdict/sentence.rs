//! One sentence per change that an archer understands, from figures that a statistician signs.

use super::{
    sight::{distance_of, sight_words},
    units::{Units, trimmed},
};
use crate::stats::effects::{Effect, Location, Tightness};

/// What a sentence needs besides the effect itself.
pub struct Told<'a> {
    /// What was altered, in words.
    pub what: &'a str,
    /// The day it was altered, in words.
    pub day: &'a str,
    /// The distance in m at which mm are given.
    pub distance_m: f64,
    /// The smallest shift that matters, mrad.
    pub matters_mrad: Option<f64>,
    /// SD of an arrow about its end.
    pub sigma_mrad: Option<f64>,
    /// Confidence of the intervals.
    pub confidence: f64,
    /// Metric or imperial.
    pub units: Units,
    /// What other changes are called: from their id to words.
    pub change_name: &'a dyn Fn(&str) -> String,
}

/// Returns the verdict on one change as a sentence or a few.
pub fn sentence(effect: &Effect, told: &Told<'_>) -> String {
    let mut text = format!("{}, {}: {}", upper_first(told.what), told.day, place(effect, told));
    let spread = spread(effect, told);
    if !spread.is_empty() {
        text.push_str(&format!(", {spread}"));
    }
    if let Some(worth) = worth(effect) {
        text.push_str(&format!(", {worth}"));
    }
    text.push('.');
    let flyers = effect.flyers_before + effect.flyers_after;
    if flyers > 0 {
        let were = if flyers == 1 { "1 flyer was".into() } else { format!("{flyers} flyers were") };
        text.push_str(&format!(" {were} left out."));
    }
    if let Some(next) = next(effect) {
        text.push_str(&format!(" {next}"));
    }
    text
}

fn place(effect: &Effect, told: &Told<'_>) -> String {
    let (mm, at) = (|mrad: f64| mrad * told.distance_m, told.units.distance(told.distance_m));
    match effect.location {
        Location::Moved => moved(effect, told),
        Location::Held => match effect.detectable_shift_mrad {
            Some(shift) => format!(
                "no movement that matters (a shift of {} at {at} would have shown)",
                told.units.length(mm(shift))
            ),
            None => "no movement that matters".into(),
        },
        Location::Unsettled => match (effect.shift_mrad, effect.shift_interval_mrad) {
            (Some(shift), Some(interval)) => {
                let axis = usize::from(shift[1].abs() > shift[0].abs());
                if says_nothing(interval[axis], told.sigma_mrad) {
                    return format!(
                        "cannot tell yet whether the groups moved (so far {} at {at}, from too few sessions to say how \
                         far that may be off)",
                        directed(mm(shift[axis]), axis, told.units)
                    );
                }
                let [low, high] = interval[axis].map(|v| directed(mm(v), axis, told.units));
                let clear = interval[axis][0] > 0.0 || interval[axis][1] < 0.0;
                let doubt =
                    if clear { ", which two axes and all changes judged at once leave in doubt" } else { "" };
                format!(
                    "cannot tell yet whether the groups moved (so far {} at {at}; {}: {low} to {high}{doubt})",
                    directed(mm(shift[axis]), axis, told.units),
                    percent(told.confidence)
                )
            }
            _ => "cannot tell yet whether the groups moved".into(),
        },
        Location::Inseparable => inseparable(effect, told, true),
    }
}

/// Says whether an interval is so wide that its bounds would only mislead: twenty SDs of an arrow and more.
pub(super) fn says_nothing([low, high]: [f64; 2], sigma_mrad: Option<f64>) -> bool {
    sigma_mrad.is_some_and(|sigma| high - low > 20.0 * sigma)
}

fn moved(effect: &Effect, told: &Told<'_>) -> String {
    let (Some(shift), Some(interval), Some(p)) =
        (effect.shift_mrad, effect.shift_interval_mrad, effect.shift_p)
    else {
        return "groups moved".into();
    };
    let (axes, words) = shift_words(shift, interval, p, told.distance_m, told.units, told.confidence);
    let little =
        told.matters_mrad.map_or_else(String::new, |matters| little(&interval, &axes, matters, told));
    format!("groups moved {words} at {}{little}", told.units.distance(told.distance_m))
}

/// Returns the axes on which there is a clear shift, the one that is likelier where there is none, and the shift
/// along them in words with its interval.
pub(super) fn shift_words(
    shift: [f64; 2],
    interval: [[f64; 2]; 2],
    p: [f64; 2],
    distance_m: f64,
    units: Units,
    confidence: f64,
) -> (Vec<usize>, String) {
    let mm = |mrad: f64| mrad * distance_m;
    let clear = |axis: usize| interval[axis][0] > 0.0 || interval[axis][1] < 0.0;
    let mut axes: Vec<usize> = (0..2).filter(|a| clear(*a)).collect();
    if axes.is_empty() {
        axes.push(usize::from(p[1] < p[0]));
    }
    axes.sort_by(|a, b| shift[*b].abs().total_cmp(&shift[*a].abs()));
    let part = |axis: &usize| {
        let (far, bounds) = along(*axis, mm(shift[*axis]), interval[*axis].map(mm), units);
        format!("{far} ({}: {bounds})", percent(confidence))
    };
    let words = axes.iter().map(part).collect::<Vec<_>>().join(" and ");
    (axes, words)
}

/// Returns a shift along an axis in words, and its interval in the same direction: `14 mm left` and `9 to 19`.
pub(super) fn along(axis: usize, mm: f64, interval_mm: [f64; 2], units: Units) -> (String, String) {
    let sign = if mm < 0.0 { -1.0 } else { 1.0 };
    let [a, b] = interval_mm.map(|bound| sign * bound);
    let bounds = format!("{} to {}", units.number(a.min(b)), units.number(a.max(b)));
    (directed(mm, axis, units), bounds)
}

/// Says whether a shift may be too little to matter: by its intervals, since a shift on one edge of them is
/// as likely as one on the other.
fn little(interval: &[[f64; 2]; 2], clear: &[usize], matters: f64, told: &Told<'_>) -> String {
    let bar = told.units.length(matters * told.distance_m);
    let most = |axis: usize| interval[axis][0].abs().max(interval[axis][1].abs());
    let least = |axis: usize| interval[axis][0].abs().min(interval[axis][1].abs());
    if (0..2).all(|axis| most(axis) < matters) {
        format!(", too little to matter (less than {bar})")
    } else if clear.iter().all(|axis| least(*axis) < matters) {
        format!(", maybe less than the {bar} that matter")
    } else {
        String::new()
    }
}

/// Returns a shift along an axis with its direction as the archer sees it.
pub fn directed(mm: f64, axis: usize, units: Units) -> String {
    let words = [["left", "right"], ["low", "high"]][axis];
    format!("{} {}", units.length(mm.abs()), words[usize::from(mm >= 0.0)])
}

/// Returns the intervals of a shift on both axes in words: `95 %: -3 to 9 right, -4 to 5 high`.
pub(super) fn shift_bounds(
    bounds_mrad: [[f64; 2]; 2],
    distance_m: f64,
    confidence: f64,
    units: Units,
) -> String {
    let [[x0, x1], [y0, y1]] = bounds_mrad.map(|b| b.map(|v| units.number(v * distance_m)));
    format!("{}: {x0} to {x1} right, {y0} to {y1} high", percent(confidence))
}

/// Returns a place on the face in words, for example `21 mm right and 14 mm low`.
pub(super) fn beside(mm: [f64; 2], units: Units) -> String {
    format!("{} and {}", directed(mm[0], 0, units), directed(mm[1], 1, units))
}

/// Says what a change cannot be told apart from, and where that is not plain also `why`.
pub(super) fn inseparable(effect: &Effect, told: &Told<'_>, why: bool) -> String {
    if effect.inseparable_from.is_empty() {
        return match (effect.ends_before, effect.ends_after) {
            (0, _) => "cannot be judged, since nothing was shot before it".into(),
            _ => "cannot be judged yet, since nothing has been shot after it".into(),
        };
    }
    let from: Vec<String> = effect
        .inseparable_from
        .iter()
        .map(|name| match name.as_str() {
            "session" if !why => "the day".into(),
            "session" => "the day (it fell between sessions, and there are too few of those)".into(),
            name => sight_words(name, told.units).unwrap_or_else(|| (told.change_name)(name)),
        })
        .collect();
    format!("cannot be told apart from {}", list(&from))
}

fn spread(effect: &Effect, told: &Told<'_>) -> String {
    let change = ratio_words;
    let bounds = effect.sd_ratio_interval.map(|interval| ratio_bounds(interval, told.confidence));
    let bounds = bounds.unwrap_or_default();
    match (effect.tight, effect.sd_ratio) {
        (Tightness::Tighter | Tightness::Wider, Some(ratio)) => {
            format!("spread {} ({bounds})", change(ratio))
        }
        (Tightness::Held, _) => "spread unchanged".into(),
        (Tightness::Unsettled, Some(ratio)) if too_wide(effect.sd_ratio_interval) => {
            format!(
                "spread not settled (so far {}, from too few ends to say how far that may be off)",
                change(ratio)
            )
        }
        (Tightness::Unsettled, Some(ratio)) if !bounds.is_empty() => {
            format!("spread not settled (so far {}; {bounds})", change(ratio))
        }
        (Tightness::Inseparable, _) if effect.location != Location::Inseparable => {
            "its spread cannot be told apart from the day".into()
        }
        (Tightness::Inseparable, _) => String::new(),
        _ => "spread not settled".into(),
    }
}

/// Says whether the interval of a ratio reaches over more than a factor of thirty.
pub(super) fn too_wide(interval: Option<[f64; 2]>) -> bool {
    interval.is_some_and(|[low, high]| high > 30.0 * low)
}

/// Returns a ratio of SDs in words: `12 % smaller`.
pub(super) fn ratio_words(ratio: f64) -> String {
    let percent = trimmed((ratio - 1.0).abs() * 100.0, 0);
    format!("{percent} % {}", if ratio < 1.0 { "smaller" } else { "larger" })
}

/// Returns the interval of a ratio of SDs in words.
pub(super) fn ratio_bounds([low, high]: [f64; 2], confidence: f64) -> String {
    let same = (low < 1.0) == (high < 1.0);
    let (near, far) = if high <= 1.0 { (high, low) } else { (low, high) };
    let first = if same { trimmed((near - 1.0).abs() * 100.0, 0) } else { ratio_words(near) };
    let last = if same { format!("{} %", trimmed((far - 1.0).abs() * 100.0, 0)) } else { ratio_words(far) };
    format!("{}: {first} to {last}", percent(confidence))
}

fn worth(effect: &Effect) -> Option<String> {
    // A gain or loss that may as well be none is left to the figures.
    let clear = |points: Option<f64>, interval: Option<[f64; 2]>| {
        let (points, [low, high]) = (points?, interval?);
        let sure = low > 0.0 || high < 0.0;
        let decimals = if points.abs() < 0.095 { 2 } else { 1 };
        (sure && points.abs() >= 0.005).then(|| format!("{points:+.decimals$}"))
    };
    let spread = matches!(effect.tight, Tightness::Tighter | Tightness::Wider);
    let moved = effect.location == Location::Moved;
    let alone = clear(effect.points_per_arrow, effect.points_per_arrow_interval)
        .filter(|_| moved)
        .map(|points| format!("{points} points an arrow until the sight is moved"));
    let resighted = clear(effect.points_per_arrow_resighted, effect.points_per_arrow_resighted_interval)
        .filter(|_| spread)
        .map(|points| match (moved, &alone) {
            (true, Some(_)) => format!("{points} after that"),
            (true, None) => format!("{points} points an arrow once the sight is moved"),
            (false, _) => format!("{points} points an arrow"),
        });
    match (alone, resighted) {
        (None, None) => None,
        (a, b) => Some(a.into_iter().chain(b).collect::<Vec<_>>().join(" and ")),
    }
}

/// Returns what to shoot next, where more would tell.
pub(super) fn next(effect: &Effect) -> Option<String> {
    match effect.location {
        Location::Unsettled => effect.ends_to_settle.map(|n| {
            format!(
                "{n} more ends would settle it: {} with the setting before, {} with the one after.",
                n / 2,
                n - n / 2
            )
        }),
        // What was on the bow when it was first shot is no change to be judged.
        Location::Inseparable if effect.ends_before == 0 => None,
        Location::Inseparable => Some(match effect.inseparable_from.first().map(String::as_str) {
            None => "Shoot at least three ends on each side of a change.".into(),
            Some("session") => "Shoot both settings in one session to tell them apart.".into(),
            Some(sight) if distance_of(sight).is_some() => "Shoot both settings at one distance.".into(),
            Some(sight) if sight.starts_with("sight ") => {
                "Shoot both settings with the sight left alone.".into()
            }
            Some(_) => "Undo one of them and shoot both ways to tell them apart.".into(),
        }),
        Location::Moved | Location::Held => None,
    }
}

pub(super) fn percent(confidence: f64) -> String {
    format!("{} %", trimmed(confidence * 100.0, 1))
}

/// Returns words as a list: `a, b and c`.
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// Returns a text that begins with a small letter.
pub(super) fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}

/// Returns a text that begins with a capital.
pub fn upper_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
