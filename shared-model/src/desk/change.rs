//! What is altered on a bow.

use super::{
    Ask, Desk,
    given::{Given, need, text_of, wrong},
    keep::altered_since,
    mend,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Change, SETTINGS},
    merge::Thing,
    moment::Moment,
    name,
    records::{self, added, meant_setting, part_of_setting},
    replica::Store,
    timeline::{Altered, Setup, Timeline},
    verdict::{
        PairAdvice, altered as altered_words, cautions_with, limits_after, moved, name_and_unit, pair_advice,
    },
};
use serde_json::{Value, json};

/// Records a change, and says what each setting was before. One that is sent again is kept once; what was altered in it
/// since is put right.
pub(super) fn change(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    let known = desk.store()?.thing("change", id)?;
    let typed_at = given.at("at", ask)?;
    let at = match typed_at {
        Some(at) => at,
        None if given.flag("already")? => before_all(desk.store()?, bow, ask.moment()?)?,
        None => ask.moment()?,
    };
    let note = given.remark("note")?;
    let pairs = match given.value("set") {
        Some(Value::Array(pairs)) if !pairs.is_empty() => pairs,
        _ => return Err(wrong("set", "what was altered? give at least one setting".into())),
    };
    let setup = match &known {
        Some(change) => records::setup_before(desk.store()?, change)?,
        None => Timeline::read(desk.store()?, bow)?.setup_at(at.unix_ms()),
    };
    let altered = desk.altered(&setup, pairs)?;
    let record = Change { bow: Some(bow), at: Some(at.rfc3339()), note, ..Change::default() };
    match known {
        Some(change) => desk.change_again(&change, record, &altered, typed_at.is_some(), ask),
        None => desk.keep_change(id, record, &altered, ask),
    }
}

/// Returns a moment before anything that happened with a bow: what was so all along is noted there, and is no change.
fn before_all<S: Store>(store: &S, bow: ThingId, now: Moment) -> Result<Moment, S::Error> {
    let timeline = Timeline::read(store, bow)?;
    let Some(first) = timeline.items.first().filter(|first| first.at.unix_ms() < now.unix_ms()) else {
        return Ok(now);
    };
    Ok(Moment::new(first.at.unix_ms() - 1000, first.at.offset_min())?)
}

impl Desk {
    /// Reads what was altered, each setting once.
    fn altered(&self, setup: &Setup, pairs: &[Value]) -> Result<Vec<Altered>, ModelError> {
        let mut altered: Vec<Altered> = Vec::new();
        for (i, pair) in pairs.iter().enumerate() {
            let place = format!("set[{i}]");
            let (setting, after) = self.setting(setup, pair, &place)?;
            if altered.iter().any(|a| a.setting == setting) {
                let message = format!(
                    "{} is given twice; a change holds one value of a setting",
                    name_and_unit(&setting).0
                );
                return Err(wrong(&format!("{place}.setting"), message));
            }
            let before = setup.get(&setting).map(|s| s.value.clone());
            altered.push(Altered { setting, before, after });
        }
        Ok(altered)
    }

    /// Answers a change that is sent again: a page that was killed may have gone on gathering.
    fn change_again(
        &mut self,
        change: &Thing,
        mut record: Change,
        altered: &[Altered],
        timed: bool,
        ask: &Ask,
    ) -> Result<Value, ModelError> {
        let kept: Change = kind::read(change)?;
        record.by = kept.by;
        altered.iter().for_each(|a| record.set(&a.setting, a.after.clone()));
        let set = altered_since(change, &kind::draft(change.id, &record)?, timed);
        if set.is_empty() {
            let words = ["This change was kept already."];
            return Ok(json!({"change": change.id, "words": words, "cautions": []}));
        }
        let words = mend::write(self, change, set, ask)?;
        let cautions = self.cautions(record.bow, altered)?;
        let moved = moved(self.store()?, change.id, &ask.moment()?)?;
        Ok(json!({"change": change.id, "words": words, "cautions": cautions, "moved": moved}))
    }

    /// Reads a setting with what it is now, or by how much it was altered.
    pub(super) fn setting(
        &self,
        setup: &Setup,
        pair: &Value,
        place: &str,
    ) -> Result<(String, Value), ModelError> {
        let within = |name: &str| format!("{place}.{name}");
        let read = |name: &str| pair.get(name).map_or(Ok(None), |value| text_of(value, &within(name)));
        let name = need(read("setting")?, &within("setting"), "which setting was altered")?;
        let (by, to) = (read("by")?, read("to")?);
        let (typed, at) = match (&by, &to) {
            (Some(by), None) => (by, within("by")),
            (None, Some(to)) => (to, within("to")),
            (Some(_), Some(_)) => {
                return Err(wrong(&within("by"), "give `by` or `to`, not both".into()));
            }
            (None, None) => return Err(wrong(&within("to"), format!("{name}: the value is empty"))),
        };
        let meant = meant_setting(&name, by.is_some() || kind::is_numeric(typed)).ok_or_else(|| {
            let known: Vec<&str> = SETTINGS.iter().map(|s| s.name).collect();
            let message = format!("there is no such setting; there are {}", known.join(", "));
            ModelError::new("unknown_setting", message).at(within("setting"))
        })?;
        let field = meant.field;
        let value = match (meant.unit.is_empty(), by.is_some()) {
            (true, true) => {
                let message = format!("{} is a part or a name: give `to`", name_and_unit(&field).0);
                Err(wrong(&at, message))
            }
            (true, false) => self.part(&field, typed, &at),
            (false, false) => kind::read_setting(&field, typed).map(|number| json!(number)),
            (false, true) => sum(setup, &field, typed),
        };
        let value = value.map_err(|e| e.at(at.clone()))?;
        kind::check_setting(&field, &value).map_err(|e| e.at(at))?;
        Ok((field, value))
    }

    /// Reads a setting of a change that is there; an empty one is taken out of it.
    pub(super) fn typed_setting(
        &self,
        change: &Thing,
        name: &str,
        value: &Value,
    ) -> Result<(String, Value), ModelError> {
        let bare = name.strip_prefix("set.").unwrap_or(name);
        if text_of(value, name)?.is_none() {
            let held = records::held(change).into_iter().find(|field| field == bare);
            return held.map(|field| (format!("set.{field}"), Value::Null)).ok_or_else(|| {
                ModelError::new("unknown_setting", "the change does not hold this setting").at(name)
            });
        }
        let setup = records::setup_before(self.store()?, change)?;
        let (field, value) =
            self.setting(&setup, &json!({"setting": bare, "to": value}), name).map_err(|e| e.at(name))?;
        Ok((format!("set.{field}"), value))
    }

    /// Returns the part or arrow set that is meant; where none is called so, the words stand for themselves, save for
    /// what has to be recorded.
    fn part(&self, field: &str, typed: &str, at: &str) -> Result<Value, ModelError> {
        let (kind, known) = part_of_setting(field);
        match self.find(kind, typed, at) {
            Ok(id) => {
                let value = json!(id);
                match records::check_sort(self.store()?, field, &value) {
                    // The beginning of the name of another sort of part stands for itself where words may.
                    Err(_) if !known && !self.is_called(kind, id, typed)? => Ok(json!(typed)),
                    checked => checked.map(|()| value),
                }
            }
            Err(e) if e.code == "unknown_thing" && !known && typed.parse::<ThingId>().is_err() => {
                Ok(json!(typed))
            }
            Err(e) => Err(e),
        }
    }

    /// Whether what was typed is the id of a thing or its whole name.
    fn is_called(&self, kind: &'static str, id: ThingId, typed: &str) -> Result<bool, ModelError> {
        let named = self.store()?.thing(kind, id)?.and_then(|thing| records::named(kind, &thing));
        Ok(typed.parse() == Ok(id) || named.is_some_and(|n| name::key(&n.name) == name::key(typed)))
    }

    /// Writes a change.
    pub(super) fn keep_change(
        &mut self,
        id: ThingId,
        mut record: Change,
        altered: &[Altered],
        ask: &Ask,
    ) -> Result<Value, ModelError> {
        let names = records::names(self.store()?, records::NAMED)?;
        record.by = Some(self.card()?.person);
        altered.iter().for_each(|a| record.set(&a.setting, a.after.clone()));
        let words: Vec<String> =
            altered.iter().map(|a| altered_words(a, &|id| names.get(&id).cloned())).collect();
        let advice = self.pair_advice(&record, altered)?;
        self.write(ask, vec![kind::draft(id, &record)?])?;
        let mut cautions = self.cautions(record.bow, altered)?;
        let of_pair =
            advice.iter().flat_map(|advice| advice.cautions.iter().map(|caution| (*caution).to_owned()));
        for caution in of_pair {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        let moved = moved(self.store()?, id, &ask.moment()?)?;
        Ok(json!({"change": id, "words": words, "cautions": cautions, "pair": advice, "moved": moved}))
    }

    /// Returns what is beyond a limit now by what was altered, and what to take care of there.
    fn cautions(&self, bow: Option<ThingId>, altered: &[Altered]) -> Result<Vec<String>, ModelError> {
        let fields: Vec<&str> = altered.iter().map(|a| a.setting.as_str()).collect();
        let me = Some(self.card()?.person);
        let found = bow.map(|bow| limits_after(self.store()?, bow, me, &fields)).transpose()?;
        Ok(cautions_with(&found.unwrap_or_default(), &fields))
    }
}

impl Desk {
    /// Returns what to go to where a change puts limbs or a riser on the bow.
    fn pair_advice(&self, record: &Change, altered: &[Altered]) -> Result<Option<PairAdvice>, ModelError> {
        let (Some(bow), Some(at)) = (record.bow, record.at.as_deref()) else { return Ok(None) };
        let setup = Timeline::read(self.store()?, bow)?.setup_at(Moment::read(at)?.unix_ms());
        pair_advice(self.store()?, bow, &setup, altered)
    }
}

/// Returns what a setting is when so much is added to what it was.
fn sum(setup: &Setup, field: &str, by: &str) -> Result<Value, ModelError> {
    added(setup, field, kind::read_setting(field, by)?)?.ok_or_else(|| {
        let name = name_and_unit(field).0;
        ModelError::new("not_noted", format!("what {name} was before is not noted: say what it is now"))
    })
}
