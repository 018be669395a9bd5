//! What is known of one arrow of a set: fields `shaft.<number>.<field>` of the set's record.

use super::{
    Arrows, Form,
    field::{field, value},
};
use crate::ModelError;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The most arrows that a set may have.
pub const MOST_SHAFTS: u32 = 1000;
/// The words for what is so or not.
pub(super) const YES_NO: &[&str] = &["yes", "no"];
/// The fields that hold yes or no.
const FLAGS: &[&str] = &["bare", "out"];

/// One arrow of a set. What is not noted of it is as the set's own record says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shaft {
    /// Length in inches, nock groove to the front end of the shaft.
    pub length_in: Option<f64>,
    /// Static spine: thousandths of an inch of deflection (ASTM F2031).
    pub spine: Option<f64>,
    /// Mass of the pile in grains.
    pub pile_gr: Option<f64>,
    /// Mass of the whole arrow in grains.
    pub mass_gr: Option<f64>,
    /// Distance of the balance point from the nock groove in inches.
    pub balance_from_nock_in: Option<f64>,
    /// The nock, in words.
    pub nock: Option<String>,
    /// The fletching, in words.
    pub fletching: Option<String>,
    /// Whether it is a bare shaft.
    pub bare: bool,
    /// Whether it is out of use: dropped from the set, or broken.
    pub out: bool,
    /// Anything else worth knowing.
    pub note: Option<String>,
}

impl Arrows {
    /// Returns what is noted of single arrows, by their numbers.
    pub fn shafts(&self) -> BTreeMap<u32, Shaft> {
        let mut shafts: BTreeMap<u32, Shaft> = BTreeMap::new();
        for (name, value) in self.rest.iter().filter(|(_, value)| !value.is_null()) {
            if let Some((number, field)) = shaft_of(name) {
                shafts.entry(number).or_default().put(field, value);
            }
        }
        shafts
    }

    /// Returns the mass of the lightest arrow in use, grains, with its number where that one was weighed by itself. The mass
    /// that the set's record gives counts as long as an arrow in use was not weighed.
    pub fn lightest_gr(&self) -> Option<(Option<u32>, f64)> {
        let shafts = self.shafts();
        let mass =
            |number: &u32| shafts.get(number).and_then(|shaft| shaft.mass_gr).filter(|gr| can_weigh(*gr));
        let in_use = |number: &u32| shafts.get(number).is_none_or(|shaft| !shaft.out);
        let (mut weighed, mut all) = (Vec::new(), true);
        for number in self.numbers().iter().filter(|number| in_use(number)) {
            match mass(number) {
                Some(gr) => weighed.push((Some(*number), gr)),
                None => all = false,
            }
        }
        let of_set = self.mass_gr.filter(|gr| can_weigh(*gr) && (weighed.is_empty() || !all));
        weighed.into_iter().chain(of_set.map(|gr| (None, gr))).reduce(|a, b| if b.1 < a.1 { b } else { a })
    }

    /// Returns the length of each arrow in use, inches, by number: its own, else what the set's record says.
    pub fn lengths_in(&self) -> Vec<(u32, f64)> {
        let shafts = self.shafts();
        let length = |number: u32| {
            let shaft = shafts.get(&number);
            let own = shaft.and_then(|shaft| shaft.length_in);
            own.or(self.length_in).filter(|_| shaft.is_none_or(|shaft| !shaft.out))
        };
        self.numbers().into_iter().filter_map(|number| Some((number, length(number)?))).collect()
    }

    /// Returns the numbers of all arrows that there are or that something is noted of.
    pub fn numbers(&self) -> Vec<u32> {
        let mut numbers: Vec<u32> = (1..=self.count.unwrap_or(0).min(MOST_SHAFTS)).collect();
        numbers.extend(self.shafts().into_keys().filter(|n| !numbers.contains(n)).collect::<Vec<_>>());
        numbers
    }
}

impl Arrows {
    /// Returns the set without measures that no arrow has.
    pub fn measured(mut self) -> Self {
        for measure in [
            &mut self.shaft_diameter_mm,
            &mut self.spine,
            &mut self.length_in,
            &mut self.mass_gr,
            &mut self.pile_gr,
            &mut self.balance_from_nock_in,
        ] {
            *measure = possible(*measure);
        }
        self
    }
}

impl Shaft {
    /// Takes in a field; what another program wrote in another shape is passed over.
    fn put(&mut self, field: &str, value: &Value) {
        let number = || possible(value.as_f64());
        let text = || value.as_str().map(str::to_owned);
        match field {
            "length_in" => self.length_in = number(),
            "spine" => self.spine = number(),
            "pile_gr" => self.pile_gr = number(),
            "mass_gr" => self.mass_gr = number(),
            "balance_from_nock_in" => self.balance_from_nock_in = number(),
            "nock" => self.nock = text(),
            "fletching" => self.fletching = text(),
            "note" => self.note = text(),
            "bare" => self.bare = value.as_bool().unwrap_or(false),
            "out" => self.out = value.as_bool().unwrap_or(false),
            _ => {}
        }
    }
}

/// Returns a measure where it is one that can be: what comes from elsewhere may be anything.
fn possible(value: Option<f64>) -> Option<f64> {
    value.filter(|v| (1e-3..=1e5).contains(v))
}

/// Returns whether an arrow can have a mass in grains.
fn can_weigh(gr: f64) -> bool {
    matches!(field("shaft", "mass_gr"), Some((_, Form::Number(least, most))) if (least..=most).contains(&gr))
}

/// Returns the name under which a field of an arrow is kept.
pub fn shaft_name(number: u32, field: &str) -> String {
    format!("shaft.{number}.{field}")
}

/// Returns the number of the arrow and its field, of a name that is one of [`shaft_name`].
pub fn shaft_of(name: &str) -> Option<(u32, &str)> {
    let (number, field) = name.strip_prefix("shaft.")?.split_once('.')?;
    // One spelling a number, so that an arrow cannot have a field twice.
    let plain = number.starts_with(|c: char| ('1'..='9').contains(&c));
    let number = number.parse().ok().filter(|n| plain && (1..=MOST_SHAFTS).contains(n))?;
    (!field.is_empty()).then_some((number, field))
}

/// Reads a value of a field of an arrow as it was typed.
///
/// # Errors
/// Those of [`value`], with the arrow in the message and its field as the place.
pub fn shaft_value(number: u32, name: &str, form: Form, typed: &str) -> Result<Value, ModelError> {
    let place = shaft_name(number, name);
    let read = value(name, form, typed)
        .map_err(|e| ModelError::new(e.code, format!("shaft {number}, {}", e.message)).at(&place))?;
    Ok(if FLAGS.contains(&name) { json!(read == "yes") } else { read })
}

/// Returns the field of an arrow that is meant: its full name, or the name without its unit or its long words.
pub fn shaft_field(typed: &str) -> Option<(&'static str, Form)> {
    let typed = typed.trim().to_lowercase().replace(['-', ' '], "_");
    let meant = match typed.as_str() {
        "balance" | "balance_in" => "balance_from_nock_in",
        "point" | "point_gr" => "pile_gr",
        other => other,
    };
    field("shaft", meant)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn shafts_are_read_from_what_the_set_holds_besides() {
        let set: Arrows = serde_json::from_value(json!({"count": 2, "shaft.1.mass_gr": 331.2, "shaft.1.bare": true,
            "shaft.12.nock": "red", "shaft.2.mass_gr": "heavy", "shaft.1.colour": "blue", "shaft.0.mass_gr": 1,
            "shaft.01.mass_gr": 5, "shaft.3.out": null}))
        .unwrap();
        let shafts = set.shafts();
        assert_eq!(shafts.keys().copied().collect::<Vec<_>>(), [1, 2, 12]);
        assert_eq!((shafts[&1].mass_gr, shafts[&1].bare, shafts[&2].mass_gr), (Some(331.2), true, None));
        assert_eq!(set.numbers(), [1, 2, 12]);
        let back = serde_json::to_value(&set).unwrap();
        assert_eq!(back["shaft.1.colour"], "blue", "what a build does not know stays");
    }

    #[test]
    fn the_lightest_arrow_is_one_in_use() {
        let lightest = |set: Value| serde_json::from_value::<Arrows>(set).unwrap().lightest_gr();
        let two = json!({"count": 2, "mass_gr": 320, "shaft.1.mass_gr": 331, "shaft.2.mass_gr": 329});
        assert_eq!(
            lightest(two),
            Some((Some(2), 329.0)),
            "both were weighed: the set's own mass says no more"
        );
        let out = json!({"count": 2, "shaft.1.mass_gr": 331, "shaft.2.mass_gr": 229, "shaft.2.out": true});
        assert_eq!(lightest(out), Some((Some(1), 331.0)));
        let unweighed = json!({"count": 3, "mass_gr": 320, "shaft.1.mass_gr": 331});
        assert_eq!(lightest(unweighed), Some((None, 320.0)));
        let bare = json!({"shaft.1.mass_gr": 331, "shaft.2.mass_gr": 310, "shaft.2.bare": true});
        assert_eq!(lightest(bare), Some((Some(2), 310.0)), "a bare shaft is shot as well");
        let odd = json!({"mass_gr": 330, "shaft.1.mass_gr": 3, "shaft.02.mass_gr": 60});
        assert_eq!(lightest(odd), Some((None, 330.0)));
        assert_eq!(lightest(json!({})), None);
    }

    #[test]
    fn a_name_has_one_spelling() {
        assert_eq!(shaft_of("shaft.3.mass_gr"), Some((3, "mass_gr")));
        for name in [
            "shaft.03.mass_gr",
            "shaft.0.x",
            "shaft.1001.x",
            "shaft.x.mass_gr",
            "shaft.3.",
            "shaft.3",
            "mass_gr",
        ] {
            assert_eq!(shaft_of(name), None, "{name}");
        }
    }

    #[test]
    fn a_value_is_read_in_its_unit_and_refused_with_its_arrow() {
        let read = |name: &str, typed: &str| {
            let (name, form) = shaft_field(name).unwrap();
            shaft_value(3, name, form, typed)
        };
        assert_eq!(read("mass", "21.4 g").unwrap().as_f64().unwrap().round(), 330.0);
        assert_eq!((read("bare", "Yes"), read("out", "no")), (Ok(json!(true)), Ok(json!(false))));
        assert_eq!(read("balance", "16 1/8in"), Ok(json!(16.125)));
        let told = read("mass", "21.4").unwrap_err();
        assert!(
            told.message.contains("shaft 3") && told.message.contains("did you mean 21.4 g"),
            "{}",
            told.message
        );
        assert_eq!(told.field.as_deref(), Some("shaft.3.mass_gr"));
        assert!(
            read("mass", "-331").is_err()
                && read("bare", "maybe").is_err()
                && shaft_field("colour").is_none()
        );
    }
}
