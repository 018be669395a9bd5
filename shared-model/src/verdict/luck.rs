//! What luck alone does, in words and as a picture of dots.

use super::{
    ArcherVerdict, Judged,
    units::{Units, count},
};
use crate::{
    ModelError,
    chart::{Deals, deals},
    rng::Seed,
    stats::deal::{Dealt, DealtEnd, deal},
    timeline::{EndMean, Season},
};
use serde::Serialize;

/// The deals of a change's ends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Luck {
    /// The figures.
    #[serde(flatten)]
    pub dealt: Dealt,
    /// A dot a deal, SVG.
    pub svg: String,
    /// What it says.
    pub sentences: Vec<String>,
}

/// Deals the ends before and after a change again by chance, `most` deals at most.
///
/// # Errors
/// Those of [`deal`].
pub fn luck(
    archer: &ArcherVerdict,
    judged: &Judged,
    season: &Season,
    most: usize,
    units: Units,
    seed: Seed,
) -> Result<Luck, ModelError> {
    let [before, after] = season.around(&judged.effect.changes);
    let side = |ends: Vec<EndMean>, after: bool| {
        ends.into_iter().map(move |end| DealtEnd {
            mean_mrad: end.mean_mrad,
            after,
            session: end.session,
            sight: end.sight,
        })
    };
    let ends: Vec<DealtEnd> = side(before, false).chain(side(after, true)).collect();
    let dealt = deal(&ends, most, seed)?;
    let sentences = sentences(&dealt, archer.distance_m, units);
    let read = |mrad: f64| units.reading(mrad * archer.distance_m);
    let distances: Vec<f64> = dealt.distances_mrad.iter().map(|d| read(*d)).collect();
    let yours = dealt.distance_mrad;
    let svg = deals(&Deals {
        distances: &distances,
        yours: read(yours),
        reaches: &dealt.reaches(),
        yours_words: &format!("yours: {}", units.length(yours * archer.distance_m)),
        axis_words: &format!("{} between the two piles", units.unit_word()),
        label: &sentences[1],
    });
    Ok(Luck { dealt, svg, sentences })
}

/// Says what dealing came to; the second sentence is the answer.
fn sentences(dealt: &Dealt, distance_m: f64, units: Units) -> Vec<String> {
    let [before, after] = dealt.ends;
    let within = if dealt.within_sessions && dealt.strata > 1 { ", each session by itself" } else { "" };
    let times = if dealt.all {
        format!("in every one of the {} ways there are", dealt.deals)
    } else {
        format!("by chance, {} deals in all with yours", dealt.deals)
    };
    let mut all = vec![
        format!(
            "If the change did nothing, before and after are only names: the same {} are dealt into two piles of {before} \
             and {after}{within}, {times}.",
            count(before + after, "end")
        ),
        format!(
            "{} of {} deals {} as far apart as yours or farther ({} at {}).",
            dealt.reach,
            dealt.deals,
            if dealt.reach == 1 { "lies" } else { "lie" },
            units.length(dealt.distance_mrad * distance_m),
            units.distance(distance_m)
        ),
    ];
    all.extend(meaning(dealt));
    all.extend(limits(dealt));
    all
}

/// Says what the share means, and whether so few ends could have come out less.
fn meaning(dealt: &Dealt) -> Vec<String> {
    let [before, after] = dealt.ends;
    let mut all = Vec::new();
    if dealt.least_share > 0.05 {
        all.push(format!(
            "With {before} + {after} ends the least that can come out is {:.0} in 100: shoot more ends before luck can be \
             ruled out.",
            100.0 * dealt.least_share
        ));
    }
    all.extend(match dealt.share {
        ..=0.05 => Some("So luck alone is a poor story here.".to_owned()),
        // It could not have come out less.
        share if share <= dealt.least_share => None,
        ..=0.2 => Some("Luck alone does this now and then.".into()),
        _ => Some("Luck alone does this often.".into()),
    });
    all
}

/// Says what was left out, and what cannot be told from luck.
fn limits(dealt: &Dealt) -> Vec<String> {
    let mut all = Vec::new();
    if !dealt.within_sessions {
        all.push(
            "No session holds both settings, so what differs from day to day is taken for luck here; it may be more.".into(),
        );
    }
    if dealt.ends_left_out > 0 {
        all.push(format!(
            "Left out: {}, with nothing of the other setting shot in the same session with the same sight.",
            count(dealt.ends_left_out, "end")
        ));
    }
    all
}
