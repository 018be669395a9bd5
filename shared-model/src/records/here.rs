//! The setup of a bow as it truly is: a part that was noted on another bow since is not on it any more.

use crate::{
    id::ThingId,
    replica::Store,
    rig::whereabouts::{Gone, Whereabouts, gone, whereabouts},
    timeline::{Altered, Setup, Timeline},
};
use std::collections::BTreeMap;

/// What is on a bow, and what of it went elsewhere.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Here {
    /// The setup without what went to another bow.
    pub setup: Setup,
    /// What the bow's changes still name though it went to another bow, setting by setting.
    pub gone: BTreeMap<String, Gone>,
}

impl Here {
    /// Returns a setup without what of it went elsewhere.
    pub fn without(mut setup: Setup, gone: BTreeMap<String, Gone>) -> Self {
        setup.retain(|setting, _| !gone.contains_key(setting));
        Self { setup, gone }
    }

    /// Returns where a part went that a setting is to name again.
    pub fn gone_of(&self, altered: &Altered) -> Option<&Gone> {
        let wanted = altered.after.as_str()?.parse::<ThingId>().ok()?;
        self.gone.get(&altered.setting).filter(|gone| gone.part == wanted)
    }
}

/// Returns the setup of a bow as it is now.
///
/// # Errors
/// Those of the store.
pub fn setup_here<S: Store>(store: &S, bow: ThingId) -> Result<Here, S::Error> {
    setup_here_at(store, bow, i64::MAX)
}

/// Returns the setup of a bow as it was at a moment, by what was noted up to it.
///
/// # Errors
/// Those of the store.
pub fn setup_here_at<S: Store>(store: &S, bow: ThingId, unix_ms: i64) -> Result<Here, S::Error> {
    let setup = Timeline::changes_only(store, bow)?.setup_at(unix_ms);
    // A setup that names no part has none elsewhere; that spares the reading of all bows.
    if !setup.values().any(|set| set.value.as_str().is_some_and(|id| id.parse::<ThingId>().is_ok())) {
        return Ok(Here { setup, gone: BTreeMap::new() });
    }
    let gone = gone(&places(store, unix_ms)?, bow, &setup);
    Ok(Here::without(setup, gone))
}

/// Returns where every part was, by what was noted up to a moment.
pub(super) fn places<S: Store>(store: &S, unix_ms: i64) -> Result<Whereabouts, S::Error> {
    let mut bows = Timeline::changes_of_all(store)?;
    bows.iter_mut().for_each(|bow| bow.items.retain(|item| item.at.unix_ms() <= unix_ms));
    Ok(whereabouts(&bows))
}
