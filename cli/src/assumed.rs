//! What a group takes over from the one before when it is not typed, in the words of the command line.

use crate::{
    CliError,
    lookup::{self, Named},
    store::Home,
    words::distance_words,
};
use sheaf_model::{face::Face, id::ThingId, kind::Group, records};

/// Returns the distance of the group before.
pub fn last_distance(last: &Group, assumed: &mut Vec<String>) -> Result<f64, CliError> {
    let distance_m = last.distance_m.ok_or_else(|| {
        CliError::input("how far was it?")
            .hint("write the distance with its unit after the bow, like 30m or 20yd")
    })?;
    assumed.push(distance_words(distance_m));
    Ok(distance_m)
}

/// Returns the latest group in use, of the person of this device where there is one.
pub fn last_group(home: &Home) -> Result<Option<Group>, CliError> {
    records::last_group(home.store(), home.card().person)
}

/// Returns the bow of the group before, or the only one there is.
pub fn last_or_only_bow(
    home: &Home,
    last: Option<ThingId>,
    assumed: &mut Vec<String>,
) -> Result<Named, CliError> {
    let found = records::last_or_only(home.store(), "bow", last)?.ok_or_else(|| {
        CliError::input("which bow?").hint("name it first: sheaf shoot BOW 30m 9@4:30 X@12")
    })?;
    assumed.push(found.name.clone());
    Ok(found)
}

/// Returns the face that was typed, or the one that the archer last shot at that distance; where nothing was shot there
/// yet, that of the group before, with the distance in m at which it was shot.
pub fn face_of(
    home: &Home,
    typed: Option<&str>,
    place: (ThingId, f64, bool),
    last: &Group,
    assumed: &mut Vec<String>,
) -> Result<(String, Face, Option<f64>), CliError> {
    if let Some(code) = typed.map(|code| code.trim().to_lowercase()) {
        return Ok((code.clone(), Face::by_code(&code)?, None));
    }
    let Some(usual) = records::usual_face(home.store(), place, last)? else {
        let codes: Vec<&str> = Face::codes().collect();
        return Err(CliError::input("which face?")
            .hint(format!("say it once with --face CODE; there are {}", codes.join(", "))));
    };
    let face = Face::by_code(&usual.code)?;
    assumed.push(usual.code.clone());
    Ok((usual.code, face, usual.from_m))
}

/// Returns the arrow set of the archer's latest group with a bow, or that of the group before.
pub fn last_arrows(home: &Home, with: (ThingId, ThingId), last: &Group) -> Result<Option<ThingId>, CliError> {
    records::last_arrows(home.store(), with, last)
}

/// Returns the arrow set that was typed, that of the group before, or the only one there is.
pub fn arrows_of(
    home: &Home,
    typed: Option<&str>,
    last: Option<ThingId>,
    assumed: &mut Vec<String>,
) -> Result<Option<(ThingId, String)>, CliError> {
    let set = match typed {
        Some(name) => Some(lookup::find(home, "arrows", name)?),
        None => {
            let found = records::last_or_only(home.store(), "arrows", last)?;
            assumed.extend(found.as_ref().map(|a| a.name.clone()));
            found
        }
    };
    Ok(set.map(|set| (set.id, set.name)))
}

/// Returns the name for where the sight stood in the latest group of that bow, archer and distance: it holds until
/// another is given.
pub fn last_sight(
    home: &Home,
    place: (ThingId, ThingId, f64),
    assumed: &mut Vec<String>,
) -> Result<Option<String>, CliError> {
    let sight = records::last_sight(home.store(), place)?;
    assumed.extend(sight.as_ref().map(|label| format!("sight {label}")));
    Ok(sight)
}
