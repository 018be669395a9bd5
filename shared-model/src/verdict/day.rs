//! The last day in words: is it different, and how much do days vary anyway?

use super::{
    answer::{ArcherAnswer, answers},
    bow::{change_words, day_words},
    far_off::{answer_without, set_apart},
    figures::p_value,
    sentence::{beside, list, ratio_bounds, ratio_words, shift_bounds},
    sight::sight_words,
    units::{Units, trimmed},
};
use crate::{
    id::ThingId,
    replica::Store,
    stats::day_to_day::{DayToDay, Verdict, day_to_day},
    timeline::Asked,
};

/// Returns every archer's last day with a bow; `only` names the one who is asked about.
///
/// # Errors
/// Those of the store.
pub fn last_days<S: Store>(
    store: &S,
    bow: ThingId,
    only: Option<ThingId>,
    asked: &Asked,
    units: Units,
) -> Result<Vec<ArcherAnswer<DayToDay>>, S::Error> {
    answers(store, bow, only, |season, names| {
        let found = day_to_day(&season.input_without_face(asked))?;
        let change = |id: &str| season.changes.iter().find(|c| c.id == id).map(|c| change_words(c, names));
        let mut all = sentences(&found, asked.confidence, units, &change);
        if let Some((without, arrows)) = set_apart(season) {
            let again = day_to_day(&without.input_without_face(asked))?;
            let same = (again.mean, again.spread) == (found.mean, found.spread);
            let said =
                format!("{}; {}.", place(&again, asked.confidence, units), spread(&again, asked.confidence));
            all.push(answer_without(arrows, (!same).then_some(said.as_str())));
        }
        Ok((all, found))
    })
}

fn sentences(
    found: &DayToDay,
    confidence: f64,
    units: Units,
    change: &dyn Fn(&str) -> Option<String>,
) -> Vec<String> {
    let day = day_words(&found.at.day());
    let mut all = vec![format!("{day}: {}; {}.", place(found, confidence, units), spread(found, confidence))];
    if found.mean == Verdict::CannotTell {
        all.push(why(found, units, change));
    }
    all.push(varies(found, units));
    all
}

fn place(found: &DayToDay, confidence: f64, units: Units) -> String {
    let mm = |mrad: f64| mrad * found.distance_m;
    let (Some(shift), Some(p)) = (found.shift_mrad, found.shift_p) else {
        return "whether the mean differs from other days cannot be told".into();
    };
    let at = units.distance(found.distance_m);
    let figures = format!(
        "{} of them at {at}{}; p {}",
        beside(shift.map(mm), units),
        bounds(found, confidence, units),
        p_value(p)
    );
    match found.mean {
        Verdict::Different => format!("the mean is different from other days ({figures})"),
        Verdict::NotShown => format!("the mean is not shown to differ from other days ({figures})"),
        Verdict::CannotTell => "whether the mean differs from other days cannot be told".into(),
    }
}

fn bounds(found: &DayToDay, confidence: f64, units: Units) -> String {
    let Some(bounds) = found.shift_interval_mrad else { return String::new() };
    format!("; {}", shift_bounds(bounds, found.distance_m, confidence, units))
}

fn spread(found: &DayToDay, confidence: f64) -> String {
    let (Some(ratio), Some(interval), Some(p)) = (found.sd_ratio, found.sd_ratio_interval, found.spread_p)
    else {
        return "whether the spread differs cannot be told".into();
    };
    let figures = format!("{}; {}; p {}", ratio_words(ratio), ratio_bounds(interval, confidence), p_value(p));
    match found.spread {
        Verdict::Different => format!("the spread is different ({figures})"),
        Verdict::NotShown => format!("the spread is not shown to differ ({figures})"),
        Verdict::CannotTell => "whether the spread differs cannot be told".into(),
    }
}

fn why(found: &DayToDay, units: Units, change: &dyn Fn(&str) -> Option<String>) -> String {
    let named: Vec<String> = found
        .inseparable_from
        .iter()
        .map(|from| match change(from) {
            Some(words) => words,
            None if from == "session" => "how days vary".into(),
            None => sight_words(from, units).unwrap_or_else(|| from.clone()),
        })
        .collect();
    match named.as_slice() {
        [] => "Too little was shot to tell; two more days with the same setup are the least.".into(),
        [one] if one == "how days vary" => {
            "With so few days of one setup and sight nobody knows how days vary; two more are the least."
                .into()
        }
        _ => format!("The day cannot be told from what was altered before it: {}.", list(&named)),
    }
}

fn varies(found: &DayToDay, units: Units) -> String {
    let pair = |sd: [Option<f64>; 2]| match sd {
        [Some(x), Some(y)] => {
            let mm = [x, y].map(|v| units.number(v * found.distance_m));
            Some(format!("{} across and {} up and down", mm[0], mm[1]))
        }
        _ => None,
    };
    let unknown = || "by an amount that cannot be told yet".to_owned();
    let spread = match found.session_log_sd {
        Some(sd) if sd >= 0.005 => {
            format!("The spread varies by {} % from day to day.", trimmed((libm::exp(sd) - 1.0) * 100.0, 0))
        }
        Some(_) => "No variation of the spread from day to day shows.".into(),
        None => "How the spread varies from day to day cannot be told yet.".into(),
    };
    format!(
        "SDs in {} at {}: the mean from day to day {}, from end to end {}, an arrow about its end {}. {spread}",
        units.unit_word(),
        units.distance(found.distance_m),
        pair(found.sd_session_mrad).unwrap_or_else(unknown),
        pair(found.sd_end_mrad).unwrap_or_else(unknown),
        pair(found.sd_arrow_mrad).unwrap_or_else(unknown),
    )
}
