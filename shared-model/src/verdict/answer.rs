//! An answer for each archer who shot a bow: sentences over figures.

use super::bow::{names, seasons};
use crate::{
    ModelError,
    id::ThingId,
    named::name_of,
    replica::Store,
    timeline::{Season, Timeline},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// What one archer's groups with a bow say.
#[derive(Debug, Clone, Serialize)]
pub struct ArcherAnswer<F> {
    /// The archer, where the groups name one.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub name: String,
    /// The answer in a sentence or a few.
    pub sentences: Vec<String>,
    /// The figures; null where too little was shot, which the sentences then say.
    pub figures: Option<F>,
}

/// Asks the groups of every archer with a bow; `only` names the one who is asked about.
pub(super) fn answers<S: Store, F>(
    store: &S,
    bow: ThingId,
    only: Option<ThingId>,
    ask: impl Fn(&Season, &BTreeMap<ThingId, String>) -> Result<(Vec<String>, F), ModelError>,
) -> Result<Vec<ArcherAnswer<F>>, S::Error> {
    let names = names(store)?;
    let timeline = Timeline::read(store, bow)?;
    let answer = |(archer, season): (Option<ThingId>, Season)| {
        let (sentences, figures) = match ask(&season, &names) {
            Ok((sentences, figures)) => (sentences, Some(figures)),
            Err(e) => (vec![format!("Nothing can be said yet: {}.", e.message)], None),
        };
        let name = archer.map_or_else(|| "someone".to_owned(), |id| name_of(&names, id));
        ArcherAnswer { archer, name, sentences, figures }
    };
    Ok(seasons(store, &timeline, only)?.into_iter().map(answer).collect())
}
