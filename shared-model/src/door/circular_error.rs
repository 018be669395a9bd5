//! `circular-error` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    stats::circular_error::{radius_of, share_within},
};
use serde_json::{Value, json};

pub(super) const HELP: &str = "\
Input
  sd_major, sd_minor  SDs along the two axes of the spread, 0 or more
  p        share of arrows, between 0 and 1; or
  radius   of a circle about the mean, 0 or more
Output
  radius   of the circle that holds the share; or
  p        share within the radius
Units
  radius in the unit of the SDs
Source
  Harter, Journal of the American Statistical Association 55 (1960) 723
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let sd = |name| {
        let field = root.need(name)?;
        let value = field.number()?;
        if value < 0.0 {
            return Err(field.wrong("out_of_range", format_args!("is {value}; an SD is 0 or more")));
        }
        Ok(value)
    };
    let (a, b) = (sd("sd_major")?, sd("sd_minor")?);
    let (major, minor) = (a.max(b), a.min(b));
    match (root.find("p"), root.find("radius")) {
        (Some(p), None) => write::output(&json!({"radius": radius_of(p.fraction()?, major, minor)})),
        (None, Some(radius)) => {
            let r = radius.number()?;
            if r < 0.0 {
                return Err(radius.wrong("out_of_range", format_args!("is {r}; a radius is 0 or more")));
            }
            write::output(&json!({"p": share_within(major, minor, r)}))
        }
        (None, None) => {
            let message = "Give 'p', the share of arrows, or 'radius', that of the circle.";
            Err(ModelError::new("missing_field", message).at("p"))
        }
        (Some(_), Some(radius)) => {
            Err(radius.wrong("out_of_range", "stands beside 'p'; give one and leave out what is asked for"))
        }
    }
}
