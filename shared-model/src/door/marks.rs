//! `marks` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    stats::marks::{Flight, MarkedOn, MarksInput, Reading, marks},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  what                what is read: sight (default), crawl or gap
  marks               a list of {distance_m, reading}: on the sight's own scale; mm of crawl
                      below the nock; mm of gap at the target, the point above the middle
                      (below it negative)
  at_m                distances to ask about
  speed_m_s           of the arrow, 20 to 130, where it is known; fitted otherwise
  mass_g              of the arrow (20: chosen, no source)
  diameter_mm         of the shaft (5.5: common practice, no source)
  cd                  on the shaft's cross-section (2)
  air_density_kg_m3   (1.225)
  eye_above_arrow_mm  height of the eye over the arrow at full draw (100), of crawls with no crawl
  resolution          the step to which marks are read; when left out the largest of 1, 0.1, 0.01,
                      0.001, and of crawls and gaps 1 in, 1/2 to 1/16 in, that fits them all
  confidence          of the intervals, 0.5 to 0.9999 (0.95)
Output
  curve       trajectory, monotone (too few or too odd marks for a flight) or none; notes say why
  span_m      nearest and farthest mark; reach_m between which distances there are figures
  zero, slope, slope_interval  of mark = zero + slope tan(launch angle); of gaps zero alone
  speed       value_m_s, known, interval_m_s by the profile (an open end is null); no chronograph
  sigma, df   scatter of a mark about the curve (gaps: mrad) and its degrees of freedom
  fitted      one a mark: distance_m, reading, fitted, off (from the curve through the others),
              p_adjusted (externally studentised, Holm), suspect
  table       one a distance asked about: place (between, beyond, outside, out_of_reach,
              past_point_on, no_curve), value, interval (of the mark, not of one arrow; of a
              monotone curve the neighbouring marks), new_mark_interval
  point_on    of crawls and gaps: distance_m where they are 0, interval_m (an open end is null)
Units
  m, m/s; marks on the sight's scale or in mm
Source
  Bates and Watts 1988; Cook and Weisberg 1982; Fieller 1954; Fritsch and Carlson 1980. Default
  drag from memory (Miyazaki et al. 2013); default eye height: common practice, no source
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let usual = Flight::default();
    let number = |name: &str, usual: f64| root.find(name).map_or(Ok(usual), |f| f.number());
    let optional = |name: &str| root.find(name).map(|f| f.number()).transpose();
    let what = match root.find("what") {
        None => MarkedOn::Sight,
        Some(field) => MarkedOn::named(Some(field.text()?))
            .ok_or_else(|| field.wrong("no_choice", "is none of sight, crawl and gap"))?,
    };
    let reading = |m: &Field| -> Result<Reading, ModelError> {
        Ok(Reading { distance_m: m.need("distance_m")?.number()?, reading: m.need("reading")?.number()? })
    };
    let asked = MarksInput {
        what,
        marks: root.need("marks")?.list()?.iter().map(reading).collect::<Result<_, _>>()?,
        speed_m_s: optional("speed_m_s")?,
        flight: Flight {
            mass_g: number("mass_g", usual.mass_g)?,
            diameter_mm: number("diameter_mm", usual.diameter_mm)?,
            cd: number("cd", usual.cd)?,
            air_density_kg_m3: number("air_density_kg_m3", usual.air_density_kg_m3)?,
            eye_mm: number("eye_above_arrow_mm", usual.eye_mm)?,
        },
        resolution: optional("resolution")?,
        confidence: number("confidence", 0.95)?,
        at_m: root.find("at_m").map_or(Ok(Vec::new()), |f| f.numbers(0))?,
    };
    write::output(&marks(&asked)?)
}
