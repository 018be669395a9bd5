//! Marks in words: rows of the table, what the curve is, what stands off.

use super::{NewMark, NotedRow, TableRow, gather::Found};
use crate::{
    stats::marks::{Curve, FittedMark, MarkAt, MarkedOn, Marks, Place},
    verdict::{
        bow::day_words,
        units::{Units, count, trimmed},
    },
};

/// Returns how many decimals the readings have.
fn decimals(resolution: f64) -> usize {
    [(1.0, 0), (0.1, 1), (0.01, 2)]
        .into_iter()
        .find(|(step, _)| resolution >= step * 0.999)
        .map_or(3, |(_, n)| n)
}

/// Returns a mark in words: on the sight's scale, or with its unit.
pub(super) fn reading(figures: &Marks, value: f64, units: Units) -> String {
    match figures.what {
        MarkedOn::Sight => {
            let text = format!("{value:.*}", decimals(figures.resolution));
            if text.trim_start_matches(['-', '0', '.']).is_empty() {
                text.trim_start_matches('-').to_owned()
            } else {
                text
            }
        }
        MarkedOn::Crawl | MarkedOn::Gap => units.length(value),
    }
}

/// Returns a difference of marks in words, with a decimal more where it would vanish.
pub(super) fn amount(figures: &Marks, value: f64, units: Units) -> String {
    match figures.what {
        MarkedOn::Sight => {
            let n = decimals(figures.resolution);
            if value.abs() < figures.resolution { trimmed(value, n + 1) } else { trimmed(value, n) }
        }
        MarkedOn::Crawl | MarkedOn::Gap => units.length(value),
    }
}

/// Returns how far a mark goes in words, with a decimal more than marks are read to: estimate and ends alike.
pub(super) fn difference(figures: &Marks, value: f64, units: Units) -> String {
    match figures.what {
        MarkedOn::Sight => trimmed(value, decimals(figures.resolution) + 1),
        MarkedOn::Crawl | MarkedOn::Gap => units.length(value),
    }
}

/// Returns what will be read in words, with a decimal more than marks are read to where the step would vanish in them.
pub(super) fn moved_reading(figures: &Marks, value: f64, step: f64, units: Units) -> String {
    let small = step.abs() < 5.0 * figures.resolution;
    let resolution = if small { 0.1 * figures.resolution } else { figures.resolution };
    match figures.what {
        MarkedOn::Sight => reading(&Marks { resolution, ..figures.clone() }, value, units),
        MarkedOn::Crawl => units.length(value.max(0.0)),
        MarkedOn::Gap => units.length(value),
    }
}

/// Returns an interval in words, rounded outward so that it is never narrower than it is.
fn range(figures: &Marks, [low, high]: [f64; 2], units: Units) -> String {
    match figures.what {
        MarkedOn::Sight => {
            let scale = libm::pow(10.0, decimals(figures.resolution) as f64);
            let [low, high] =
                [libm::floor(low * scale + 1e-9) / scale, libm::ceil(high * scale - 1e-9) / scale];
            format!("{} to {}", reading(figures, low, units), reading(figures, high, units))
        }
        MarkedOn::Crawl => format!("{} to {}", units.length(low.max(0.0)), units.length(high)),
        MarkedOn::Gap => format!("{} to {}", units.length(low), units.length(high)),
    }
}

/// Returns whether a distance of a joined curve is one at which marks were found: these say nothing of how far they are off.
fn is_found(figures: &Marks, at: &MarkAt) -> bool {
    figures.curve == Curve::Monotone && figures.fitted.iter().any(|mark| mark.distance_m == at.distance_m)
}

/// Says what a mark of a joined curve is.
fn joined(figures: &Marks, at: &MarkAt) -> &'static str {
    match figures.fitted.iter().filter(|mark| mark.distance_m == at.distance_m).count() {
        0 => GUESS,
        1 => "found once, range not known",
        _ => "mean of what was found, range not known",
    }
}

/// Beside a mark that was not found, where there is no fit.
pub(super) const GUESS: &str = "by the marks beside it";

/// Returns a row of the table.
pub(super) fn row(figures: &Marks, at: &MarkAt, units: Units) -> TableRow {
    let note = match (at.place, figures.curve) {
        (Place::Beyond, _) => Some("beyond your marks"),
        (Place::Outside, Curve::Monotone)
            if figures.span_m.is_some_and(|[near, _]| at.distance_m >= near)
                && figures.reach_m.is_some_and(|[near, _]| at.distance_m < near) =>
        {
            Some("nearer than where your marks turn back: no figure")
        }
        (Place::Outside, Curve::Monotone) => Some("beyond your marks: no figure"),
        (Place::Outside, _) => Some("too far beyond your marks for a figure"),
        (Place::OutOfReach, _) => Some("the arrow does not get there"),
        (Place::PastPointOn, _) => Some("farther than your point-on distance: there is no crawl for it"),
        (Place::NoCurve, _) => Some("no more than the marks themselves can be said"),
        (Place::Between, Curve::Monotone) => Some(joined(figures, at)),
        (Place::Between, _) => None,
    };
    TableRow {
        distance_m: at.distance_m,
        distance_words: words_of(at.distance_m, units),
        place: at.place,
        value: at.value,
        mark: at.value.map(|v| reading(figures, v, units)),
        range: at.interval.filter(|_| !is_found(figures, at)).map(|interval| range(figures, interval, units)),
        note,
    }
}

/// Returns a distance in words, to a tenth of m or yd.
pub(super) fn words_of(distance_m: f64, units: Units) -> String {
    units.distance(distance_m)
}

/// Returns a mark that was found.
pub(super) fn noted(figures: &Marks, (mark, beside): (&Found, &FittedMark), units: Units) -> NotedRow {
    NotedRow {
        id: mark.id,
        distance_m: mark.distance_m,
        distance_words: words_of(mark.distance_m, units),
        value: mark.reading,
        mark: match figures.what {
            MarkedOn::Sight => trimmed(mark.reading, 3),
            MarkedOn::Crawl | MarkedOn::Gap => units.length(mark.reading),
        },
        day: mark.at.map(|at| day_words(&at.day())),
        remark: beside.off.filter(|_| beside.suspect).map(|off| stands(figures, off, units)),
    }
}

fn stands(figures: &Marks, off: f64, units: Units) -> String {
    let way = if off < 0.0 { "below" } else { "above" };
    format!("stands {} {way} the others", amount(figures, off.abs(), units))
}

/// Says which marks stand off the others, and what to do.
pub(super) fn suspects(figures: &Marks, marks: &[Found], units: Units) -> Vec<String> {
    let off = marks.iter().zip(&figures.fitted).filter(|(_, beside)| beside.suspect);
    let one = |(mark, beside): (&Found, &FittedMark)| {
        format!(
            "Your {} mark {}: shoot it again. It still counts here; if it was misread, take it out of use.",
            words_of(mark.distance_m, units),
            stands(figures, beside.off.unwrap_or_default(), units)
        )
    };
    off.map(one).collect()
}

/// Says what runs through the marks and what the ranges are.
pub(super) fn curve(figures: &Marks, units: Units) -> Vec<String> {
    let Some([near, far]) = figures.span_m else { return Vec::new() };
    let n = figures.fitted.len();
    let noun = figures.what.noun();
    let noun = if n == 1 { noun.trim_end_matches('s') } else { noun };
    let span = format!("{n} {noun} from {} to {}", words_of(near, units), words_of(far, units));
    match figures.curve {
        Curve::Trajectory => vec![format!(
            "{span}, fitted by the arrow's flight; {}. The range beside a mark (95 %) is that of the mark itself, \
                 not of where one arrow lands.",
            scatter(figures, units)
        )],
        Curve::Monotone => vec![format!(
            "{span}, joined by a smooth curve: {}. The range beside a mark is no more than the marks on both sides of \
             it, and outside of them nothing is said.",
            figures.notes.join("; ")
        )],
        Curve::None if n == 1 => {
            vec![format!("One {noun} at {}: a curve needs more.", words_of(near, units))]
        }
        Curve::None => vec![format!("{span}, and no curve through them: {}.", figures.notes.join("; "))],
    }
}

fn scatter(figures: &Marks, units: Units) -> String {
    let sigma = figures.sigma.unwrap_or_default();
    let df = figures.df.unwrap_or_default();
    let size = match figures.what {
        MarkedOn::Sight => trimmed(sigma, decimals(figures.resolution) + 1),
        MarkedOn::Crawl => units.length(sigma),
        MarkedOn::Gap => format!("{} mrad", trimmed(sigma, 2)),
    };
    let more =
        if df < 2.0 { ", by one mark to spare: each further mark narrows the ranges much" } else { "" };
    format!("a mark scatters by {size} about the curve{more}")
}

/// Says how fast the arrow is, or how fast the marks take it to be.
pub(super) fn speed(figures: &Marks, source: Option<&str>, units: Units) -> Option<String> {
    let speed = figures.speed?;
    let shown = |v: f64| match units {
        Units::Metric => trimmed(v, 0),
        Units::Imperial => trimmed(v / 0.3048, 0),
    };
    let unit = if units == Units::Metric { "m/s" } else { "ft/s" };
    if speed.known {
        return Some(format!(
            "Arrow speed {} {unit}, {}.",
            shown(speed.value_m_s),
            source.unwrap_or("as given")
        ));
    }
    let interval = match speed.interval_m_s {
        Some([Some(low), Some(high)]) => format!("{} to {}", shown(low), shown(high)),
        Some([Some(low), None]) => format!("{} or more", shown(low)),
        Some([None, Some(high)]) => format!("{} or less", shown(high)),
        _ => "any".into(),
    };
    Some(format!(
        "These marks go with an arrow speed of {} {unit} (95 %: {interval}, if what is assumed holds). That is not a \
         chronograph: it hangs on the height of the eye over the arrow and on the drag.",
        shown(speed.value_m_s)
    ))
}

/// Says where crawl or gap are 0.
pub(super) fn point_on(figures: &Marks, units: Units) -> Option<String> {
    let found = figures.point_on?;
    let shown = |m: f64| words_of(libm::round(m * 10.0) / 10.0, units);
    let Some(at) = found.distance_m else {
        let how = match found.interval_m {
            [Some(low), _] => format!(", farther than {}", shown(low)),
            [_, Some(high)] => format!(", nearer than {}", shown(high)),
            _ => String::new(),
        };
        let known = figures.curve != Curve::None;
        return known.then(|| format!("Your point-on distance lies beyond your marks{how}."));
    };
    let interval = match found.interval_m {
        [Some(low), Some(high)] if low == high => String::new(),
        [Some(low), Some(high)] => format!(" ({}{} to {})", level(figures), shown(low), shown(high)),
        [Some(low), None] => format!(" ({}{} or farther, beyond your marks)", level(figures), shown(low)),
        [None, Some(high)] => format!(" ({}{} or nearer, beyond your marks)", level(figures), shown(high)),
        [None, None] => " (your marks do not show how far off that may be)".into(),
    };
    Some(format!("Point-on distance {}{interval}.", shown(at)))
}

fn level(figures: &Marks) -> &'static str {
    if figures.curve == Curve::Trajectory { "95 %: " } else { "between the marks at " }
}

/// Says what the other marks expected of one that was noted.
pub(super) fn expected(figures: &Marks, new: &NewMark, units: Units) -> Option<String> {
    let at = figures.table.first()?;
    let value = at.value?;
    let beyond = if at.place == Place::Beyond { ", beyond them" } else { "" };
    let others = count(figures.fitted.len(), "other mark");
    let Some(interval) = at.new_mark_interval else {
        return Some(format!("Your {others} put it near {}.", reading(figures, value, units)));
    };
    let inside = (interval[0]..=interval[1]).contains(&new.reading);
    let verdict = if inside { "" } else { " Yours lies outside: check the reading, or shoot it again." };
    Some(format!(
        "Your {others} expected {} (95 % for a mark noted anew: {}{beyond}).{verdict}",
        reading(figures, value, units),
        range(figures, interval, units)
    ))
}
