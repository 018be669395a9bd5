//! `effects` behind the door.

use super::{face_score::shaft_diameter, read::Field, write};
use crate::{
    ModelError,
    face::Face,
    stats::effects::{Change, EffectsInput, Group, Noise, effects},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  changes  list of {id, at}: at in RFC 3339 with its offset from UTC; `set` may say what
  groups   list of {at, distance_m, points_mm} and, where known, session (the day of at),
           end (the group itself), flyers (indices from 0, left out of the fit), sight (a
           label for where it stood), sight_offset_mrad (where it pointed from a common zero)
  confidence         from 0.5 to below 1 (0.95)
  face               code or zones (see face-score), for the worth in points; may be left out
  shaft_diameter_mm  0 to 20; left out, a line-cutter counts for the ring of its centre
  matters_mm         smallest shift that matters at the distance with the most arrows; left
                     out, half the SD within an end
  noise              \"by-spread\" (each stretch has noise of its own) or \"equal\"
  judge              ids of the changes whose verdict is asked; all when left out
Output
  effects  one a moment of change, in order of time:
    changes, at, ends_, arrows_ and flyers_ before and after
    shift_mrad, shift_se_mrad, shift_df, shift_interval_mrad, shift_p by axis;
    shift_p_adjusted (Holm); sd_ratio with interval and p
    points_per_arrow with the sight left alone, points_per_arrow_resighted, intervals
    where  moved, held, unsettled or inseparable
    tight  tighter, wider, held, unsettled or inseparable
    detectable_shift_mrad, ends_to_settle, inseparable_from, notes
  var_session_mrad2, var_end_mrad2, var_noise_mrad2  variances by axis
  session_log_sd  SD of the log SD from session to session
  sigma_mrad, matters_mrad, distance_m, notes
Units
  mm on the face, x to the archer's right, y up; mrad = mm at 1 m; distances in m
Source
  REML with nested random effects; Kenward and Roger, Biometrics 53 (1997); Holm, Scand. J.
  Statist. 6 (1979); two one-sided tests: Schuirmann, J. Pharmacokin. Biopharm. 15 (1987)
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    write::output(&effects(&read(&Field::root(input)?)?)?)
}

pub(super) fn read(root: &Field) -> Result<EffectsInput, ModelError> {
    let mut asked = EffectsInput { changes: each(root, "changes", change)?, ..EffectsInput::default() };
    asked.groups = each(root, "groups", group)?;
    if let Some(field) = root.find("confidence") {
        asked.confidence = field.number_within(0.5, 1.0)?;
    }
    if let Some(field) = root.find("face") {
        asked.face = Some(Face::from_json(field.raw(), "face")?);
    }
    if root.find("shaft_diameter_mm").is_some() {
        asked.shaft_diameter_mm = shaft_diameter(root)?;
    }
    asked.matters_mm = root.find("matters_mm").map(|f| f.number_above_zero()).transpose()?;
    asked.judge = root.find("judge").map(|f| f.labels()).transpose()?;
    asked.noise = noise(root)?;
    Ok(asked)
}

pub(super) fn noise(root: &Field) -> Result<Noise, ModelError> {
    let Some(field) = root.find("noise") else { return Ok(Noise::default()) };
    match field.text()? {
        "by-spread" => Ok(Noise::BySpread),
        "equal" => Ok(Noise::Equal),
        _ => Err(field.wrong("unknown_noise", "has to be \"by-spread\" or \"equal\"")),
    }
}

pub(super) fn each<T>(
    root: &Field,
    name: &str,
    read: impl Fn(&Field) -> Result<T, ModelError>,
) -> Result<Vec<T>, ModelError> {
    root.need(name)?.list()?.iter().map(read).collect()
}

fn change(field: &Field) -> Result<Change, ModelError> {
    Ok(Change { id: field.need("id")?.label()?, at: field.need("at")?.moment()? })
}

pub(super) fn group(field: &Field) -> Result<Group, ModelError> {
    let label = |name| field.find(name).map(|f| f.label()).transpose();
    Ok(Group {
        at: field.need("at")?.moment()?,
        session: label("session")?,
        end: label("end")?,
        distance_m: field.need("distance_m")?.number_above_zero()?,
        points_mm: field.need("points_mm")?.points(1)?,
        flyers: field.find("flyers").map(|f| f.counts()).transpose()?.unwrap_or_default(),
        sight: label("sight")?,
        sight_offset_mrad: field.find("sight_offset_mrad").map(|f| f.point()).transpose()?,
    })
}
