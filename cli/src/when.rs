//! Moments as people type and read them: on the clock on the wall, with its offset from UTC.

use crate::{CliError, Env};
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use sheaf_model::moment::{Moment, check_year, on_the_wall};

pub use sheaf_model::records::{day_and_time as shown, unix_ms};

/// By how much a moment may be ahead of the clock of this device: the clock on the wall may differ by some minutes.
const SLACK_MS: i64 = 600_000;

/// Returns this moment in RFC 3339 with the zone's offset, to the second.
pub fn now(env: &Env<'_>) -> Result<String, CliError> {
    Ok(text(&zoned(env.now_ms(), &env.zone)?))
}

/// Returns day and time of a moment of some device's clock, in the zone of this one.
pub fn of_ms(ms: u64, env: &Env<'_>) -> Result<String, CliError> {
    Ok(shown(Some(&text(&zoned(ms, &env.zone)?))))
}

/// Reads a moment: `10:30` (today), `yesterday 10:30`, `2026-04-12 10:30`, or RFC 3339.
pub fn read(typed: &str, env: &Env<'_>) -> Result<String, CliError> {
    let typed = typed.trim();
    let now = zoned(env.now_ms(), &env.zone)?;
    // With an offset it is kept as it is: whoever typed it meant the clock on that wall.
    if typed.parse::<Timestamp>().is_ok() {
        let moment = Moment::read(typed)?;
        moment.check()?;
        return Ok(moment.rfc3339());
    }
    let local = on_the_wall(typed, now.date());
    let local = local.ok_or_else(|| {
        CliError::input(format!("`{typed}` is no moment"))
            .hint("write 10:30, `yesterday 10:30`, `2026-04-12 10:30` or 2026-04-12T10:30:00+02:00")
    })?;
    check_year(local.year())?;
    let zoned = local
        .to_zoned_datetime(env.zone.clone())
        .map_err(|_| CliError::input(format!("`{typed}` is no moment on the clocks here")))?;
    Ok(text(&zoned))
}

/// Remarks on a moment that is yet to come by more than clocks differ: most often a year or a month mistyped; `mend` is the
/// command that puts it right.
pub fn remark_if_ahead(at: &str, mend: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let ahead = Moment::read(at)?.unix_ms();
    if ahead <= i64::try_from(env.now_ms()).unwrap_or(i64::MAX).saturating_add(SLACK_MS) {
        return Ok(());
    }
    let shown = shown(Some(at));
    env.remark(format!(
        "Note: {shown} is yet to come by the clock of this device; if it was mistyped: `{mend}`."
    ))
}

/// Returns a moment moved by some milliseconds, at the same offset from UTC.
pub fn shifted(at: &str, ms: i64) -> Result<String, CliError> {
    let moment = Moment::read(at)?;
    let moved = Moment::new(moment.unix_ms().saturating_add(ms), moment.offset_min())?;
    Ok(moved.rfc3339())
}

/// Returns a span in the unit that fits it, for example `47 min`.
pub fn span(ms: u64) -> String {
    match ms / 1000 {
        s @ 0..120 => format!("{s} s"),
        s @ 120..7_200 => format!("{} min", s.div_ceil(60)),
        s @ 7_200..172_800 => format!("{:.1} h", s as f64 / 3600.0),
        s @ 172_800..63_115_200 => format!("{:.1} days", s as f64 / 86_400.0),
        s => format!("{:.1} years", s as f64 / 31_557_600.0),
    }
}

fn zoned(ms: u64, zone: &TimeZone) -> Result<ZonedDateTime, CliError> {
    let ms = i64::try_from(ms).unwrap_or(i64::MAX);
    let instant = Timestamp::from_millisecond(ms)
        .map_err(|e| CliError::input(format!("the clock of this device cannot be right: {e}")))?;
    Ok(instant.to_zoned_datetime(zone.clone()))
}

fn text(zoned: &ZonedDateTime) -> String {
    zoned.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}
