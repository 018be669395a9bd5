//! Moments at the range: an instant with the offset from UTC at which it was written down.

use crate::ModelError;
use jiff::{
    Timestamp,
    civil::{Date, DateTime, Time},
    fmt::temporal::DateTimeParser,
    tz::Offset,
};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

static PARSER: DateTimeParser = DateTimeParser::new();

/// An instant, and the clock on the wall there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    instant: Timestamp,
    offset: Offset,
}

impl Moment {
    /// Reads RFC 3339 with an offset from UTC, for example `2026-04-12T10:30:00+02:00`.
    pub fn read(text: &str) -> Result<Self, ModelError> {
        let bad = || {
            let message = format!("`{text}` is no moment; write it like 2026-04-12T10:30:00+02:00");
            ModelError::new("bad_time", message).at("at")
        };
        let instant = PARSER.parse_timestamp(text).map_err(|_| bad())?;
        let offset = match text.as_bytes() {
            [.., b'Z' | b'z'] => Offset::UTC,
            bytes => read_offset(bytes).ok_or_else(bad)?,
        };
        Ok(Self { instant, offset })
    }

    /// Reads a moment as people type it: `10:30` (that day), `yesterday 10:30`, `2026-04-12 10:30`, or RFC 3339; one
    /// without an offset of its own has that of `now`.
    ///
    /// # Errors
    /// `bad_time` when it is none of these, or its year is not from 1900 to 2200.
    pub fn typed(text: &str, now: &Self) -> Result<Self, ModelError> {
        let text = text.trim();
        if text.parse::<Timestamp>().is_ok() {
            let moment = Self::read(text)?;
            moment.check()?;
            return Ok(moment);
        }
        let bad = || {
            let message = format!("`{text}` is no moment; write 10:30, yesterday 10:30 or 2026-04-12 10:30");
            ModelError::new("bad_time", message).at("at")
        };
        let local = on_the_wall(text, now.offset.to_datetime(now.instant).date()).ok_or_else(bad)?;
        check_year(local.year())?;
        let instant = now.offset.to_timestamp(local).map_err(|_| bad())?;
        Ok(Self { instant, offset: now.offset })
    }

    /// Makes a moment of milliseconds since 1970 and an offset from UTC in minutes.
    pub fn new(unix_ms: i64, offset_min: i32) -> Result<Self, ModelError> {
        let bad = |e: jiff::Error| ModelError::new("bad_time", format!("no such moment: {e}"));
        let instant = Timestamp::from_millisecond(unix_ms).map_err(bad)?;
        let offset = Offset::from_seconds(offset_min.saturating_mul(60)).map_err(bad)?;
        Ok(Self { instant, offset })
    }

    /// Checks that a person may have meant the moment: its year is from 1900 to 2200.
    ///
    /// # Errors
    /// `bad_time` with the year.
    pub fn check(&self) -> Result<(), ModelError> {
        check_year(self.offset.to_datetime(self.instant).year())
    }

    /// Returns the instant, whatever the clock on the wall showed.
    pub(crate) fn instant(&self) -> Timestamp {
        self.instant
    }

    /// Returns the milliseconds since 1970.
    pub fn unix_ms(&self) -> i64 {
        self.instant.as_millisecond()
    }

    /// Returns the offset from UTC in minutes.
    pub fn offset_min(&self) -> i32 {
        self.offset.seconds() / 60
    }

    /// Returns the day on the wall there, for example `2026-04-12`.
    pub fn day(&self) -> String {
        self.offset.to_datetime(self.instant).date().to_string()
    }

    /// Returns day and time on the wall there, for example `2026-04-12 10:30`.
    pub fn day_and_time(&self) -> String {
        let there = self.offset.to_datetime(self.instant);
        format!("{} {:02}:{:02}", there.date(), there.hour(), there.minute())
    }

    /// Returns the moment in RFC 3339, to the millisecond where it is not on the second.
    pub fn rfc3339(&self) -> String {
        let there = self.offset.to_datetime(self.instant);
        let ms = there.subsec_nanosecond() / 1_000_000;
        let fraction = if ms == 0 { String::new() } else { format!(".{ms:03}") };
        let (sign, minutes) = (if self.offset_min() < 0 { '-' } else { '+' }, self.offset_min().abs());
        format!(
            "{}T{:02}:{:02}:{:02}{fraction}{sign}{:02}:{:02}",
            there.date(),
            there.hour(),
            there.minute(),
            there.second(),
            minutes / 60,
            minutes % 60
        )
    }
}

/// Reads day and time on the clock on the wall: `10:30` (today), `yesterday 10:30` or `2026-04-12 10:30`.
pub fn on_the_wall(text: &str, today: Date) -> Option<DateTime> {
    match text.strip_prefix("yesterday ") {
        Some(time) => Some(today.yesterday().ok()?.to_datetime(time.trim().parse::<Time>().ok()?)),
        None => match text.parse::<Time>() {
            Ok(time) if !text.contains('-') => Some(today.to_datetime(time)),
            _ => text.parse::<DateTime>().ok().filter(|_| text.contains(':')),
        },
    }
}

/// Checks that a person may have meant a year: 1900 to 2200.
///
/// # Errors
/// `bad_time` with the year.
pub fn check_year(year: i16) -> Result<(), ModelError> {
    if (1900..=2200).contains(&year) {
        return Ok(());
    }
    Err(ModelError::new("bad_time", format!("the year {year} is not between 1900 and 2200")).at("at"))
}

impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.rfc3339())
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        Self::read(&text).map_err(|e| D::Error::custom(e.message))
    }
}

fn read_offset(text: &[u8]) -> Option<Offset> {
    let [.., sign @ (b'+' | b'-'), h1, h2, b':', m1, m2] = text else { return None };
    let digit = |b: &u8| b.is_ascii_digit().then(|| i32::from(b - b'0'));
    let minutes = (digit(h1)? * 10 + digit(h2)?) * 60 + digit(m1)? * 10 + digit(m2)?;
    Offset::from_seconds(if *sign == b'-' { -minutes } else { minutes } * 60).ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn keeps_the_wall_clock_of_the_range() {
        let moment = Moment::read("2026-04-12T00:30:00+02:00").unwrap();
        assert_eq!(moment.unix_ms(), 1_775_946_600_000); // `date -d 2026-04-11T22:30:00Z +%s`
        assert_eq!(moment.day(), "2026-04-12");
        assert_eq!(moment.rfc3339(), "2026-04-12T00:30:00+02:00");
        let west = Moment::read("2026-01-01T09:15:00.250-03:30").unwrap();
        assert_eq!(west.rfc3339(), "2026-01-01T09:15:00.250-03:30");
        assert_eq!(Moment::read("2026-04-12T08:00:00Z").unwrap().rfc3339(), "2026-04-12T08:00:00+00:00");
    }

    #[test]
    fn what_people_type_is_on_the_clock_of_the_asker() {
        let now = Moment::read("2026-04-12T10:30:00+02:00").unwrap();
        for (typed, read) in [
            ("09:15", "2026-04-12T09:15:00+02:00"),
            ("yesterday 18:00", "2026-04-11T18:00:00+02:00"),
            (" 2026-03-01 07:05 ", "2026-03-01T07:05:00+02:00"),
            ("2026-03-01T07:05:00Z", "2026-03-01T07:05:00+00:00"),
        ] {
            assert_eq!(Moment::typed(typed, &now).unwrap().rfc3339(), read);
        }
        for typed in ["", "soon", "2026-04-12", "25:00", "0026-04-12 10:30", "9026-04-12T10:30:00Z"] {
            assert!(Moment::typed(typed, &now).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_time_without_an_offset_is_refused() {
        for text in ["2026-04-12T10:30:00", "2026-04-12", "10:30", "", "2026-02-30T10:30:00Z", "é+02:00"] {
            assert!(Moment::read(text).is_err(), "{text}");
        }
    }
}
