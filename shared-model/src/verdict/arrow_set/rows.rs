//! Each arrow of a set as a row.

use super::{KnownSet, length::off_words};
use crate::{
    kind::Shaft,
    rig::{arrow::foc_percent, arrow_set::mean_of_near},
    verdict::units::trimmed,
};
use serde::Serialize;

/// An arrow of a set.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ShaftRow {
    /// Its number.
    pub number: u32,
    /// Its mass in grains, as it is written.
    pub mass: Option<String>,
    /// How far that is from the mean of the fletched arrows that are not far from each other, grains with a sign.
    pub off_mean: Option<String>,
    /// The mass of its pile in grains; of the set's where it has none of its own.
    pub pile: Option<String>,
    /// Its length in inches, likewise.
    pub length: Option<String>,
    /// Its balance point from the nock groove in inches.
    pub balance: Option<String>,
    /// Balance in front of the middle, percent.
    pub foc: Option<String>,
    /// Its spine, likewise.
    pub spine: Option<String>,
    /// Its nock.
    pub nock: Option<String>,
    /// Its fletching.
    pub fletching: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Whether it is a bare shaft.
    pub bare: bool,
    /// Whether it is out of use.
    pub out: bool,
    /// What stands out, in a few words: bare, out of use, far from the others.
    pub words: String,
}

impl KnownSet {
    pub(super) fn rows(&self) -> Vec<ShaftRow> {
        let masses = self.masses();
        let (mean, far) = mean_of_near(&masses).unzip();
        let (mean, far) = (mean.filter(|_| masses.len() > 1), far.unwrap_or_default());
        let shafts = self.record.shafts();
        let odd = self.odd_lengths();
        let row = |number: u32| {
            let shaft = shafts.get(&number).cloned().unwrap_or_default();
            let marks = [
                (shaft.bare, "bare"),
                (shaft.out, "out of use"),
                (far.contains(&number), "far from the others"),
            ];
            let marks = marks.into_iter().filter(|(so, _)| *so).map(|(_, word)| word.to_owned());
            let words: Vec<String> = marks.chain(odd.get(&number).map(|off| off_words(*off))).collect();
            self.row(number, &shaft, mean, words.join(", "))
        };
        self.record.numbers().into_iter().map(row).collect()
    }

    fn row(&self, number: u32, shaft: &Shaft, mean: Option<f64>, words: String) -> ShaftRow {
        let told = |value: Option<f64>, decimals| value.map(|v| trimmed(v, decimals));
        let length = shaft.length_in.or(self.record.length_in);
        let foc = length.zip(shaft.balance_from_nock_in).map(|(length, at)| foc_percent(length, at));
        let off = shaft.mass_gr.zip(mean).filter(|_| !shaft.out).map(|(mass, mean)| signed(mass - mean, 1));
        ShaftRow {
            number,
            mass: told(shaft.mass_gr, 1),
            off_mean: off,
            pile: told(shaft.pile_gr.or(self.record.pile_gr), 1),
            length: told(length, 2),
            balance: told(shaft.balance_from_nock_in, 2),
            foc: told(foc, 1),
            spine: told(shaft.spine.or(self.record.spine), 0),
            nock: shaft.nock.clone().or_else(|| self.record.nock.clone()),
            fletching: shaft.fletching.clone().or_else(|| self.record.fletching.clone()),
            note: shaft.note.clone(),
            bare: shaft.bare,
            out: shaft.out,
            words,
        }
    }
}

/// Returns a number with its sign.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let text = trimmed(value, decimals);
    if value > 0.0 && text != "0" { format!("+{text}") } else { text.replace('-', "\u{2212}") }
}
