//! The published target faces.
//!
//! # Units
//! Radii in mm from the centre of the face or of one spot.
//! # Source
//! World Archery, Constitution and Rules, Book 2: target faces (chapter 7) and field faces
//! (chapter 8). Radii and colours from memory, cross-checked by the rule that each zone of a
//! ten-ring face is a tenth of the radius.
//! # Limits
//! The compound indoor face counts only its inner ten as 10 and the rest of the printed ten as 9, so
//! its scoring zones here are 10 to the inner ten and 9 to the outside of the printed nine.

use super::{Colour, Zone};

/// A face as the rules print it.
pub(super) struct Published {
    pub(super) code: &'static str,
    pub(super) name: &'static str,
    pub(super) zones: &'static [Zone],
    pub(super) inner10_radius_mm: Option<f64>,
}

const fn zone(points: u32, outer_radius_mm: f64, colour: Colour) -> Zone {
    Zone { points, outer_radius_mm, colour: Some(colour) }
}

const fn ten_rings(width: f64) -> [Zone; 10] {
    use Colour::{Black, Blue, Red, White, Yellow};
    [
        zone(10, width, Yellow),
        zone(9, 2.0 * width, Yellow),
        zone(8, 3.0 * width, Red),
        zone(7, 4.0 * width, Red),
        zone(6, 5.0 * width, Blue),
        zone(5, 6.0 * width, Blue),
        zone(4, 7.0 * width, Black),
        zone(3, 8.0 * width, Black),
        zone(2, 9.0 * width, White),
        zone(1, 10.0 * width, White),
    ]
}

const fn six_zones(width: f64) -> [Zone; 6] {
    use Colour::{Black, Yellow};
    [
        zone(6, 0.5 * width, Yellow),
        zone(5, width, Yellow),
        zone(4, 2.0 * width, Black),
        zone(3, 3.0 * width, Black),
        zone(2, 4.0 * width, Black),
        zone(1, 5.0 * width, Black),
    ]
}

static RINGS_122: [Zone; 10] = ten_rings(61.0);
static RINGS_80: [Zone; 10] = ten_rings(40.0);
static RINGS_60: [Zone; 10] = ten_rings(30.0);
static RINGS_40: [Zone; 10] = ten_rings(20.0);
static COMPOUND_INDOOR: [Zone; 5] = [
    zone(10, 10.0, Colour::Yellow),
    zone(9, 40.0, Colour::Yellow),
    zone(8, 60.0, Colour::Red),
    zone(7, 80.0, Colour::Red),
    zone(6, 100.0, Colour::Blue),
];
static FIELD_80: [Zone; 6] = six_zones(80.0);
static FIELD_60: [Zone; 6] = six_zones(60.0);
static FIELD_40: [Zone; 6] = six_zones(40.0);
static FIELD_20: [Zone; 6] = six_zones(20.0);

/// Every published face, largest first within its kind.
pub(super) fn published() -> [Published; 12] {
    let face = |code, name, zones, inner10_radius_mm| Published { code, name, zones, inner10_radius_mm };
    [
        face("wa_122", "122 cm ten-ring face", &RINGS_122[..], Some(30.5)),
        face("wa_80", "80 cm ten-ring face", &RINGS_80[..], Some(20.0)),
        face("wa_80_6ring", "80 cm six-ring face (10-5)", &RINGS_80[..6], Some(20.0)),
        face("wa_60", "60 cm ten-ring face", &RINGS_60[..], Some(15.0)),
        face("wa_60_triple", "60 cm triple face (10-6)", &RINGS_60[..5], Some(15.0)),
        face("wa_40", "40 cm ten-ring face", &RINGS_40[..], Some(10.0)),
        face("wa_40_triple_vertical", "40 cm vertical triple face (10-6)", &RINGS_40[..5], Some(10.0)),
        face(
            "wa_40_triple_vertical_compound",
            "40 cm vertical triple face, compound indoor scoring",
            &COMPOUND_INDOOR[..],
            Some(10.0),
        ),
        face("field_80", "80 cm field face (six zones)", &FIELD_80[..], None),
        face("field_60", "60 cm field face (six zones)", &FIELD_60[..], None),
        face("field_40", "40 cm field face (six zones)", &FIELD_40[..], None),
        face("field_20", "20 cm field face (six zones)", &FIELD_20[..], None),
    ]
}
