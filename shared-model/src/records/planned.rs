//! Plans as groups are shot under them: which end comes next, and whether the bow is set up for it.

use crate::{
    ModelError,
    id::ThingId,
    kind::{Group, Plan, same_value},
    moment::Moment,
    notation::same_distance,
    replica::Store,
    timeline::{Setup, Timeline},
    verdict::{NextEnd, Units, block_session, plan_state},
};
use serde_json::Value;

/// Why a group is not the next end of a plan.
#[derive(Debug, Clone, PartialEq)]
pub enum NotNext {
    /// The plan is for another bow.
    OtherBow,
    /// The plan of this name is out of use.
    Retired(String),
    /// Every end is shot.
    AllShot,
    /// The bow is not noted to be set up for that end: what would have to be altered.
    NotSetUp(NextEnd, Vec<(String, Value)>),
    /// No arrow of it counts.
    NoArrow(NextEnd),
    /// The plan is shot at this distance in m.
    OtherDistance(f64),
    /// The plan is another archer's.
    OtherArcher,
}

/// Returns the next end of a plan for a group that is about to be kept, the bow set up as the plan says.
fn next_end<S: Store>(
    store: &S,
    (id, plan): (ThingId, &Plan),
    group: &Group,
) -> Result<Result<NextEnd, NotNext>, S::Error> {
    let Some(bow) = plan.bow.filter(|bow| group.bow == Some(*bow)) else { return Ok(Err(NotNext::OtherBow)) };
    if plan.retired {
        return Ok(Err(NotNext::Retired(plan.name.clone().unwrap_or_default())));
    }
    let timeline = Timeline::read(store, bow)?;
    let now = block_session(&timeline, group, plan)?;
    let Some(end) = plan_state(store, id, plan, Units::Metric, Some(&now))?.next else {
        return Ok(Err(NotNext::AllShot));
    };
    let at = group.at.as_deref().map(Moment::read).transpose()?.map_or(i64::MAX, |at| at.unix_ms());
    let open = open_settings(&timeline.setup_at(at), &end);
    if !open.is_empty() {
        return Ok(Err(NotNext::NotSetUp(end, open)));
    }
    if group.counted_mm().is_empty() {
        return Ok(Err(NotNext::NoArrow(end)));
    }
    Ok(Ok(end))
}

/// Marks a group as the next end of a plan, and returns that end.
///
/// # Errors
/// Those of the store; `bad_plan` and `bad_time` for what cannot be read.
pub fn tick<S: Store>(
    store: &S,
    (id, plan): (ThingId, &Plan),
    group: &mut Group,
) -> Result<Result<NextEnd, NotNext>, S::Error> {
    let end = match next_end(store, (id, plan), group)? {
        Ok(end) => end,
        Err(why) => return Ok(Err(why)),
    };
    if let Some(planned) = plan.distance_m {
        if !group.distance_m.is_some_and(|distance| same_distance(planned, distance)) {
            return Ok(Err(NotNext::OtherDistance(planned)));
        }
        // The same in another unit is rounded otherwise; the ends of a plan are all of one distance.
        group.distance_m = Some(planned);
    }
    if plan.archer.is_some() && plan.archer != group.archer {
        return Ok(Err(NotNext::OtherArcher));
    }
    group.plan = Some(id);
    group.plan_place = u32::try_from(end.place).ok();
    Ok(Ok(end))
}

/// Returns what has to be altered on a bow before an end: settings with the values that they are to have.
pub fn open_settings(setup: &Setup, end: &NextEnd) -> Vec<(String, Value)> {
    let is_so =
        |field: &str, value: &Value| setup.get(field).is_some_and(|set| same_value(&set.value, value));
    let open = end.settings.iter().filter(|(field, value)| !is_so(field, value));
    open.map(|(field, value)| (field.clone(), value.clone())).collect()
}

impl NotNext {
    /// Returns why, as an error about the plan.
    pub fn told(&self) -> ModelError {
        let message = match self {
            Self::OtherBow => "this plan is for another bow".to_owned(),
            Self::Retired(name) => format!("the plan {name} is out of use"),
            Self::AllShot => "every end of this plan is shot".to_owned(),
            Self::NotSetUp(end, _) => format!(
                "end {} is for setup {}: {}, and the bow is not noted to be set up so at that time",
                end.place + 1,
                end.setup,
                end.words
            ),
            Self::NoArrow(end) => {
                format!("no arrow of this end counts, so it cannot be end {}", end.place + 1)
            }
            Self::OtherDistance(m) => {
                format!("this plan is shot at {} m", crate::verdict::decimal(*m, 2))
            }
            Self::OtherArcher => "this plan is another archer's".to_owned(),
        };
        ModelError::new("not_next", message).at("plan")
    }
}
