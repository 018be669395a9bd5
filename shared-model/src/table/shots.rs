//! Where the arrows of a row struck.

use super::{
    Options,
    cell::{Cells, shown},
    header::Field,
};
use crate::{
    ModelError,
    face::Face,
    notation::{self, Length, Shot, arrow_number},
};

/// An arrow of a group.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Arrow {
    pub point_mm: Option<[f64; 2]>,
    pub number: Option<String>,
    pub flyer: bool,
    pub bare: bool,
    /// Its place in the end, when the row says one.
    pub order: Option<f64>,
}

impl Arrow {
    fn at(point_mm: Option<[f64; 2]>) -> Self {
        Self { point_mm, number: None, flyer: false, bare: false, order: None }
    }
}

/// Reads the arrow of a row that is one arrow.
pub(super) fn arrow(cells: &mut Cells<'_>, face: Option<&Face>, options: &Options) -> Option<Arrow> {
    let mut arrow = if cells.says(Field::Miss) {
        Arrow::at(None)
    } else {
        let before = cells.troubles.len();
        match one(cells, None, face, options) {
            Some(arrow) => arrow,
            None => {
                if cells.troubles.len() == before {
                    cells.trouble(None, nowhere());
                }
                return None;
            }
        }
    };
    if let (Some(number), Some((index, _))) = (cells.name(Field::Arrow), cells.text(Field::Arrow, None)) {
        arrow.number = cells.keep(index, arrow_number(&number));
    }
    let order = cells.text(Field::Order, None).and_then(|(_, text)| text.parse().ok());
    arrow.order = order.filter(|n: &f64| n.is_finite());
    arrow.flyer |= cells.says(Field::Flyer);
    arrow.bare |= cells.says(Field::Bare);
    Some(arrow)
}

/// Reads the arrows of a row that is one end.
pub(super) fn arrows(cells: &mut Cells<'_>, face: Option<&Face>, options: &Options) -> Vec<Arrow> {
    let mut numbers: Vec<u32> = cells.columns.iter().filter_map(|column| column.arrow).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let before = cells.troubles.len();
    let mut arrows: Vec<Arrow> =
        numbers.into_iter().filter_map(|n| one(cells, Some(n), face, options)).collect();
    if let Some((index, text)) = cells.text(Field::Shots, None) {
        let usual = cells.unit(index, options.length);
        // No semicolon: it stands between x and y where these have decimal commas.
        for token in text.split([' ', '\t', '\n', '\r', '|']).filter(|token| !token.is_empty()) {
            let read = shot(token, face, usual);
            arrows.extend(cells.keep(index, read));
        }
    }
    if arrows.is_empty() && cells.troubles.len() == before {
        cells.trouble(None, nowhere());
    }
    for (n, number) in list(cells, Field::Numbers).into_iter().enumerate() {
        let index = cells.text(Field::Numbers, None).map_or(0, |(index, _)| index);
        match arrows.get_mut(n) {
            Some(arrow) => arrow.number = cells.keep(index, arrow_number(&number)),
            None => {
                cells.trouble(None, ModelError::new("too_many", "there are more arrow numbers than arrows"))
            }
        }
    }
    mark(cells, Field::Flyer, &mut arrows, |arrow| arrow.flyer = true);
    mark(cells, Field::Bare, &mut arrows, |arrow| arrow.bare = true);
    arrows
}

/// Reads one arrow; nothing when the row does not speak of it.
fn one(cells: &mut Cells<'_>, n: Option<u32>, face: Option<&Face>, options: &Options) -> Option<Arrow> {
    let (x, y) = (cells.text(Field::X, n), cells.text(Field::Y, n));
    match (x, y) {
        (Some((_, text)), _) | (_, Some((_, text))) if is_miss(text) => return Some(Arrow::at(None)),
        (Some((x, _)), Some((y, _))) => {
            let point = (cells.mm(x, options.length), cells.mm(y, options.length));
            let (Some(x), Some(y)) = point else { return None };
            return Some(Arrow::at(Some([x, y])));
        }
        (Some((index, _)), None) | (None, Some((index, _))) => {
            let message = "an arrow needs both x and y; one of the two cells is empty";
            cells.trouble(Some(index), ModelError::new("missing_field", message));
            return None;
        }
        (None, None) => {}
    }
    if let Some((index, text)) = cells.text(Field::Shot, n) {
        let read = shot(text, face, cells.unit(index, options.length));
        return cells.keep(index, read);
    }
    let (index, score) = cells.text(Field::Score, n)?;
    if is_miss(score) || score == "0" {
        return Some(Arrow::at(None));
    }
    let read = match cells.text(Field::Clock, n) {
        Some((_, clock)) => ring(score, clock, face).map(Arrow::at),
        None => Err(no_direction(score)),
    };
    cells.keep(index, read)
}

/// Reads a shot as it is typed at the range: `9@4:30`, `3:X@12`, `M`, `12,-31`.
fn shot(text: &str, face: Option<&Face>, usual: Length) -> Result<Arrow, ModelError> {
    let place = text.rsplit(':').next().unwrap_or(text).trim_end_matches(['!', 'b', 'B']);
    if !text.contains(['@', ',', ';']) && !is_miss(place) {
        return Err(no_direction(place));
    }
    let any;
    let face = match face {
        Some(face) => face,
        None if text.contains('@') => return Err(no_face()),
        // x and y are the same on every face.
        None => {
            any = Face::by_code("wa_122")?;
            &any
        }
    };
    let Shot { arrow, at, flyer, bare } = notation::shot(text, face, usual)?;
    Ok(Arrow { point_mm: at, number: arrow, flyer, bare, order: None })
}

/// Returns the middle of a ring in the direction of a clock position.
fn ring(score: &str, clock: &str, face: Option<&Face>) -> Result<Option<[f64; 2]>, ModelError> {
    let face = face.ok_or_else(no_face)?;
    let clock = clock.trim().to_lowercase().replace('h', ":");
    let clock = match clock.parse::<f64>() {
        // Half past four may stand as 4.5 in a sheet.
        Ok(hours) if (0.0..13.0).contains(&hours) => {
            let minutes = libm::round(hours * 60.0) as u32;
            format!("{}:{:02}", if minutes < 60 { 12 } else { minutes / 60 }, minutes % 60)
        }
        _ => clock.trim_end_matches(':').to_owned(),
    };
    Ok(notation::shot(&format!("{}@{clock}", score.trim()), face, Length::Mm)?.at)
}

fn mark(cells: &mut Cells<'_>, field: Field, arrows: &mut [Arrow], set: fn(&mut Arrow)) {
    for token in list(cells, field) {
        let index = cells.text(field, None).map(|(index, _)| index);
        match token.to_lowercase().as_str() {
            "all" | "yes" | "y" | "true" | "bare" => arrows.iter_mut().for_each(set),
            "no" | "n" | "none" | "false" | "0" | "-" => {}
            n => match n.parse::<usize>().ok().and_then(|n| arrows.get_mut(n.checked_sub(1)?)) {
                Some(arrow) => set(arrow),
                None => {
                    let message = format!(
                        "`{}` is no arrow of this end; list them by their place in it, the first is 1",
                        shown(n)
                    );
                    cells.trouble(index, ModelError::new("no_such_arrow", message));
                }
            },
        }
    }
}

fn list(cells: &Cells<'_>, field: Field) -> Vec<String> {
    let text = cells.text(field, None).map_or("", |(_, text)| text);
    text.split([' ', ',', ';', '|']).filter(|token| !token.is_empty()).map(str::to_owned).collect()
}

fn is_miss(text: &str) -> bool {
    matches!(text.trim().to_lowercase().as_str(), "m" | "miss" | "missed")
}

fn no_face() -> ModelError {
    let message = "a ring lies somewhere only on a face; give the face, in a column or with --face";
    ModelError::new("missing_face", message)
}

fn nowhere() -> ModelError {
    ModelError::new(
        "missing_field",
        "the row does not say where an arrow struck; give x and y, or a ring with its clock position, or M \
         for a miss",
    )
}

fn no_direction(score: &str) -> ModelError {
    let message = format!(
        "`{}` alone does not say where the arrow struck; write the clock position with it, like 9@4:30",
        shown(score)
    );
    ModelError::new("no_direction", message)
}
