//! How each archer's groups answer to a numeric setting of a bow: sentence, table, picture.

use super::{
    bow::{names, seasons},
    dial_words::dial_sentence,
    far_off::{answer_without, set_apart},
    name_and_unit,
    plot::{Canvas, with_scale},
    sentence::{lower_first, upper_first},
    units::{Units, trimmed},
};
use crate::{
    ModelError,
    id::ThingId,
    named::name_of,
    replica::Store,
    stats::dial::{Best, Dial, dial},
    timeline::{Season, Timeline},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// How groups with a bow answer to one of its settings.
#[derive(Debug, Clone, Serialize)]
pub struct BowDial {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// The setting.
    pub setting: String,
    /// One an archer who shot the bow.
    pub archers: Vec<ArcherDial>,
}

/// How one archer's groups answer.
#[derive(Debug, Clone, Serialize)]
pub struct ArcherDial {
    /// The archer, where the groups name one.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub name: String,
    /// Groups that were there to be used.
    pub groups: usize,
    /// The answer in words.
    pub sentence: String,
    /// The figures of `dial`; null where the groups cannot be asked, which the sentence then says.
    pub figures: Option<Dial>,
}

/// Returns how groups answer to a setting, by its field; `only` names the one archer who is asked about.
///
/// # Errors
/// Those of the store.
pub fn bow_dial<S: Store>(
    store: &S,
    bow: ThingId,
    setting: &str,
    only: Option<ThingId>,
    confidence: f64,
    units: Units,
) -> Result<BowDial, S::Error> {
    let names = names(store)?;
    let timeline = Timeline::read(store, bow)?;
    let answer = |(archer, season): (Option<ThingId>, Season)| {
        let asked = |season: &Season| dial(&season.dial_input(setting, confidence));
        let words = |found: &Dial| dial_sentence(found, confidence, units, &|id| called(&season, id, &names));
        let (sentence, figures) = match asked(&season) {
            Ok(found) => {
                let again = set_apart(&season).and_then(|(s, arrows)| Some((asked(&s).ok()?, arrows)));
                let without = again.map_or_else(String::new, |(again, arrows)| {
                    let same = claims(&again, confidence) == claims(&found, confidence);
                    format!(
                        " {}",
                        answer_without(arrows, (!same).then(|| lower_first(&words(&again))).as_deref())
                    )
                });
                (words(&found) + &without, Some(found))
            }
            Err(e) => (refusal(&e, setting), None),
        };
        ArcherDial {
            archer,
            name: archer.map_or("someone".into(), |id| name_of(&names, id)),
            groups: season.groups.len(),
            sentence,
            figures,
        }
    };
    let archers = seasons(store, &timeline, only)?.into_iter().map(answer).collect();
    Ok(BowDial { bow, name: name_of(&names, bow), setting: setting.to_owned(), archers })
}

/// Returns why there is no answer; the statistics know the setting by its field, people by its name.
fn refusal(e: &ModelError, setting: &str) -> String {
    format!("{}.", upper_first(&e.message.replace(setting, &name_and_unit(setting).0)))
}

/// Returns what a dial's answer claims: that the groups move with it, that they lie on no line, that there is a best
/// value, that the spread grows or shrinks with it.
fn claims(found: &Dial, confidence: f64) -> [bool; 4] {
    let clear = |p: Option<f64>| p.is_some_and(|p| p < 1.0 - confidence);
    [
        clear(found.shift_p_adjusted),
        clear(found.straightness.map(|s| s.p_adjusted)),
        found.spread.best == Best::Shown,
        found.spread.sd_ratio_per_unit_interval.is_some_and(|[low, high]| low > 1.0 || high < 1.0),
    ]
}

/// Returns what a change altered, in words.
fn called(season: &Season, id: &str, names: &BTreeMap<ThingId, String>) -> String {
    let change = season.changes.iter().find(|c| c.id == id);
    change.map_or_else(|| id.to_owned(), |c| super::bow::change_words(c, names))
}

/// Returns the values shot as rows of cells; the first row holds the heads.
pub fn dial_table(found: &Dial, units: Units) -> Vec<Vec<String>> {
    let (name, unit) = name_and_unit(&found.dial);
    let mm = units.unit();
    let heads = [
        format!("{name} {unit}").trim_end().to_owned(),
        "ends".into(),
        "arrows".into(),
        format!("right {mm}"),
        format!("high {mm}"),
        format!("SD {mm}"),
    ];
    let row = |v: &crate::stats::dial::DialValue| {
        vec![
            trimmed(v.value, 3),
            v.ends.to_string(),
            v.arrows.to_string(),
            units.number(v.mean_mm[0]),
            units.number(v.mean_mm[1]),
            v.sd_mm.map_or("-".into(), |sd| units.number(sd)),
        ]
    };
    std::iter::once(heads.to_vec()).chain(found.values.iter().map(row)).collect()
}

/// Lines of each of the three pictures.
const LINES: usize = 7;

/// Draws mean and spread against the value.
pub fn dial_plot(found: &Dial, units: Units, columns: usize) -> String {
    let (unit, at) = (units.unit_word(), units.distance(found.distance_m));
    let drawn = |values: Vec<Option<f64>>, title: String, slope: Option<f64>, upright: Option<f64>| {
        panel(found, &values, &title, slope, upright, columns.clamp(30, 200) - 10)
    };
    let mut parts = Vec::new();
    for (axis, name) in ["right", "high"].iter().enumerate() {
        let means = found.values.iter().map(|v| Some(units.reading(v.mean_mm[axis]))).collect();
        let slope = found.shift_mrad_per_unit.map(|s| units.reading(s[axis] * found.distance_m));
        let line = if slope.is_some() { ", with the line" } else { "" };
        parts.push(drawn(means, format!("Mean point of impact, {unit} {name} at {at}{line}"), slope, None));
    }
    let sds = found.values.iter().map(|v| v.sd_mm.map(|sd| units.reading(sd))).collect();
    let best = found.spread.smallest_at;
    let line = if best.is_some() { "; upright where it is smallest" } else { "" };
    parts.push(drawn(sds, format!("SD within an end, {unit} at {at}{line}"), None, best));
    parts.join("\n")
}

fn panel(
    found: &Dial,
    values: &[Option<f64>],
    title: &str,
    slope: Option<f64>,
    upright: Option<f64>,
    columns: usize,
) -> String {
    let at: Vec<f64> = found.values.iter().map(|v| v.value).collect();
    let (first, last) = (at[0], at[at.len() - 1]);
    let across = |v: f64| 1.9 * (v - first) / (last - first) - 0.95;
    let arrows: f64 = found.values.iter().map(|v| v.arrows as f64).sum();
    let mean = |of: &dyn Fn(usize) -> f64| {
        (0..at.len()).map(|i| found.values[i].arrows as f64 * of(i)).sum::<f64>() / arrows
    };
    let (middle, height) = (mean(&|i| at[i]), mean(&|i| values[i].unwrap_or(0.0)));
    let line = |v: f64| slope.map(|slope| height + slope * (v - middle));
    let known = || values.iter().copied().chain([line(first), line(last)]).flatten();
    let Some(start) = known().next() else { return format!("{title}: nothing to draw yet\n") };
    let (low, high) = known().fold((start, start), |(l, h), v| (l.min(v), h.max(v)));
    let margin = if high > low { 0.08 * (high - low) } else { 1.0 };
    let (low, high) = (low - margin, high + margin);
    let up = |v: f64| 2.0 * (v - low) / (high - low) - 1.0;
    let mut canvas = Canvas::new(columns, LINES);
    if let Some(best) = upright {
        canvas.upright(across(best));
    }
    for i in 0..=2 * columns {
        let v = first + (last - first) * i as f64 / (2 * columns) as f64;
        if let Some(y) = line(v) {
            canvas.dot(across(v), up(y));
        }
    }
    for (v, y) in at.iter().zip(values) {
        if let Some(y) = y {
            canvas.mark(across(*v), up(*y), 'o');
        }
    }
    format!("{}{}", with_scale(title, &canvas, low, high), footer(found, columns))
}

/// Returns the line beneath a picture: the lowest value, what it is of, the highest.
fn footer(found: &Dial, columns: usize) -> String {
    let value = |i: usize| trimmed(found.values[i].value, 3);
    let (name, unit) = name_and_unit(&found.dial);
    let (left, right) = (value(0), format!("{} {unit}", value(found.values.len() - 1)).trim_end().to_owned());
    let gap = columns.saturating_sub(left.len() + right.len() + name.len());
    let (before, after) = (" ".repeat(gap / 2), " ".repeat(gap - gap / 2));
    format!("{}{left}{before}{name}{after}{right}\n", " ".repeat(10))
}
