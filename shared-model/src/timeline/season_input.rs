//! From a season to the question that the statistics answer.

use super::{Season, SeasonChange, SeasonGroup};
use crate::{
    ModelError,
    face::Face,
    stats::{
        dial::{DialChange, DialGroup, DialInput},
        effects::{Change, EffectsInput, Group, Noise},
    },
};

/// The shaft that is taken when the arrow set does not say: common practice, no source.
pub const USUAL_SHAFT_MM: f64 = 5.5;

/// How the question is put.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Confidence of the intervals.
    pub confidence: f64,
    /// Diameter of the shaft in mm.
    pub shaft_diameter_mm: f64,
    /// The smallest shift in mm that matters, at the distance with the most arrows.
    pub matters_mm: Option<f64>,
    /// The changes whose verdict is asked; all when left out.
    pub judge: Option<Vec<String>>,
    /// The one distance in m whose groups are judged; all when left out.
    pub distance_m: Option<f64>,
}

impl Default for Asked {
    fn default() -> Self {
        Self {
            confidence: 0.95,
            shaft_diameter_mm: USUAL_SHAFT_MM,
            matters_mm: None,
            judge: None,
            distance_m: None,
        }
    }
}

impl Season {
    /// Returns the season as the statistics read it.
    ///
    /// # Errors
    /// When the face that most arrows were shot at cannot be read.
    pub fn effects_input(&self, asked: &Asked) -> Result<EffectsInput, ModelError> {
        let face = self.face().map(|json| {
            serde_json::from_str::<Face>(json).map_err(|e| {
                ModelError::new("unknown_face", format!("the face {json} cannot be read: {e}")).at("face")
            })
        });
        Ok(EffectsInput { face: face.transpose()?, ..self.input_without_face(asked) })
    }

    /// Returns the season as the statistics read it where no points are asked for.
    pub fn input_without_face(&self, asked: &Asked) -> EffectsInput {
        let changes = self.changes.iter().map(|c| Change { id: c.id.clone(), at: c.at }).collect();
        EffectsInput {
            confidence: asked.confidence,
            face: None,
            shaft_diameter_mm: asked.shaft_diameter_mm,
            matters_mm: asked.matters_mm,
            noise: Noise::BySpread,
            judge: asked.judge.clone(),
            changes,
            groups: self.groups.iter().map(shot).collect(),
        }
    }

    /// Returns the question how groups answer to a numeric setting.
    pub fn dial_input(&self, setting: &str, confidence: f64) -> DialInput {
        let settings =
            |g: &SeasonGroup| g.settings.iter().map(|(name, v)| (name.clone(), Some(*v))).collect();
        DialInput {
            dial: setting.to_owned(),
            confidence,
            noise: Noise::BySpread,
            changes: self.changes.iter().filter_map(altering).collect(),
            groups: self.groups.iter().map(|g| DialGroup { group: shot(g), settings: settings(g) }).collect(),
        }
    }
}

fn shot(group: &SeasonGroup) -> Group {
    Group {
        at: group.at,
        session: Some(group.session.clone()),
        end: Some(group.end.clone()),
        distance_m: group.distance_m,
        points_mm: group.points_mm.clone(),
        flyers: group.flyers.clone(),
        sight: Some(group.sight.clone()),
        sight_offset_mrad: group.sight_offset_mrad,
    }
}

/// Returns a change with what it altered; one that only notes again what was there is none.
fn altering(change: &SeasonChange) -> Option<DialChange> {
    let new = change.altered.iter().filter(|a| a.before.as_ref() != Some(&a.after));
    let set: Vec<String> = new.map(|a| a.setting.clone()).collect();
    let again = set.is_empty() && !change.altered.is_empty();
    (!again).then(|| DialChange { id: change.id.clone(), at: change.at, set })
}
