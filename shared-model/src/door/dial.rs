//! `dial` behind the door.

use super::{
    effects::{each, group as arrows, noise},
    read::Field,
    write,
};
use crate::{
    ModelError,
    stats::dial::{DialChange, DialGroup, DialInput, dial},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  dial     the setting, for example \"plunger_turns\"
  groups   one archer's, as for effects: {at, distance_m, points_mm} and, where known, session,
           end, flyers, sight, sight_offset_mrad; and settings, an object with the number that
           each numeric setting was at (null or left out where not known)
  changes  list of {id, at} and, where known, set: what it altered, an object or a list of
           names; one that alters only settings held as lines is no step. May be left out
  confidence  from 0.5 to below 1 (0.95)
  noise       \"by-spread\" (as the spread that is fitted to the settings) or \"equal\"
Output
  values     one a value shot: value, ends, arrows, flyers, mean_mrad and mean_mm (sight, other
             settings and changes taken out as fitted), sd_mrad and sd_mm within an end
  shift_mrad_per_unit, shift_se_mrad_per_unit, shift_df, shift_interval_mrad_per_unit, shift_p
             by axis; shift_p_joint and shift_p_adjusted (Holm with straightness)
  straightness  each value against the line: f, ndf, ddf, p by axis; p_joint, p_adjusted;
                line_fits; or null
  spread     best (\"shown\" or \"none shown\"); smallest_at with its interval (Fieller);
             curvature_log_sd_per_unit2 with interval, df, p; where none is shown
             sd_ratio_per_unit with interval, df, p; inseparable_from
  inseparable_from  what the shift cannot be told apart from; separate_by: what to shoot
  linear_with  other settings that are lines of their own; steps: the changes of each step
  var_session_mrad2, var_end_mrad2, var_noise_mrad2  variances by axis
  distance_m, notes
Units
  values and 'per unit' in the dial's own unit, which ends its name; mm on the face, x to the
  archer's right, y up; mrad = mm at 1 m; distances in m
Source
  REML with nested random effects; Kenward and Roger, Biometrics 53 (1997); Fieller,
  J. R. Statist. Soc. B 16 (1954)
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    write::output(&dial(&read(&Field::root(input)?)?)?)
}

fn read(root: &Field) -> Result<DialInput, ModelError> {
    Ok(DialInput {
        dial: root.need("dial")?.label()?,
        confidence: root.find("confidence").map_or(Ok(0.95), |field| field.number_within(0.5, 1.0))?,
        noise: noise(root)?,
        changes: if root.find("changes").is_some() { each(root, "changes", change)? } else { Vec::new() },
        groups: each(root, "groups", group)?,
    })
}

fn change(field: &Field) -> Result<DialChange, ModelError> {
    let set = match field.find("set") {
        None => Vec::new(),
        Some(set) if set.raw().is_object() => {
            set.members()?.into_iter().map(|(name, _)| name.to_owned()).collect()
        }
        Some(set) => set.labels()?,
    };
    Ok(DialChange { id: field.need("id")?.label()?, at: field.need("at")?.moment()?, set })
}

fn group(field: &Field) -> Result<DialGroup, ModelError> {
    let read = |(name, value): (&str, Option<Field>)| {
        Ok((name.to_owned(), value.map(|field| field.number()).transpose()?))
    };
    let settings =
        field.need("settings")?.members()?.into_iter().map(read).collect::<Result<_, ModelError>>()?;
    Ok(DialGroup { group: arrows(field)?, settings })
}
