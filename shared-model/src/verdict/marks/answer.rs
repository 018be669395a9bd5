//! One set of marks, put together.

use super::{
    Known, MarkSet, Strip, TableRow,
    gather::{Family, Found, differing, same_setup},
    words,
};
use crate::{
    chart::{MarkCurve, mark_curve},
    id::ThingId,
    kind::{self, Arrows, Speed},
    moment::Moment,
    named::name_of,
    replica::Store,
    stats::marks::{Curve, Flight, MOST, MarkedOn, Marks, MarksInput, SPEEDS_M_S, marks},
    verdict::{
        arrow_set::mean_mass_gr,
        bow::day_words,
        bow_sheet::moves_marks,
        moved::gone_words,
        rebuild::full_name,
        units::{Units, trimmed},
    },
};

/// Grams of a grain and m/s of a foot a second, exact.
const GRAIN_G: f64 = 0.064_798_91;
const FPS_M_S: f64 = 0.304_8;
/// Places at which the curve is drawn.
const DRAWN: usize = 48;

/// Beside every table of marks that no longer hold.
const OLD: &str =
    "The marks by distance below are those of the old setup, before that was altered: they do not hold now.";

/// What a question about marks stands on.
pub(super) struct Basis {
    speed: Option<String>,
    assumed: Vec<String>,
}

impl<S: Store> Known<'_, S> {
    /// Returns a set of marks with everything that there is to say of it.
    pub fn set(&self, set: &Family, on_it: Option<ThingId>) -> Result<MarkSet, S::Error> {
        let (units, label) = (self.asked.units, &self.title(set));
        let distances = self.rows(set);
        let (rows, asked) = (distances.len(), self.asked.at_m.len());
        let drawn = drawn(set);
        let at_m = [distances, self.asked.at_m.clone(), drawn].concat();
        let (input, basis) = self.question(set, at_m)?;
        let mut figures = marks(&input)?;
        let curve = figures.table.split_off(rows + asked);
        let told: Vec<TableRow> = figures.table.iter().map(|at| words::row(&figures, at, units)).collect();
        figures.table.truncate(rows);
        let (table, asked) = told.split_at(rows);
        let noted = set.counted().iter().zip(&figures.fitted).map(|m| words::noted(&figures, m, units));
        let stale = self.stale(set);
        let expected = if stale.is_some() { self.expected(set, &figures)? } else { Vec::new() };
        let mut made = MarkSet {
            title: label.clone(),
            archer: set.archer,
            archer_name: set.archer.map_or_else(|| "someone".into(), |id| name_of(&self.names, id)),
            arrows: set.arrows,
            arrows_name: set.arrows.map(|id| name_of(&self.names, id)),
            what: set.what,
            table_note: stale.as_ref().map(|_| OLD.to_owned()),
            stale,
            expected,
            sentences: self.sentences(set, &figures, &basis, on_it),
            assumed: if figures.curve == Curve::Trajectory { basis.assumed } else { Vec::new() },
            marks: noted.collect(),
            table: table.iter().filter(|row| row.mark.is_some()).cloned().collect(),
            asked: asked.to_vec(),
            older: self.older(set, &figures),
            picture: mark_curve(&MarkCurve { figures: &figures, curve: &curve, units, label }),
            figures,
            strip: String::new(),
        };
        made.strip = self.card(&made);
        Ok(made)
    }

    fn card(&self, set: &MarkSet) -> String {
        let (bow, asked) = (name_of(&self.names, self.bow), self.asked);
        Strip { bow: &bow, set, day: &asked.day, unit_mm: asked.unit_mm, units: asked.units }.svg()
    }

    /// Returns what was altered since that may have moved the marks.
    fn stale(&self, set: &Family) -> Option<String> {
        let differs = set.setup.as_ref().map(|setup| self.differs(set.what, setup)).unwrap_or_default();
        let altered = (!differs.is_empty()).then(|| self.altered_words(&differs));
        let went = self
            .gone
            .iter()
            .filter(|(setting, gone)| moves_marks(setting) && gone.at.unix_ms() > set.latest_ms());
        let went = went
            .map(|(setting, gone)| format!("the {} {}", full_name(setting).0, gone_words(gone, &self.names)));
        let all: Vec<String> = altered.into_iter().chain(went).collect();
        (!all.is_empty()).then(|| format!("since then {}", all.join(", ")))
    }

    fn title(&self, set: &Family) -> String {
        let whose = set.archer.map_or_else(|| "Someone".into(), |id| name_of(&self.names, id));
        let with = set.arrows.map_or_else(String::new, |id| format!(" with {}", name_of(&self.names, id)));
        format!("{whose}: {}{with}", set.what.noun())
    }

    /// Returns the distances of the table: those of the marks, and every so many m or yd, fewer of these where there would
    /// be too many.
    fn rows(&self, set: &Family) -> Vec<f64> {
        let unit = if self.asked.units == Units::Metric { 1.0 } else { 0.9144 };
        let every = self.asked.every_m.unwrap_or(5.0 * unit).max(0.5);
        rows_of(set.counted(), every)
    }

    /// Returns the question to the statistics, and what it stands on.
    pub fn question(&self, set: &Family, at_m: Vec<f64>) -> Result<(MarksInput, Basis), S::Error> {
        let (flight, assumed) = self.flight(set)?;
        let (speed_m_s, speed) = match self.asked.speed_m_s {
            Some(v) => (Some(v), Some("as given".to_owned())),
            None => self.measured(set)?.map_or((None, None), |(v, words)| (Some(v), Some(words))),
        };
        let (what, marks) = (set.what, set.readings());
        let input = MarksInput { what, marks, speed_m_s, flight, resolution: None, confidence: 0.95, at_m };
        Ok((input, Basis { speed, assumed }))
    }

    /// Returns the arrow and the eye above it, and what of them is assumed.
    fn flight(&self, set: &Family) -> Result<(Flight, Vec<String>), S::Error> {
        let mut flight = Flight::default();
        let mut assumed = Vec::new();
        let arrows = match set.arrows {
            Some(id) => self.store.thing("arrows", id)?.and_then(|t| kind::read::<Arrows>(&t).ok()),
            None => None,
        };
        let mass = arrows
            .as_ref()
            .and_then(mean_mass_gr)
            .map(|gr| gr * GRAIN_G)
            .filter(|g| (3.0..=150.0).contains(g));
        let wide = arrows.as_ref().and_then(|a| a.shaft_diameter_mm).filter(|mm| (1.0..=30.0).contains(mm));
        match mass {
            Some(g) => flight.mass_g = g,
            None => assumed.push(format!(
                "an arrow of {} g, since the arrow set does not say (chosen, no source)",
                trimmed(flight.mass_g, 1)
            )),
        }
        match wide {
            Some(mm) => flight.diameter_mm = mm,
            None => assumed.push(format!(
                "a shaft of {} mm, since the arrow set does not say (common practice, no source)",
                flight.diameter_mm
            )),
        }
        match self.asked.eye_mm {
            Some(mm) => flight.eye_mm = mm,
            None => assumed.push(format!(
                "the eye {} mm above the arrow at full draw (common practice, no source)",
                flight.eye_mm
            )),
        }
        assumed.push(format!(
            "a drag coefficient of {} (from memory), level ground and still air at sea level",
            flight.cd
        ));
        Ok((flight, assumed))
    }

    /// Returns the mean of the speeds that were measured with the same of everything, m/s.
    fn measured(&self, set: &Family) -> Result<Option<(f64, String)>, S::Error> {
        let mut speeds = Vec::new();
        self.store.visit("speed", Some(self.bow), &mut |thing| {
            let Ok(speed) = kind::read::<Speed>(thing) else { return };
            let at = speed.at.as_deref().and_then(|at| Moment::read(at).ok());
            let (Some(at), Some(fps), false) = (at, speed.speed_fps, speed.retired) else { return };
            let mut setup = self.moving(set.what, at.unix_ms());
            let on_it = setup.remove("arrows").and_then(|v| v.as_str().and_then(|id| id.parse().ok()));
            let fits = speed.archer == set.archer
                && speed.arrows.or(on_it) == set.arrows
                && same_setup(Some(&setup), set.setup.as_ref());
            let [least, most] = SPEEDS_M_S;
            if fits && (least..=most).contains(&(fps * FPS_M_S)) {
                speeds.push((fps * FPS_M_S, at));
            }
        })?;
        let Some(latest) = speeds.iter().map(|(_, at)| *at).max_by_key(Moment::unix_ms) else {
            return Ok(None);
        };
        let mean = speeds.iter().map(|(v, _)| v).sum::<f64>() / speeds.len() as f64;
        let words = match speeds.len() {
            1 => format!("as measured, {}", day_words(&latest.day())),
            n => format!("the mean of {n} measurements"),
        };
        Ok(Some((mean, words)))
    }

    fn sentences(&self, set: &Family, figures: &Marks, basis: &Basis, on_it: Option<ThingId>) -> Vec<String> {
        let units = self.asked.units;
        let mut said = Vec::new();
        if let (Some(own), Some(on)) = (set.arrows, on_it)
            && own != on
        {
            let [own, on] = [own, on].map(|id| name_of(&self.names, id));
            said.push(format!("These are for the arrows {own}; on the bow now are {on}."));
        }
        if set.setup.is_none() {
            said.push(
                "When these marks were found is not noted, so nobody can say whether the bow was altered since.".into(),
            );
        }
        if set.marks.len() > MOST {
            said.push(format!("Only the newest {MOST} of {} marks count here.", set.marks.len()));
        }
        said.extend(words::curve(figures, units));
        said.extend(words::suspects(figures, set.counted(), units));
        said.extend(words::point_on(figures, units));
        said.extend(words::speed(figures, basis.speed.as_deref(), units));
        said
    }

    /// Returns the earlier marks that no longer hold, a line a setup.
    fn older(&self, set: &Family, figures: &Marks) -> Vec<String> {
        let mut lines = Vec::new();
        for part in set.older.chunk_by(|a, b| same_setup(a.setup.as_ref(), b.setup.as_ref())) {
            let one = |m: &Found| {
                let mark = match set.what {
                    MarkedOn::Sight => trimmed(m.reading, 3),
                    _ => words::reading(figures, m.reading, self.asked.units),
                };
                format!("{} {mark}", self.asked.units.distance(m.distance_m))
            };
            let list = part.iter().map(one).collect::<Vec<_>>().join(", ");
            let Some(setup) = &part[0].setup else {
                lines.push(format!("{list}: not known when found, so left out"));
                continue;
            };
            let changed = set.setup.as_ref().map(|later| differing(setup, later)).unwrap_or_default();
            lines.push(format!("{list}: stale, since then {}", self.altered_words(&changed)));
        }
        lines
    }
}

/// Returns the distances of marks and a grid to a fifth beyond the farthest; where there are too many, those of the grid
/// are every second, third or so many.
fn rows_of(marks: &[Found], every_m: f64) -> Vec<f64> {
    let mut rows: Vec<f64> = marks.iter().map(|m| m.distance_m).collect();
    rows.sort_by(f64::total_cmp);
    rows.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let Some(far) = rows.last().copied() else { return rows };
    // Marks at more distances than there are rows: spread evenly, the farthest among them.
    let each = rows.len().div_ceil(MOST / 2);
    rows = rows.into_iter().rev().step_by(each).collect();
    let beyond = (far * 1.2 + 1.0).min(400.0);
    let most = (beyond / every_m) as usize;
    let step = most.div_ceil((MOST / 2 - rows.len()).max(1)).max(1);
    let grid = (step..=most).step_by(step).map(|i| i as f64 * every_m).filter(|d| (0.5..=400.0).contains(d));
    rows.extend(grid);
    rows.sort_by(f64::total_cmp);
    rows.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    rows
}

/// Returns the distances at which the curve is drawn.
fn drawn(set: &Family) -> Vec<f64> {
    let far = set.counted().iter().map(|m| m.distance_m).fold(0.0, f64::max);
    let near = set.counted().iter().map(|m| m.distance_m).fold(f64::MAX, f64::min);
    let (near, far) = ((near - (0.2 * near).min(10.0)).max(0.5), (far + (0.2 * far).min(10.0)).min(400.0));
    // A hair inside, so that rounding leaves no end of the curve outside.
    let place = |i: usize| near + (far - near) * (i as f64 + 1e-6) / (DRAWN as f64 - 1.0 + 2e-6);
    (0..DRAWN).map(place).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(distances_m: impl Iterator<Item = f64>) -> Vec<Found> {
        let one = |distance_m: f64| Found {
            id: ThingId::from_bytes([1; 16]),
            at: None,
            archer: None,
            arrows: None,
            what: MarkedOn::Sight,
            distance_m,
            reading: distance_m,
            setup: None,
        };
        distances_m.map(one).collect()
    }

    #[test]
    fn a_fine_grid_is_thinned_and_no_mark_is_lost() {
        let marks = found([18.3, 90.0, 182.7].into_iter());
        let rows = rows_of(&marks, 0.5);
        assert!(rows.len() <= MOST / 2 + 1, "{}", rows.len());
        assert!([18.3, 90.0, 182.7].iter().all(|d| rows.contains(d)), "{rows:?}");
        assert!(rows.last().is_some_and(|d| (219.0..=220.3).contains(d)), "{rows:?}");
        assert!(rows.contains(&1.0) && !rows.contains(&0.5) && rows.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(rows_of(&found([20.0].into_iter()), 5.0), [5.0, 10.0, 15.0, 20.0, 25.0]);
        let many = rows_of(&found((1..=490).map(|i| f64::from(i) * 0.3)), 5.0);
        assert!(many.len() <= MOST / 2 + 1 && many.contains(&(490.0 * 0.3)), "{}", many.len());
    }

    #[test]
    fn the_newest_marks_count() {
        let marks = found((0..612).map(|i| 5.0 + f64::from(i) * 0.1));
        let set = Family {
            archer: None,
            arrows: None,
            what: MarkedOn::Sight,
            setup: None,
            marks,
            older: Vec::new(),
        };
        let counted = set.readings();
        assert_eq!((counted.len(), counted[0].reading), (MOST, set.marks[112].reading));
        assert_eq!(counted.last().map(|m| m.reading), set.marks.last().map(|m| m.reading));
    }
}
