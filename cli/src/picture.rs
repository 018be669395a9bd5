//! Pictures in the terminal: a group on its face.

use crate::Env;
use sheaf_model::{
    face::Face,
    kind::Group,
    verdict::plot::{GroupPlot, group_plot},
};

/// Returns a group drawn on its face.
pub fn group(group: &Group, face: Option<&Face>, env: &Env<'_>) -> String {
    let mut plot = GroupPlot {
        face: face.cloned(),
        colour: env.colour,
        columns: env.width.min(64),
        ..GroupPlot::default()
    };
    for (i, point) in group.points_mm.iter().flatten().enumerate() {
        if let Some(point) = point {
            plot.points_mm.push(*point);
            if group.is_flyer(i) || group.is_bare(i) {
                plot.apart.push(plot.points_mm.len() - 1);
            }
        }
    }
    group_plot(&plot)
}
