//! Arrow sets as a table: a row for what a set is, then one for each of its arrows that something is noted of.

use super::cell::guard;
use crate::{
    id::ThingId,
    kind::{Arrows, Shaft},
};
use std::io::{self, Write};

/// The headings. Of the set's own row `shaft` is empty.
pub const SHAFT_COLUMNS: [&str; 15] = [
    "arrows",
    "name",
    "shaft",
    "count",
    "mass_gr",
    "pile_gr",
    "length_in",
    "balance_from_nock_in",
    "spine",
    "shaft_diameter_mm",
    "nock",
    "fletching",
    "bare",
    "out",
    "note",
];

/// Returns the rows of a set. What somebody typed and begins like a formula gets an apostrophe before it.
pub fn shaft_rows(id: ThingId, set: &Arrows) -> Vec<Vec<String>> {
    let text = |text: &Option<String>| text.as_deref().map_or(String::new(), guard);
    let number = |number: Option<f64>| number.map_or(String::new(), |n| n.to_string());
    let head = [id.to_string(), text(&set.name)];
    let own = [
        String::new(),
        set.count.map_or(String::new(), |n| n.to_string()),
        number(set.mass_gr),
        number(set.pile_gr),
        number(set.length_in),
        number(set.balance_from_nock_in),
        number(set.spine),
        number(set.shaft_diameter_mm),
        text(&set.nock),
        text(&set.fletching),
        String::new(),
        set.retired.to_string(),
        text(&set.note),
    ];
    let row = |(n, shaft): (u32, Shaft)| {
        [
            n.to_string(),
            String::new(),
            number(shaft.mass_gr),
            number(shaft.pile_gr),
            number(shaft.length_in),
            number(shaft.balance_from_nock_in),
            number(shaft.spine),
            String::new(),
            text(&shaft.nock),
            text(&shaft.fletching),
            shaft.bare.to_string(),
            shaft.out.to_string(),
            text(&shaft.note),
        ]
    };
    let rows = std::iter::once(own).chain(set.shafts().into_iter().map(row));
    rows.map(|row| head.iter().cloned().chain(row).collect()).collect()
}

/// Writes arrow sets as CSV.
///
/// # Errors
/// Those of `out`.
pub fn shafts_csv<'a>(
    out: impl Write,
    sets: impl IntoIterator<Item = (ThingId, &'a Arrows)>,
) -> io::Result<()> {
    let mut out = csv::Writer::from_writer(out);
    out.write_record(SHAFT_COLUMNS)?;
    for (id, set) in sets {
        for row in shaft_rows(id, set) {
            out.write_record(row)?;
        }
    }
    out.flush()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    #[test]
    fn a_set_is_a_row_of_its_own_and_one_an_arrow() {
        let set: Arrows =
            serde_json::from_value(json!({"name": "blue", "count": 12, "shaft.3.mass_gr": 331.2,
            "shaft.3.bare": true, "shaft.10.note": "=1+1", "spine": 500}))
            .unwrap();
        let mut text = Vec::new();
        shafts_csv(&mut text, [(ThingId::from_bytes([0; 16]), &set)]).unwrap();
        let text = String::from_utf8(text).unwrap();
        let rows: Vec<Vec<&str>> = text.lines().map(|line| line.split(',').skip(1).collect()).collect();
        assert_eq!(rows[0][..4], ["name", "shaft", "count", "mass_gr"]);
        assert_eq!(rows[1], ["blue", "", "12", "", "", "", "", "500", "", "", "", "", "false", ""]);
        assert_eq!(rows[2], ["blue", "3", "", "331.2", "", "", "", "", "", "", "", "true", "false", ""]);
        assert_eq!(rows[3][13], "'=1+1");
    }
}
