//! A bow's draw curve: weight at any draw, at the archer's own, what it gains near full draw, what it stores and gives.

mod beyond;
mod energy;
mod held;
mod plot;
mod sheet;
mod words;

pub use plot::{CurveToDraw, curve_plot, curve_svg};
pub use sheet::{Beside, CurveAsked, CurveFigures, CurveRow, CurveSheet, PointRow};

pub(super) use held::{Drawer, Held, altered_since, held, otherwise, own_draw_in, weight_since};

use super::{
    bow::{day_words, names},
    bow_sheet::{PRACTICE, Said},
    sentence::list,
    units::{Units, trimmed},
};
use crate::{
    ModelError,
    id::ThingId,
    named::name_of,
    records::setup_here,
    replica::Store,
    rig::{caution, force_draw::DrawCurve, stacking::stacking},
    stats::fit::BEYOND_PIVOT_IN,
    timeline::Timeline,
};
use std::collections::BTreeMap;

/// By whom weights between the measured ones are found.
const METHOD: &str = "monotone cubic through the points: Fritsch and Carlson 1980, Fritsch and Butland 1984";
/// Measured points that lie farther apart near full draw say little of the last inch, in.
const FAR_APART_IN: f64 = 2.0;

/// Returns what the latest draw curve of a bow says.
///
/// # Errors
/// Those of the store; `out_of_range` at `at` for a draw outside what was measured, `no_curve` where a weight is asked for
/// and none was measured.
pub fn curve_sheet<S: Store>(store: &S, bow: ThingId, asked: &CurveAsked) -> Result<CurveSheet, S::Error> {
    let names = names(store)?;
    let timeline = Timeline::read(store, bow)?;
    let (curves, unread) = held(store, &timeline, &setup_here(store, bow)?, &names)?;
    let name = name_of(&names, bow);
    let Some(latest) = curves.first() else { return Ok(nothing(bow, name, asked, unread)?) };
    let drawer = match asked.archer {
        Some(id) => Drawer::read(store, id, &names)?,
        None => Drawer::of_bow(store, &timeline, asked.me, &names)?,
    };
    let telling = Telling { store, timeline: &timeline, names: &names, latest, drawer: &drawer, asked };
    let mut sheet = telling.sheet(name)?;
    sheet.remarks.extend(unread.into_iter().map(|why| format!("{why}.")));
    sheet.curves = curves.iter().map(|one| row(one, asked.units)).collect();
    if let Some(other) = asked.beside.filter(|other| *other != bow) {
        telling.lay_beside(other, &mut sheet)?;
    }
    let label = match &sheet.beside {
        Some(beside) => {
            format!("Draw curves of {} and {}: weight on the fingers over the draw", sheet.name, beside.name)
        }
        None => format!("Draw curve of {}: weight on the fingers over the draw", sheet.name),
    };
    sheet.svg = curve_svg(&sheet.drawn, drawer.draw_in, &label);
    Ok(sheet)
}

/// Says that there is no curve yet, and how one is measured.
fn nothing(
    bow: ThingId,
    name: String,
    asked: &CurveAsked,
    unread: Vec<String>,
) -> Result<CurveSheet, ModelError> {
    let head = format!(
        "No draw curve of {name} is noted yet. Hang the bow on a scale and read the weight every inch or two up to your own \
         draw, each draw to the grip's pivot point and {BEYOND_PIVOT_IN} in added; never draw past the makers' limits."
    );
    if !asked.at_in.is_empty() {
        return Err(ModelError::new("no_curve", head).at("at"));
    }
    Ok(CurveSheet {
        bow,
        name,
        curve: None,
        day: None,
        head,
        how: words::how(),
        stale: None,
        points: Vec::new(),
        asked: Vec::new(),
        said: Vec::new(),
        figures: None,
        beside: None,
        remarks: unread,
        curves: Vec::new(),
        svg: None,
        cautions: vec![caution::WEIGHT, caution::DRY_FIRE],
        drawn: Vec::new(),
    })
}

/// Returns a curve in a row of all.
fn row(one: &Held, units: Units) -> CurveRow {
    let [first, last] = [one.points.first(), one.points.last()].map(|p| p.map_or(0.0, |p| p[0]));
    let state = if one.is_valid() { "" } else { ", of an older setup" };
    CurveRow {
        id: one.id,
        at: one.at.rfc3339(),
        points: one.points.clone(),
        no_weight_draw_in: one.added_in,
        words: format!(
            "{}: {} points from {} to {}{state}",
            day_words(&one.at.day()),
            one.points.len(),
            words::draw(first, units),
            words::draw(last, units)
        ),
        valid: one.is_valid(),
        note: one.note.clone(),
    }
}

/// The latest curve of a bow while it is told of.
struct Telling<'a, S> {
    store: &'a S,
    timeline: &'a Timeline,
    names: &'a BTreeMap<ThingId, String>,
    latest: &'a Held,
    drawer: &'a Drawer,
    asked: &'a CurveAsked,
}

impl<S: Store> Telling<'_, S> {
    fn sheet(&self, name: String) -> Result<CurveSheet, S::Error> {
        let (one, units) = (self.latest, self.asked.units);
        let limit = self.limit()?;
        let day = day_words(&one.at.day());
        let asked = self.asked.at_in.iter().map(|draw| weight_at(one, *draw, limit, units));
        let asked = asked.collect::<Result<Vec<_>, _>>()?;
        let mut said = Vec::new();
        let mut figures = self.own(limit, &mut said);
        let beyond = self.beyond(&figures)?;
        said.extend(beyond.iter().map(|one| Said {
            words: one.said(),
            source: one.whose.clone(),
            caution: Some(one.caution),
        }));
        self.gain(&mut figures, &mut said);
        let mut remarks = self.remarks();
        self.energy(&mut figures, &mut said, &mut remarks)?;
        Ok(CurveSheet {
            bow: self.timeline.bow,
            head: self.head(&name, &figures, &day),
            how: words::how(),
            drawn: vec![CurveToDraw::new(&name, one)],
            name,
            curve: Some(one.id),
            day: Some(day),
            stale: stale(one),
            points: points_of(one, units),
            asked,
            said,
            figures: Some(figures),
            beside: None,
            remarks,
            curves: Vec::new(),
            svg: None,
            cautions: cautions(!beyond.is_empty()),
        })
    }

    fn head(&self, name: &str, figures: &CurveFigures, day: &str) -> String {
        let (draw, weight) = (
            words::draw(figures.full_draw_in, self.asked.units),
            words::weight(figures.weight_lbf, self.asked.units),
        );
        match figures.own_draw {
            true => format!(
                "{name}: {weight} on the fingers at {}'s draw of {draw}, measured {day}.",
                self.drawer.name
            ),
            false => format!("{name}: {weight} at {draw}, the last draw measured, {day}."),
        }
    }

    /// Returns the longest draw that a maker allows, inches.
    fn limit(&self) -> Result<Option<f64>, S::Error> {
        let most = self.makers()?.into_iter().filter_map(|part| part.most_draw_in);
        Ok(most.min_by(f64::total_cmp))
    }

    /// Says the weight at the archer's own draw, where it was measured.
    fn own(&self, limit: Option<f64>, said: &mut Vec<Said>) -> CurveFigures {
        let (one, units) = (self.latest, self.asked.units);
        let name = &self.drawer.name;
        let own = self.drawer.draw_in.and_then(|draw| Some((draw, one.curve.at(draw)?)));
        let last = one.last_in();
        let (full, [weight, slope]) = own.unwrap_or_else(|| (last, one.curve.at(last).unwrap_or([0.0, 0.0])));
        let source = METHOD.to_owned();
        let said_of_own = match (own, self.drawer.draw_in) {
            (Some((draw, _)), _) => {
                format!("{} at {name}'s draw of {}.", words::weight(weight, units), words::draw(draw, units))
            }
            (None, Some(draw)) => format!(
                "{name}'s draw of {} lies outside what was measured, {} to {}: nothing is said of it.{}",
                words::draw(draw, units),
                words::draw(one.curve.span_in()[0], units),
                words::draw(last, units),
                never_past(limit, units)
            ),
            (None, None) => {
                format!("{name}'s draw length is not noted: what follows is for the last draw measured.")
            }
        };
        said.push(Said { words: said_of_own, source, caution: Some(caution::WEIGHT) });
        CurveFigures {
            full_draw_in: full,
            own_draw: own.is_some(),
            weight_lbf: weight,
            slope_lbf_per_in: slope,
            from_no_weight: one.begins_at_rest(),
            ..CurveFigures::default()
        }
    }

    /// Says how the bow gains weight near full draw.
    fn gain(&self, figures: &mut CurveFigures, said: &mut Vec<Said>) {
        let units = self.asked.units;
        let (at, by) = (words::draw(figures.full_draw_in, units), trimmed(figures.slope_lbf_per_in, 1));
        let slope = if figures.full_draw_in < self.latest.last_in() {
            format!("At {at} it gains {by} lbf for each inch more.")
        } else {
            format!("Up to {at}, the last draw measured, it gains {by} lbf for each inch at the end.")
        };
        said.push(Said { words: slope, source: METHOD.into(), caution: None });
        let Some(found) = stacking(&self.latest.curve, figures.full_draw_in) else { return };
        figures.last_inch_lbf_per_in = Some(found.last_lbf_per_in);
        figures.middle_lbf_per_in = Some(found.middle_lbf_per_in);
        figures.stacking = found.ratio;
        let words = words::gain(&found, figures.full_draw_in, units);
        said.push(Said { words, source: PRACTICE.into(), caution: None });
    }

    fn remarks(&self) -> Vec<String> {
        let one = self.latest;
        let mut remarks = Vec::new();
        if let Some(draw) = one.added_in {
            remarks.push(format!(
                "The point without weight at {} was added by the brace height, not measured.",
                words::draw(draw, self.asked.units)
            ));
        }
        let gap = one.points.windows(2).last().map(|pair| pair[1][0] - pair[0][0]);
        if let Some(gap) = gap.filter(|gap| *gap > FAR_APART_IN) {
            remarks.push(format!(
                "The last two points lie {} in apart: what the last inch gains is no more than these can say.",
                trimmed(gap, 2)
            ));
        }
        if !one.noted_since.is_empty() {
            remarks.push(format!(
                "Noted only since, so that nobody knows whether it was so when this was measured: {}.",
                list(&one.noted_since)
            ));
        }
        remarks
    }

    /// Lays the curve of another bow over this one.
    fn lay_beside(&self, other: ThingId, sheet: &mut CurveSheet) -> Result<(), S::Error> {
        let units = self.asked.units;
        let name = name_of(self.names, other);
        let timeline = Timeline::read(self.store, other)?;
        let (curves, _) = held(self.store, &timeline, &setup_here(self.store, other)?, self.names)?;
        let Some(theirs) = curves.first() else {
            let message = format!("no draw curve of {name} is noted yet: measure one, or leave it out");
            return Err(ModelError::new("no_curve", message).at("beside").into());
        };
        let full = sheet.figures.as_ref().map_or(0.0, |f| f.full_draw_in);
        let draws = if self.asked.at_in.is_empty() { vec![full] } else { self.asked.at_in.clone() };
        let (mut words, mut not) = (Vec::new(), Vec::new());
        for draw in draws {
            match (self.latest.curve.at(draw), theirs.curve.at(draw)) {
                (Some([ours, _]), Some([lbf, _])) => {
                    words.push(compared(&sheet.name, &name, [ours, lbf], draw, units));
                }
                _ => not.push(words::draw(draw, units)),
            }
        }
        if !not.is_empty() {
            words.push(format!(
                "{name} was measured from {} to {}, so the two cannot be compared at {}.",
                words::draw(theirs.curve.span_in()[0], units),
                words::draw(theirs.last_in(), units),
                list(&not)
            ));
        }
        if !theirs.is_valid() {
            words
                .push(format!("{name} was altered since its curve was measured: {}.", list(&theirs.changed)));
        }
        sheet.drawn.push(CurveToDraw::new(&name, theirs));
        sheet.beside = Some(Beside { bow: other, name, day: Some(day_words(&theirs.at.day())), words });
        Ok(())
    }
}

/// Returns the points of a curve, the one without weight that was added among them.
fn points_of(one: &Held, units: Units) -> Vec<PointRow> {
    let added = one.added_in.map(|draw| point(&one.curve, draw, units, true));
    let measured = one.points.iter().map(|[draw, lbf]| measured_point(*draw, *lbf, units));
    added.into_iter().flatten().chain(measured).collect()
}

/// Returns what to take care of with a curve; what is beyond a limit first.
fn cautions(beyond: bool) -> Vec<&'static str> {
    let first = beyond.then_some(caution::BEYOND);
    caution::once(first.into_iter().chain([caution::WEIGHT, caution::DRY_FIRE, caution::FIRST]))
}

/// Says that a curve is of an older setup.
fn stale(one: &Held) -> Option<String> {
    (!one.is_valid()).then(|| {
        format!(
            "Measured before a change: {}. This is the curve of the old setup; measure again for the bow as it is now.",
            list(&one.changed)
        )
    })
}

fn compared(ours: &str, theirs: &str, [a, b]: [f64; 2], draw: f64, units: Units) -> String {
    let [one, other] = [a, b].map(|lbf| words::weight(lbf, units));
    let apart = trimmed((a - b).abs(), 1);
    let than = match apart.as_str() {
        "0" => "the same".to_owned(),
        _ if a > b => format!("{ours} pulls {apart} lbf more"),
        _ => format!("{ours} pulls {apart} lbf less"),
    };
    format!("At {}: {ours} {one}, {theirs} {other}; {than}.", words::draw(draw, units))
}

fn measured_point(draw_in: f64, weight_lbf: f64, units: Units) -> PointRow {
    PointRow {
        draw_in,
        weight_lbf,
        slope_lbf_per_in: None,
        draw: words::draw(draw_in, units),
        weight: words::weight(weight_lbf, units),
        added: false,
    }
}

fn point(curve: &DrawCurve, draw: f64, units: Units, added: bool) -> Option<PointRow> {
    let [lbf, slope] = curve.at(draw)?;
    Some(PointRow { slope_lbf_per_in: (!added).then_some(slope), added, ..measured_point(draw, lbf, units) })
}

/// Returns the weight at a draw.
fn weight_at(one: &Held, draw: f64, limit: Option<f64>, units: Units) -> Result<PointRow, ModelError> {
    point(&one.curve, draw, units, false).ok_or_else(|| {
        let [first, last] = one.curve.span_in();
        let [asked, first_words, last_words] = [draw, first, last].map(|inches| words::draw(inches, units));
        let message = if draw > last {
            format!(
                "{asked} is beyond {last_words}, the last draw that was measured: nothing is said of it.{}",
                never_past(limit, units)
            )
        } else {
            format!("{asked} lies before {first_words}, where the curve begins: nothing is said of it")
        };
        ModelError::new("out_of_range", message).at("at")
    })
}

fn never_past(limit: Option<f64>, units: Units) -> String {
    match limit {
        Some(most) => format!(" Never draw past the maker's limit, {}.", words::draw(most, units)),
        None => " Never draw past the maker's limit.".to_owned(),
    }
}
