//! Tables for spreadsheets.

use crate::error::ServerError;

/// A table: a row of headings, then rows of cells.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// The headings.
    pub columns: Vec<String>,
    /// The rows, as wide as the headings.
    pub rows: Vec<Vec<String>>,
}

/// What can be shown as a table.
pub trait AsTable {
    /// Returns it as a table.
    fn table(&self) -> Table;
}

impl Table {
    /// Makes a table with headings and no rows yet.
    pub fn new(columns: &[&str]) -> Self {
        Self { columns: columns.iter().map(|c| (*c).to_owned()).collect(), rows: Vec::new() }
    }

    /// Writes the table as CSV (RFC 4180).
    pub fn csv(&self) -> Result<Vec<u8>, ServerError> {
        let failed = |e: &dyn std::fmt::Display| ServerError::Task(format!("a table cannot be written: {e}"));
        let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        out.write_record(&self.columns).map_err(|e| failed(&e))?;
        for row in &self.rows {
            out.write_record(row).map_err(|e| failed(&e))?;
        }
        out.into_inner().map_err(|e| failed(&e))
    }
}

/// Returns a text that somebody typed as a cell. A spreadsheet would run what begins like a formula, so that
/// gets an apostrophe before it.
pub fn typed(text: Option<&str>) -> String {
    let text = text.unwrap_or_default();
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

/// Returns a number, an id or the like as a cell; nothing when there is none.
pub fn cell<T: ToString>(value: Option<T>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_begins_like_a_formula_is_not_run() {
        let mut table = Table::new(&["name", "x_mm"]);
        table.rows.push(vec![typed(Some("=HYPERLINK(\"x\")")), cell(Some(-1.5))]);
        let text = String::from_utf8(table.csv().unwrap()).unwrap();
        assert_eq!(text, "name,x_mm\r\n\"'=HYPERLINK(\"\"x\"\")\",-1.5\r\n");
    }
}
