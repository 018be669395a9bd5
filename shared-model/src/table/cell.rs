//! The cells of one row, read as what their columns hold; what is wrong is noted with its place.

use super::{
    Trouble,
    header::{Column, Field, Unit},
    sheet::Row,
};
use crate::{
    ModelError,
    notation::{Length, rounded},
};

/// A row with the columns it is read by.
pub(super) struct Cells<'a> {
    pub row: &'a Row,
    pub headers: &'a [String],
    pub columns: &'a [Column],
    pub troubles: Vec<Trouble>,
}

impl<'a> Cells<'a> {
    /// Returns the text of a field, when there is any, with the index of its column.
    pub fn text(&self, field: Field, arrow: Option<u32>) -> Option<(usize, &'a str)> {
        let index = self.columns.iter().position(|c| c.field == field && c.arrow == arrow)?;
        let text = self.row.cells.get(index).map(String::as_str).filter(|text| !text.is_empty())?;
        Some((index, text))
    }

    /// Returns the text of a field as a name: without the mark that keeps spreadsheets from computing it.
    pub fn name(&self, field: Field) -> Option<String> {
        let (_, text) = self.text(field, None)?;
        Some(unguard(text).to_owned())
    }

    /// Notes what is wrong with a column of this row.
    pub fn trouble(&mut self, column: Option<usize>, error: ModelError) {
        self.troubles.push(Trouble {
            line: self.row.line,
            column: column.and_then(|index| self.headers.get(index)).cloned(),
            code: error.code,
            message: error.message,
        });
    }

    /// Keeps a value, or notes why there is none.
    pub fn keep<T>(&mut self, column: usize, read: Result<T, ModelError>) -> Option<T> {
        read.map_err(|error| self.trouble(Some(column), error)).ok()
    }

    /// Reads a length in mm; the cell's own unit comes before the header's, which comes before `usual`.
    pub fn mm(&mut self, index: usize, usual: Length) -> Option<f64> {
        let (value, unit) = self.measured(index, usual)?;
        Some(if unit == Length::Mm { value } else { rounded(value * unit.mm()) })
    }

    /// Reads a length in m.
    pub fn metres(&mut self, index: usize, usual: Length) -> Option<f64> {
        let (value, unit) = self.measured(index, usual)?;
        Some(metres(value, unit))
    }

    /// Reads a plain number.
    pub fn number(&mut self, index: usize) -> Option<f64> {
        let read = number(&self.row.cells[index]).and_then(|(value, unit)| {
            if unit.is_empty() { Ok(value) } else { Err(bad_number(&self.row.cells[index])) }
        });
        self.keep(index, read)
    }

    /// Reads a cell that says yes or no; an empty one says no.
    pub fn says(&mut self, field: Field) -> bool {
        let Some((index, text)) = self.text(field, None) else { return false };
        let read = match text.to_lowercase().as_str() {
            "1" | "y" | "yes" | "true" | "x" | "flyer" | "flier" | "outlier" | "bare" | "miss" | "m" => {
                Ok(true)
            }
            "0" | "n" | "no" | "false" | "-" => Ok(false),
            _ => Err(ModelError::new("bad_yes_no", format!("`{}` is neither yes nor no", shown(text)))),
        };
        self.keep(index, read).unwrap_or(false)
    }

    fn measured(&mut self, index: usize, usual: Length) -> Option<(f64, Length)> {
        let cell = &self.row.cells[index];
        let read = number(cell).and_then(|(value, unit)| {
            if unit.is_empty() {
                return Ok((value, self.unit(index, usual)));
            }
            let unit = Length::named(unit).ok_or_else(|| {
                let message =
                    format!("`{}` has no unit of length; write mm, cm, m, in, ft or yd", shown(cell));
                ModelError::new("bad_unit", message)
            })?;
            Ok((value, unit))
        });
        self.keep(index, read)
    }

    /// Returns the unit that a column's header names, or the usual one.
    pub fn unit(&self, index: usize, usual: Length) -> Length {
        match self.columns[index].unit {
            Some(Unit::Length(unit)) => unit,
            _ => usual,
        }
    }
}

/// Returns a length in m.
pub(super) fn metres(value: f64, unit: Length) -> f64 {
    if unit == Length::M { value } else { rounded(value * unit.mm() / 1000.0) }
}

/// Reads a number with a decimal point or comma; what follows it is its unit.
pub(super) fn number(text: &str) -> Result<(f64, &str), ModelError> {
    let bad = || bad_number(text);
    let part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '−');
    let mut end = text.find(|c: char| !part(c)).unwrap_or(text.len());
    if let Some(power) = text[end..].strip_prefix(['e', 'E']) {
        let digits = power.strip_prefix(['-', '+']).unwrap_or(power);
        let length = digits.bytes().take_while(u8::is_ascii_digit).count();
        if length > 0 {
            end = text.len() - digits.len() + length;
        }
    }
    let (digits, unit) = text.split_at(end);
    if digits.matches([',', '.']).count() > 1 {
        let message =
            format!("`{}` has two decimal marks; write it without marks between thousands", shown(text));
        return Err(ModelError::new("bad_number", message));
    }
    let value: f64 = digits.replace('−', "-").replace(',', ".").parse().map_err(|_| bad())?;
    if value.is_finite() { Ok((value, unit.trim())) } else { Err(bad()) }
}

/// Marks a text that a spreadsheet would compute as a formula, so that it stays a text.
pub(super) fn guard(text: &str) -> String {
    let computes = text.starts_with(['=', '+', '-', '@', '\'']);
    if computes { format!("'{text}") } else { text.to_owned() }
}

fn unguard(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\'']) => rest,
        _ => text,
    }
}

/// Returns a text short enough to be quoted.
pub(super) fn shown(text: &str) -> String {
    text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn bad_number(text: &str) -> ModelError {
    ModelError::new("bad_number", format!("`{}` is no number", shown(text)))
}
