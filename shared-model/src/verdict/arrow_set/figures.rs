//! How the arrows of a set scatter, and the mean arrow in figures.

use super::{KnownSet, measured};
use crate::{
    rig::{
        arrow::foc_percent,
        arrow_set::{Scatter, mean_of_near, scale_step_gr, scatter},
        spine::{older_deflection_in, older_pounds},
    },
    verdict::{
        bow_sheet::Said,
        sentence::list,
        units::{count, trimmed},
    },
};

/// Whose words the figures of balance and flight are.
const FOC: &str = "balance in front of the middle: from memory (AMO); common practice, no source";
const SPINE: &str = "ASTM F2031; the older test from memory (AMO), converted as a beam on two supports";

impl KnownSet {
    /// Returns how the set scatters and what the mean arrow is, and notes what is wanted for more.
    pub(super) fn figures(&self, wanted: &mut Vec<String>) -> Vec<Said> {
        let masses: Vec<f64> = self.masses().into_iter().map(|(_, mass)| mass).collect();
        let of = |field: fn(&crate::kind::Shaft) -> Option<f64>| -> Vec<f64> {
            self.shafts.values().filter(|shaft| !shaft.bare).filter_map(field).collect()
        };
        if masses.is_empty() {
            wanted.push("the mass of each arrow, weighed one after the other".into());
        }
        let mut said: Vec<Said> = self.mass_words(&masses).into_iter().collect();
        said.extend(scattered("Points", &of(|s| s.pile_gr), "gr", 1));
        said.extend(scattered(
            "Balance points",
            &of(|s| s.balance_from_nock_in),
            "in from the nock groove",
            2,
        ));
        said.extend(self.foc_words());
        said.extend(self.record.spine.map(spine_words));
        for on in &self.on {
            said.extend(on.flight_words(self.mean_mass_gr()).into_iter().chain(on.unused_words()));
        }
        said
    }

    fn mass_words(&self, masses: &[f64]) -> Option<Said> {
        let found = scatter(masses)?;
        let bare = self.shafts.values().filter(|s| s.bare && s.mass_gr.is_some()).count();
        let besides = if bare > 0 { ", fletched and in use" } else { "" };
        let step = scale_step_gr(masses);
        let fine = match step {
            Some(step) if found.range <= step * 1.001 => {
                " They differ by no more than the scale can show.".to_owned()
            }
            Some(step) => format!(" The scale shows steps of {} gr.", trimmed(step, 2)),
            None => String::new(),
        };
        let n = count(found.n, "arrow");
        let words =
            format!("{n} weighed{besides}: {}.{fine}{}", range_words(&found, "gr", 1), self.without_far());
        Some(Said { caution: None, ..measured(words) })
    }

    /// Says which arrows the mean arrow is without.
    fn without_far(&self) -> String {
        let Some((mean, far)) = mean_of_near(&self.masses()).filter(|(_, far)| !far.is_empty()) else {
            return String::new();
        };
        let numbers: Vec<String> = far.iter().map(u32::to_string).collect();
        format!(
            " The mean arrow, from which each is measured, is that of the others without {}: {} gr.",
            list(&numbers),
            trimmed(mean, 1)
        )
    }

    fn foc_words(&self) -> Option<Said> {
        let each = |shaft: &crate::kind::Shaft| {
            let length = shaft.length_in.or(self.record.length_in)?;
            Some(foc_percent(length, shaft.balance_from_nock_in?))
        };
        let found: Vec<f64> = self.shafts.values().filter(|s| !s.bare).filter_map(each).collect();
        let words = match scatter(&found) {
            Some(found) => format!("FOC: {}.", range_words(&found, "%", 1)),
            None => {
                let (length, balance) = self.record.length_in.zip(self.record.balance_from_nock_in)?;
                format!("FOC {} %.", trimmed(foc_percent(length, balance), 1))
            }
        };
        Some(Said { words, source: FOC.into(), caution: None })
    }
}

fn scattered(what: &str, values: &[f64], unit: &str, decimals: usize) -> Option<Said> {
    let found = scatter(values)?;
    Some(measured(format!("{what}: {}.", range_words(&found, unit, decimals))))
}

/// Returns mean, SD and range in words: `mean 330.9 gr, SD 1.2, from 329.4 to 332.8 (3.4 apart)`.
fn range_words(found: &Scatter, unit: &str, decimals: usize) -> String {
    let told = |value: f64| trimmed(value, decimals);
    match found.sd {
        None => format!("{} {unit}", told(found.mean)),
        Some(sd) => format!(
            "mean {} {unit}, SD {}, from {} to {} ({} apart)",
            told(found.mean),
            trimmed(sd, decimals + 1),
            told(found.least),
            told(found.most),
            told(found.range)
        ),
    }
}

fn spine_words(spine: f64) -> Said {
    let pounds = older_pounds(spine).map_or_else(String::new, |pounds| {
        format!(", or {} lb of spine, which is no draw weight", trimmed(pounds, 0))
    });
    let words = format!(
        "Spine {}: the shaft bends {} in under 1.94 lb at the middle of supports 28 in apart. By the older test of 2 lb \
         on 26 in that is {} in{pounds}.",
        trimmed(spine, 0),
        trimmed(1e-3 * spine, 3),
        trimmed(older_deflection_in(spine), 3)
    );
    Said { words, source: SPINE.into(), caution: None }
}
