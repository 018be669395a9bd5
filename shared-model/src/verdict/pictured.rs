//! A verdict as pictures: the ends before and after on the face, and the intervals beside what is too small to matter.

use super::{
    bow::{ArcherVerdict, Judged},
    sentence::{along, beside, directed, percent, ratio_bounds, ratio_words, says_nothing, too_wide},
    units::{Units, count},
};
use crate::{
    chart::{Band, BeforeAfter, Ellipse, Side, band, before_after},
    face::Face,
    stats::{
        effects::{Effect, RATIO_THAT_MATTERS},
        group::group,
    },
    timeline::{EndMean, Season},
};
use serde::Serialize;

/// The confidence of intervals and ellipses.
const CONFIDENCE: f64 = 0.95;

/// A verdict in pictures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pictured {
    /// The ends before and after on the face, SVG.
    pub picture: String,
    /// One an axis.
    pub bands: Vec<AxisBand>,
    /// The ends before, in words.
    pub before: String,
    /// The ends after, in words.
    pub after: String,
    /// What to know of the picture.
    pub remarks: Vec<String>,
}

/// An interval of a verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AxisBand {
    /// `sideways`, `height` or `spread`.
    pub axis: &'static str,
    /// What it says.
    pub words: String,
    /// The picture, SVG.
    pub svg: String,
}

/// Draws a verdict of an archer whose season is given.
pub fn pictured(archer: &ArcherVerdict, judged: &Judged, season: &Season, units: Units) -> Pictured {
    let [before, after] = season.around(&judged.effect.changes);
    let sides = [side(&before, archer.distance_m, "before"), side(&after, archer.distance_m, "after")];
    let face: Option<Face> = season.face().and_then(|json| serde_json::from_str(json).ok());
    let words = [(&before, &sides[0]), (&after, &sides[1])].map(|(ends, side)| side_words(ends, side, units));
    let label = format!("The ends on the face. Before: {}. After: {}.", words[0], words[1]);
    let picture = before_after(&BeforeAfter {
        face: face.as_ref(),
        before: &sides[0],
        after: &sides[1],
        units,
        ellipse_words: "ellipses: where the middle lies, 95 %",
        label: &label,
    });
    let mut bands = place_bands(archer, &judged.effect, units);
    bands.extend(spread_band(&judged.effect));
    let remarks = remarks(archer, &judged.effect, &sides, [&before, &after]);
    let [before, after] = words;
    Pictured { picture, bands, before, after, remarks }
}

fn side(ends: &[EndMean], distance_m: f64, name: &str) -> Side {
    let points_mm: Vec<[f64; 2]> = ends.iter().map(|e| e.mean_mrad.map(|v| v * distance_m)).collect();
    let figures = group(&points_mm, None, CONFIDENCE).ok();
    let mean_mm = figures.as_ref().map(|f| f.mpi_mm);
    // Of three ends the ellipse is sixteen SDs long: it would say nothing but that.
    let ellipse = figures.filter(|f| f.n > 3).as_ref().and_then(Ellipse::of_mean);
    let words = format!("{name}: {}", count(ends.len(), "end"));
    Side { points_mm, mean_mm, ellipse, words }
}

fn side_words(ends: &[EndMean], side: &Side, units: Units) -> String {
    let arrows = ends.iter().map(|e| e.arrows).sum::<usize>();
    let shot = format!("{}, {}", count(ends.len(), "end"), count(arrows, "arrow"));
    side.mean_mm.map_or_else(|| shot.clone(), |mean| format!("{shot}, middle {}", beside(mean, units)))
}

/// Says where the picture shows something else than the figures.
fn remarks(archer: &ArcherVerdict, effect: &Effect, sides: &[Side; 2], ends: [&[EndMean]; 2]) -> Vec<String> {
    let mut remarks = Vec::new();
    let mut sights = ends.iter().flat_map(|side| side.iter().map(|end| &end.sight));
    let first = sights.next();
    if sights.any(|sight| Some(sight) != first) {
        remarks.push("the ends in the picture were shot with more than one setting of the sight".into());
    }
    let Some((([a, b], shift), matters)) = sides[0]
        .mean_mm
        .zip(sides[1].mean_mm)
        .map(|(a, b)| [a, b])
        .zip(effect.shift_mrad)
        .zip(archer.season.matters_mrad)
    else {
        return remarks;
    };
    let off = [0, 1].map(|axis| b[axis] - a[axis] - shift[axis] * archer.distance_m);
    if off.iter().any(|v| v.abs() > 0.5 * matters * archer.distance_m) {
        remarks.push(
            "the picture shows the ends as they were shot; the figures allow for what differed from day to day".into(),
        );
    }
    remarks
}

fn place_bands(archer: &ArcherVerdict, effect: &Effect, units: Units) -> Vec<AxisBand> {
    let Some(shift) = effect.shift_mrad else { return Vec::new() };
    let read = |mrad: f64| units.reading(mrad * archer.distance_m);
    let interval = effect.shift_interval_mrad;
    let sigma = archer.season.sigma_mrad;
    let small = archer.season.matters_mrad.map(read);
    let known = |axis: usize| interval.map(|i| i[axis]).filter(|i| !says_nothing(*i, sigma));
    // One line for both axes, so that they compare.
    let ends = (0..2).flat_map(|a| known(a).unwrap_or([shift[a]; 2])).map(read);
    let range = ends.chain(small.iter().flat_map(|s| [-1.3 * s, 1.3 * s])).fold([0.0, 0.0], widened);
    let range = with_margin(range);
    let unit = units.unit();
    let names = [("sideways", "Sideways", "left", "right"), ("height", "Height", "low", "high")];
    let of_axis = |(axis, (name, upper, below, above)): (usize, (&'static str, &str, &str, &str))| {
        let mm = |mrad: f64| mrad * archer.distance_m;
        let said = shift_said(
            axis,
            mm(shift[axis]),
            known(axis).map(|i| i.map(mm)),
            archer.season.matters_mrad.map(mm),
            units,
        );
        let words = format!("{upper}: {said}");
        let svg = band(&Band {
            range,
            interval: known(axis).map(|i| i.map(read)),
            estimate: Some(read(shift[axis])),
            small: small.map(|s| [-s, s]),
            ends: [&format!("{below}, {unit}"), &format!("{above}, {unit}")],
            label: &words,
        });
        AxisBand { axis: name, words, svg }
    };
    names.into_iter().enumerate().map(of_axis).collect()
}

fn shift_said(
    axis: usize,
    mm: f64,
    interval: Option<[f64; 2]>,
    matters: Option<f64>,
    units: Units,
) -> String {
    let Some([low, high]) = interval else {
        return format!(
            "so far {}, from too few sessions to say how far that may be off",
            directed(mm, axis, units)
        );
    };
    let confidence = percent(CONFIDENCE);
    let clear = low > 0.0 || high < 0.0;
    let (far, bounds) = along(axis, mm, [low, high], units);
    let bounds = if clear {
        bounds
    } else {
        format!("{} to {}", directed(low, axis, units), directed(high, axis, units))
    };
    let inside = matters.map(|m| (low > -m && high < m, low < m && high > -m));
    let little = match (inside, clear) {
        (Some((true, _)), _) => "; too small to matter",
        (Some((_, true)), true) => "; maybe too small to matter",
        (_, false) => "; cannot tell yet",
        _ => "",
    };
    format!("{far} ({confidence}: {bounds}){little}")
}

fn spread_band(effect: &Effect) -> Option<AxisBand> {
    let ratio = effect.sd_ratio?;
    let interval = effect.sd_ratio_interval.filter(|i| !too_wide(Some(*i)));
    let percent_of = |ratio: f64| 100.0 * (ratio - 1.0);
    let small = [1.0 / RATIO_THAT_MATTERS, RATIO_THAT_MATTERS].map(percent_of);
    let shown = interval.unwrap_or([ratio; 2]).map(|v| percent_of(v).clamp(-95.0, 150.0));
    let range = with_margin(shown.into_iter().chain(small.map(|s| 1.3 * s)).fold([0.0, 0.0], widened));
    let than = ratio_words(ratio);
    let words = match interval {
        Some(bounds) => format!("Spread: {than} ({})", ratio_bounds(bounds, CONFIDENCE)),
        None => format!("Spread: so far {than}, from too few ends to say how far that may be off"),
    };
    let svg = band(&Band {
        range,
        interval: interval.map(|i| i.map(percent_of)),
        estimate: Some(percent_of(ratio)),
        small: Some(small),
        ends: ["smaller, %", "larger, %"],
        label: &words,
    });
    Some(AxisBand { axis: "spread", words, svg })
}

fn widened([low, high]: [f64; 2], value: f64) -> [f64; 2] {
    [low.min(value), high.max(value)]
}

fn with_margin([low, high]: [f64; 2]) -> [f64; 2] {
    let more = 0.04 * (high - low);
    [low - more, high + more]
}
