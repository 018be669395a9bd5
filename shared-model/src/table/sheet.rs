//! The rows of a separated-values file, each with the line it begins on.

use super::Trouble;
use crate::ModelError;

/// The largest file that is read, bytes.
pub const MOST_BYTES: usize = 256 * 1024 * 1024;

/// A file as headers and rows.
#[derive(Debug)]
pub(super) struct Sheet {
    pub headers: Vec<String>,
    pub rows: Vec<Row>,
    pub troubles: Vec<Trouble>,
}

/// A row: where it begins, counted from 1, and its cells without the blanks around them.
#[derive(Debug)]
pub(super) struct Row {
    pub line: u64,
    pub cells: Vec<String>,
}

impl Sheet {
    /// Reads a file: UTF-8, with or without a byte order mark, or UTF-16 with one.
    pub fn read(bytes: &[u8], separator: Option<char>) -> Result<Self, ModelError> {
        let text = decode(bytes)?;
        let (body, told, skipped) = told_separator(&text);
        let separator = separator.or(told).unwrap_or_else(|| guess_separator(body));
        let delimiter = u8::try_from(separator).map_err(|_| {
            ModelError::new(
                "bad_separator",
                format!("`{separator}` cannot separate columns; use , ; or a tab"),
            )
        })?;
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .from_reader(body.as_bytes());
        let mut lines = Lines { text: body, at: 0, line: 1 + skipped };
        let mut sheet = Self { headers: Vec::new(), rows: Vec::new(), troubles: Vec::new() };
        let mut last = (0, 1);
        let mut record = csv::StringRecord::new();
        loop {
            let start = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
            if !reader.read_record(&mut record).map_err(|e| broken(&e))? {
                break;
            }
            let (begin, line) = lines.of(start);
            last = (begin, line);
            let cells: Vec<String> = record.iter().map(|cell| cell.trim().to_owned()).collect();
            if cells.iter().all(String::is_empty) {
                continue;
            }
            if sheet.headers.is_empty() {
                sheet.headers = cells
            } else {
                sheet.rows.push(Row { line, cells })
            }
        }
        if sheet.headers.is_empty() {
            return Err(ModelError::new(
                "empty_table",
                "the file has no rows; its first row names the columns",
            ));
        }
        if let Some(line) = open_quote(body, last.0, last.1, separator) {
            sheet.rows.retain(|row| row.line < last.1);
            sheet.troubles.push(Trouble {
                line,
                column: None,
                code: "open_quote",
                message: "a quotation mark opens here and never closes, so the rest of the file cannot be \
                          told apart; close it"
                    .into(),
            });
        }
        Ok(sheet)
    }
}

fn decode(bytes: &[u8]) -> Result<String, ModelError> {
    if bytes.len() > MOST_BYTES {
        let message = format!("the file has {} bytes; the most is {MOST_BYTES}, split it", bytes.len());
        return Err(ModelError::new("too_large", message));
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        let message = "this is a spreadsheet workbook; save the sheet as CSV (UTF-8) and import that";
        return Err(ModelError::new("not_text", message));
    }
    let wide = |order: fn([u8; 2]) -> u16| {
        let units = bytes[2..].chunks_exact(2).map(|pair| order([pair[0], pair[1]]));
        char::decode_utf16(units).collect::<Result<String, _>>().map_err(|_| {
            ModelError::new(
                "not_text",
                "the file begins as UTF-16 and does not go on so; save it as CSV (UTF-8)",
            )
        })
    };
    match bytes {
        [0xFF, 0xFE, ..] => wide(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => wide(u16::from_be_bytes),
        _ => {
            let plain = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
            std::str::from_utf8(plain).map(str::to_owned).map_err(|e| {
                let line = 1 + plain[..e.valid_up_to()].iter().filter(|b| **b == b'\n').count();
                let message = format!("line {line} is not UTF-8 text; save the file as CSV (UTF-8)");
                ModelError::new("not_text", message)
            })
        }
    }
}

/// Reads a first line such as `sep=;`, with which spreadsheets name the separator.
fn told_separator(text: &str) -> (&str, Option<char>, u64) {
    let line = text.lines().next().unwrap_or_default();
    let told = line.strip_prefix("sep=").or_else(|| line.strip_prefix("\"sep="));
    match told.and_then(|rest| rest.chars().next()) {
        Some(separator) if line.len() <= 8 => {
            let body = text[line.len()..].trim_start_matches('\r');
            (body.strip_prefix('\n').unwrap_or(body), Some(separator), 1)
        }
        _ => (text, None, 0),
    }
}

/// Returns the separator that stands most often in the first line, outside quotation marks.
fn guess_separator(text: &str) -> char {
    let line = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut quoted = false;
    let mut count = [0usize; 3];
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => count[0] += 1,
            ';' if !quoted => count[1] += 1,
            '\t' if !quoted => count[2] += 1,
            _ => {}
        }
    }
    if count[2] > 0 && count[2] >= count[1] {
        '\t'
    } else if count[1] > 0 && count[1] >= count[0] {
        ';'
    } else {
        ','
    }
}

/// Where rows begin. Counted from the text itself: a row may span lines, and lines may be blank.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// Returns where the row that is read from `start` on really begins, and on which line.
    fn of(&mut self, start: usize) -> (usize, u64) {
        let bytes = self.text.as_bytes();
        let mut begin = start.min(bytes.len());
        while matches!(bytes.get(begin), Some(b'\r' | b'\n')) {
            begin += 1;
        }
        while self.at < begin {
            let ends = match bytes[self.at] {
                b'\n' => true,
                b'\r' => bytes.get(self.at + 1) != Some(&b'\n'),
                _ => false,
            };
            self.line += u64::from(ends);
            self.at += 1;
        }
        (begin, self.line)
    }
}

/// Returns the line of a quotation mark in the last row that opens a cell and never closes.
fn open_quote(text: &str, begin: usize, line: u64, separator: char) -> Option<u64> {
    let mut rest = text.get(begin..)?.chars().peekable();
    let (mut line, mut opened) = (line, None);
    let mut cell_begins = true;
    while let Some(c) = rest.next() {
        match (c, opened) {
            ('"', Some(_)) if rest.peek() == Some(&'"') => {
                rest.next();
            }
            ('"', Some(_)) => opened = None,
            ('"', None) if cell_begins => opened = Some(line),
            _ => {}
        }
        cell_begins = opened.is_none() && (c == separator || c == '\n' || c == '\r');
        line += u64::from(c == '\n');
    }
    opened
}

fn broken(e: &csv::Error) -> ModelError {
    ModelError::new("broken_table", format!("the file cannot be read as separated values: {e}"))
}
