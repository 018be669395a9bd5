//! From a season to the question that the statistics answer.

use super::Season;
use crate::{
    ModelError,
    face::Face,
    stats::effects::{Change, EffectsInput, Group, Noise},
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
}

impl Default for Asked {
    fn default() -> Self {
        Self { confidence: 0.95, shaft_diameter_mm: USUAL_SHAFT_MM, matters_mm: None, judge: None }
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
        let groups = self.groups.iter().map(|g| Group {
            at: g.at,
            session: Some(g.session.clone()),
            end: Some(g.end.clone()),
            distance_m: g.distance_m,
            points_mm: g.points_mm.clone(),
            flyers: g.flyers.clone(),
            sight: Some(g.sight.clone()),
            sight_offset_mrad: g.sight_offset_mrad,
        });
        EffectsInput {
            confidence: asked.confidence,
            face: None,
            shaft_diameter_mm: asked.shaft_diameter_mm,
            matters_mm: asked.matters_mm,
            noise: Noise::BySpread,
            judge: asked.judge.clone(),
            changes,
            groups: groups.collect(),
        }
    }
}
