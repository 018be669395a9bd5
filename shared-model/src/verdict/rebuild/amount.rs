//! Amounts of a rebuild sheet in the units that people chose: how they are typed, and how they are told.

use crate::{
    ModelError,
    kind::{read_setting, unit_of_setting},
    verdict::{
        altered::unit_beside,
        units::{Units, trimmed},
    },
};
use serde_json::{Value, json};

/// Millimetres of an inch, exact by definition (NIST SP 811).
const INCH_MM: f64 = 25.4;

/// Returns the unit in which a setting is told, and taken where none is typed.
pub fn told_unit(unit: &'static str, units: Units) -> &'static str {
    match (unit, units) {
        ("mm", Units::Imperial) => "in",
        (unit, _) => unit,
    }
}

/// Reads a number for a setting into its own unit; without a unit it is in the one that it is told in.
pub fn read(field: &str, typed: &str, units: Units) -> Result<f64, ModelError> {
    let unit = unit_of_setting(field);
    let told = told_unit(unit, units);
    let bare = |c: char| c.is_ascii_digit() || "+-\u{2212}.,/ ½¼¾".contains(c);
    if told == unit || !typed.trim().chars().all(bare) {
        return read_setting(field, typed);
    }
    read_setting(field, &format!("{} {told}", typed.trim()))
}

/// Returns a value with its unit.
pub fn amount(value: &Value, unit: &'static str, units: Units, shown: &dyn Fn(&Value) -> String) -> String {
    match (value.as_f64(), told_unit(unit, units)) {
        (Some(mm), "in") if unit == "mm" => format!("{} in", inches(mm)),
        _ => format!("{} {}", shown(value), unit_beside(unit, value)).trim_end().to_owned(),
    }
}

/// Returns how far apart two values are, or may be, with the unit.
pub fn size(by: f64, unit: &'static str, units: Units) -> String {
    match told_unit(unit, units) {
        "in" if unit == "mm" => format!("{} in", trimmed(by / INCH_MM, 3)),
        _ => format!("{} {}", trimmed(by, 3), unit_beside(unit, &json!(by))).trim_end().to_owned(),
    }
}

/// Returns a length as one reads it besides: in sixteenths of an inch, as a bow square has them, and for who is told in
/// inches also in mm. A sixteenth that misses the value by more than the tolerance is none to measure by.
pub fn also(value: &Value, unit: &'static str, units: Units, tolerance: Option<f64>) -> Option<String> {
    let mm = value.as_f64().filter(|_| unit == "mm")?;
    let missed = (libm::round(mm / INCH_MM * 16.0) / 16.0 * INCH_MM - mm).abs();
    let close = tolerance.is_none_or(|most| missed <= most + 1e-9);
    let sixteenths = sixteenths(mm).filter(|_| close);
    match units {
        Units::Metric => sixteenths,
        Units::Imperial => {
            let mm = format!("{} mm", trimmed(mm, 1));
            Some(sixteenths.map_or_else(|| mm.clone(), |sixteenths| format!("{mm}, {sixteenths}")))
        }
    }
}

/// Returns inches: to a hundredth, save for what stands on a sixteenth.
fn inches(mm: f64) -> String {
    let inches = mm / INCH_MM;
    let on_a_sixteenth = (libm::round(inches * 16.0) - inches * 16.0).abs() < 1e-4;
    trimmed(inches, if on_a_sixteenth { 4 } else { 2 })
}

/// Returns the nearest sixteenth of an inch; nothing where that is none.
fn sixteenths(mm: f64) -> Option<String> {
    let exact = mm / INCH_MM * 16.0;
    let n = libm::round(exact);
    if n == 0.0 || !(-1e6..1e6).contains(&n) {
        return None;
    }
    let (sign, n, about) = (
        if n < 0.0 { "-" } else { "" },
        n.abs() as u64,
        if (n - exact).abs() < 1e-4 { "" } else { "about " },
    );
    let (whole, rest) = (n / 16, n % 16);
    let parts = 16 >> rest.trailing_zeros().min(4);
    let fraction = format!("{}/{parts}", rest * parts / 16);
    Some(match (whole, rest) {
        (whole, 0) => format!("{about}{sign}{whole} in"),
        (0, _) => format!("{about}{sign}{fraction} in"),
        (whole, _) => format!("{about}{sign}{whole} {fraction} in"),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_bare_number_is_in_the_unit_that_it_is_told_in() {
        let read = |typed, units| read("brace_height_mm", typed, units).unwrap();
        assert_eq!(read("215", Units::Metric), 215.0);
        // 8 1/2 in are 215.9 mm: 8.5 * 25.4.
        assert_eq!(read("8 1/2", Units::Imperial), 215.9);
        assert_eq!(read("8,5", Units::Imperial), 215.9);
        assert_eq!(read("215 mm", Units::Imperial), 215.0);
        assert_eq!(read("8 1/2 in", Units::Metric), 215.9);
        assert_eq!(super::read("plunger_turns", "2 1/4", Units::Imperial), Ok(2.25));
        assert!(super::read("brace_height_mm", "tall", Units::Imperial).is_err());
    }

    #[test]
    fn a_sixteenth_that_would_be_off_is_not_told() {
        let told = |mm: f64, most: f64, units| also(&json!(mm), "mm", units, Some(most));
        // 3/16 in are 4.7625 mm: 0.7625 mm from 4 mm, and 0.2375 mm from 5 mm.
        assert_eq!(told(4.0, 0.5, Units::Imperial).as_deref(), Some("4 mm"));
        assert_eq!(told(4.0, 0.5, Units::Metric), None);
        assert_eq!(told(4.0, 1.0, Units::Imperial).as_deref(), Some("4 mm, about 3/16 in"));
        assert_eq!(told(5.0, 0.5, Units::Metric).as_deref(), Some("about 3/16 in"));
        assert_eq!(told(5.0, 0.2, Units::Metric), None);
    }

    #[test]
    fn lengths_are_told_as_a_bow_square_has_them() {
        let told = |mm: f64| (inches(mm), sixteenths(mm).unwrap_or_default());
        // By hand: 8 7/16 = 8.4375 in = 214.3125 mm; 215 mm = 8.4646 in = 135.43 sixteenths.
        assert_eq!(told(214.3125), ("8.4375".into(), "8 7/16 in".into()));
        assert_eq!(told(215.0), ("8.46".into(), "about 8 7/16 in".into()));
        assert_eq!(told(-3.175), ("-0.125".into(), "-1/8 in".into()));
        assert_eq!(told(203.2), ("8".into(), "8 in".into()));
        assert_eq!(told(0.2), ("0.01".into(), String::new()));
        assert_eq!(told(19.05), ("0.75".into(), "3/4 in".into()));
        assert_eq!(also(&json!(215), "mm", Units::Imperial, Some(2.0)).unwrap(), "215 mm, about 8 7/16 in");
        assert_eq!(also(&json!(2), "turns", Units::Imperial, None), None);
        assert_eq!(size(0.5, "mm", Units::Imperial), "0.02 in");
        assert_eq!(size(1.0, "turns", Units::Imperial), "1 turn");
    }
}
