//! Dates and times as people write them.

use crate::{ModelError, moment::check_year, timeline::Moment};
use jiff::{civil, tz::TimeZone};

/// Which comes first in a date such as 03/04/2026.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DateOrder {
    /// What the other dates of the file tell; an error when none does.
    #[default]
    AsTheFileTells,
    /// Day, month, year.
    DayFirst,
    /// Month, day, year.
    MonthFirst,
}

/// Reads the dates of a file.
pub(super) struct Dates<'a> {
    pub order: DateOrder,
    pub zone: &'a TimeZone,
}

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

impl Dates<'_> {
    /// Reads a date, with or without its time, and a time that stands in a column of its own.
    ///
    /// A day without a time is read as noon; the second value tells.
    pub fn read(&self, text: &str, time: Option<&str>) -> Result<(Moment, bool), ModelError> {
        if time.is_none()
            && let Ok(moment) = Moment::read(&text.replacen(' ', "T", 1))
        {
            moment.check().map_err(|e| bad(text, &e.message))?;
            return Ok((moment, true));
        }
        let (day, inside) = split(text);
        let clock = match (time, inside.as_deref()) {
            (Some(time), _) => Some(read_time(time)?),
            (None, Some(time)) => Some(read_time(time)?),
            (None, None) => None,
        };
        let date = self.date(&day, text)?;
        let noon = civil::time(12, 0, 0, 0);
        let there = date.to_datetime(clock.unwrap_or(noon));
        let instant =
            self.zone.to_timestamp(there).map_err(|e| bad(text, &format!("no such moment: {e}")))?;
        let offset_min = self.zone.to_offset(instant).seconds() / 60;
        Ok((Moment::new(instant.as_millisecond(), offset_min)?, clock.is_some()))
    }

    fn date(&self, day: &str, text: &str) -> Result<civil::Date, ModelError> {
        let pieces: Vec<&str> =
            day.split(|c: char| "-/. ,".contains(c)).filter(|piece| !piece.is_empty()).collect();
        let [a, b, c] = pieces.as_slice() else {
            return Err(bad(text, "a date has a day, a month and a year"));
        };
        let number =
            |piece: &str| piece.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse::<i16>().ok();
        let month = |piece: &str| {
            let short: String = piece.to_lowercase().chars().take(3).collect();
            MONTHS.iter().position(|m| *m == short).and_then(|m| i16::try_from(m + 1).ok())
        };
        let (year, month, day) = if let Some(month) = month(b) {
            if a.len() == 4 {
                (number(a), Some(month), number(c))
            } else {
                (number(c), Some(month), number(a))
            }
        } else if let Some(month) = month(a) {
            (number(c), Some(month), number(b))
        } else if a.len() == 4 {
            (number(a), number(b), number(c))
        } else if self.day_first(day, [number(a), number(b)], text)? {
            (number(c), number(b), number(a))
        } else {
            (number(c), number(a), number(b))
        };
        let (Some(year), Some(month), Some(day)) = (year, month, day) else {
            return Err(bad(text, "a date has a day, a month and a year"));
        };
        // With two digits it is of this century; one of four zeros is as it stands.
        let whole = pieces.iter().any(|p| p.len() >= 4 && p.bytes().all(|b| b.is_ascii_digit()));
        let year = if year < 100 && !whole { 2000 + year } else { year };
        let small = |n: i16| i8::try_from(n).map_err(|_| bad(text, "there is no such day"));
        check_year(year).map_err(|e| bad(text, &e.message))?;
        civil::Date::new(year, small(month)?, small(day)?).map_err(|_| bad(text, "there is no such day"))
    }

    /// Says whether the first of two numbers is the day; `day` is the date without its time.
    fn day_first(&self, day: &str, [a, b]: [Option<i16>; 2], text: &str) -> Result<bool, ModelError> {
        let no_month = |n: Option<i16>| n.is_some_and(|n| n > 12);
        match self.order {
            _ if day.contains('.') => Ok(true),
            DateOrder::DayFirst => Ok(true),
            DateOrder::MonthFirst => Ok(false),
            DateOrder::AsTheFileTells if no_month(a) => Ok(true),
            DateOrder::AsTheFileTells if no_month(b) => Ok(false),
            DateOrder::AsTheFileTells => Err(ModelError::new(
                "date_order",
                format!(
                    "`{text}` can be read with the day or the month first, and no date of the file tells; say \
                     --dates day-first or --dates month-first"
                ),
            )),
        }
    }
}

/// Returns which order the dates of a file have, where one of them can only be read one way.
pub(super) fn order_of<'a>(dates: impl Iterator<Item = &'a str>) -> DateOrder {
    let mut order = DateOrder::AsTheFileTells;
    for text in dates {
        let (day, _) = split(text);
        let pieces: Vec<&str> = day.split(['-', '/']).map(str::trim).collect();
        let [a, b, _] = pieces.as_slice() else { continue };
        let (Ok(a), Ok(b)) = (a.parse::<u32>(), b.parse::<u32>()) else { continue };
        let told = match (a, b) {
            (13..=31, 1..=12) => DateOrder::DayFirst,
            (1..=12, 13..=31) => DateOrder::MonthFirst,
            _ => continue,
        };
        if order != DateOrder::AsTheFileTells && order != told {
            return DateOrder::AsTheFileTells;
        }
        order = told;
    }
    order
}

/// Says whether a date carries a time.
pub(super) fn has_time(text: &str) -> bool {
    split(text).1.is_some()
}

/// Splits a date and time into the day and, where there is one, the time.
fn split(text: &str) -> (String, Option<String>) {
    let text = text.trim();
    let Some(colon) = text.find(':') else { return (text.to_owned(), None) };
    let begin = text[..colon].rfind([' ', 'T', 't', ',']);
    match begin {
        Some(begin) => (text[..begin].trim().to_owned(), Some(text[begin + 1..].trim().to_owned())),
        None => (String::new(), Some(text.to_owned())),
    }
}

fn read_time(text: &str) -> Result<civil::Time, ModelError> {
    let wrong = || bad_time(text);
    let lower = text.trim().to_lowercase().replace('h', ":");
    let lower = match lower.split_once('.') {
        Some((whole, fraction)) if lower.contains(':') && fraction.bytes().all(|b| b.is_ascii_digit()) => {
            whole.to_owned()
        }
        _ => lower.replace('.', ":"),
    };
    let (digits, half) = match lower.strip_suffix('m') {
        Some(rest) => match rest.chars().last() {
            Some(half @ ('a' | 'p')) => (rest[..rest.len() - 1].trim(), Some(half)),
            _ => return Err(wrong()),
        },
        None => (lower.as_str(), None),
    };
    let mut parts = [0i8; 3];
    let pieces: Vec<&str> = digits.trim_end_matches(':').split(':').collect();
    if pieces.len() > 3 || (pieces.len() == 1 && half.is_none() && !lower.contains(':')) {
        return Err(wrong());
    }
    for (part, piece) in parts.iter_mut().zip(&pieces) {
        let plain = piece.len() <= 2 && piece.bytes().all(|b| b.is_ascii_digit());
        *part = piece.parse().ok().filter(|_| plain).ok_or_else(wrong)?;
    }
    let hour = match (half, parts[0]) {
        (None, hour) => hour,
        (Some('a'), 12) => 0,
        (Some('p'), hour @ 1..=11) => hour + 12,
        (Some(_), hour @ 1..=12) => hour,
        _ => return Err(wrong()),
    };
    civil::Time::new(hour, parts[1], parts[2], 0).map_err(|_| wrong())
}

fn bad(text: &str, why: &str) -> ModelError {
    let message =
        format!("`{text}` is no date: {why}; write it like 2026-04-12, 2026-04-12 10:30 or 12 Apr 2026");
    ModelError::new("bad_time", message)
}

fn bad_time(text: &str) -> ModelError {
    ModelError::new("bad_time", format!("`{text}` is no time of day; write it like 10:30 or 1:05 pm"))
}
