//! A replica held in memory, and the calls that a page makes on it.
//!
//! The page keeps nothing but texts: the entries of the logs, the card that says whose replica this is, and how far
//! the server has come. A call is JSON in and JSON out; what it wrote comes back as texts that the page keeps before it
//! tells the user so. Clock and entropy come with every call. Each call is a file of this module and a line in [`CALLS`].

mod answer;
mod ask;
mod baseline;
mod bow;
mod bundle;
mod card;
mod change;
mod curve;
mod differences;
mod ends;
mod exchange;
mod fork;
mod frame;
mod given;
mod joining;
mod keep;
mod look;
mod luck;
mod mark;
mod mend;
mod pair;
mod parts;
mod plan;
mod planning;
mod practice;
mod qr;
mod replies;
mod settings;
mod shafts;
mod squad;
mod start;
mod things;
mod timeline;

pub use ask::Ask;
pub use card::{Card, Carry, Server};

use crate::{
    ModelError, door,
    id::DeviceId,
    log::{Entry, Have},
    replica::{Draft, Memory, Replica, Store as _, Writer},
};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::{
    Value, json,
    value::{RawValue, to_raw_value},
};

#[cfg(test)]
mod tests;

/// Writes a call as the page does: entries that it kept stand behind it, a line each.
#[cfg(test)]
fn written(request: &Value) -> String {
    let entries = request["input"]["entries"].as_array().into_iter().flatten().filter_map(Value::as_str);
    entries.fold(request.to_string(), |text, entry| format!("{text}\n{entry}"))
}

/// Answers one call.
type Call = fn(&mut Desk, &Value, &Ask) -> Result<Value, ModelError>;

/// Every call, by name.
#[rustfmt::skip]
const CALLS: &[(&str, Call)] = &[
    ("add", things::add),
    ("answer", answer::answer),
    ("archer", squad::archer),
    ("baselines", baseline::baselines),
    ("bow", bow::bow),
    ("bundle", bundle::bundle),
    ("carry", joining::carry),
    ("change", change::change),
    ("compute", compute),
    ("curve", curve::curve),
    ("differences", differences::differences),
    ("ends", ends::ends),
    ("exchange", exchange::exchange),
    ("faces", look::faces),
    ("fields", things::fields),
    ("fits", parts::fits),
    ("fork", fork::fork),
    ("found", joining::found),
    ("founded", joining::founded),
    ("frame", frame::frame),
    ("join", joining::join),
    ("joined", joining::joined),
    ("keep", keep::keep),
    ("keep_measured", bow::keep_measured),
    ("look", look::look),
    ("luck", luck::luck),
    ("mark", mark::mark),
    ("marks", mark::marks),
    ("mend", mend::mend),
    ("new_id", keep::new_id),
    ("note", timeline::note),
    ("note_curve", curve::note_curve),
    ("note_pair", pair::note_pair),
    ("note_speed", curve::note_speed),
    ("open", start::open),
    ("pairs", pair::pairs),
    ("parts", parts::parts),
    ("plan", plan::plan),
    ("plan_new", plan::plan_new),
    ("plan_offer", plan::plan_offer),
    ("plans", plan::plans),
    ("practice", practice::practice),
    ("put_baseline", baseline::put_baseline),
    ("qr", qr::qr),
    ("rebuild", bow::rebuild),
    ("renewed", fork::renewed),
    ("retire", mend::retire),
    ("save_baseline", baseline::save_baseline),
    ("set", things::set),
    ("set_shafts", shafts::set_shafts),
    ("settings", settings::settings),
    ("settle", differences::settle),
    ("shafts", shafts::shafts),
    ("squad", squad::squad),
    ("start", start::start),
    ("start_from", bundle::start_from),
    ("status", start::status),
    ("suits", shafts::suits),
    ("things", things::things),
    ("timeline", timeline::timeline),
    ("tolerances", baseline::tolerances),
    ("typed", look::typed),
    ("unbundle", bundle::unbundle),
    ("wear", practice::wear),
    ("whole", bundle::whole),
];

/// A replica in memory with its card.
#[derive(Default)]
pub struct Desk {
    replica: Option<Replica<Memory>>,
    card: Option<Card>,
    /// How far the server has come, as it last said.
    have: Have,
    /// What was written or taken in by the call under way, as the page is to keep it.
    fresh: Vec<String>,
    /// The exchange under way.
    course: exchange::Course,
    /// The way out of a fork under way.
    fork: fork::Fork,
    /// The entries that the page is to let go of: those of a log after a number.
    gone: Option<(DeviceId, u64)>,
    /// Whether the call under way altered the card or what is known of the server.
    altered: bool,
}

/// A call as the page sends it.
#[derive(Deserialize)]
struct Request {
    call: String,
    #[serde(default)]
    input: Value,
    #[serde(flatten)]
    ask: Ask,
}

impl Desk {
    /// Answers a call in JSON: `{"output", "fresh", "card", "have"}` or `{"error": {"code", "message", "field"}}`.
    ///
    /// The call stands in one line; behind that of `load` come the entries that the page kept, a line each.
    ///
    /// `fresh` are the texts of entries to be kept, `card` and `have` come along where they were altered, `gone` where
    /// the end of a log was written anew under another device id. An error can
    /// come with `fresh` as well.
    pub fn answer(&mut self, request: &str) -> String {
        let answered = self.called(request);
        let mut answer = match answered {
            Ok(output) => json!({"output": output}),
            Err(e) => json!({"error": {"code": e.code, "message": e.message, "field": e.field}}),
        };
        if !self.fresh.is_empty() {
            answer["fresh"] = json!(std::mem::take(&mut self.fresh));
        }
        if let Some((device, after)) = self.gone.take() {
            answer["gone"] = json!({"device": device, "after": after});
        }
        if std::mem::take(&mut self.altered) {
            answer["card"] = json!(self.card);
            answer["have"] = json!(self.have);
        }
        answer.to_string()
    }

    fn called(&mut self, request: &str) -> Result<Value, ModelError> {
        let (head, rest) = request.split_once('\n').unwrap_or((request, ""));
        let request: Request = serde_json::from_str(head)
            .map_err(|e| ModelError::new("not_json", format!("the call cannot be read: {e}")))?;
        if request.call == "load" {
            return start::load(self, rest);
        }
        let call = CALLS.iter().find(|(name, _)| *name == request.call).ok_or_else(|| {
            ModelError::new("unknown_call", format!("there is no call `{}`", request.call)).at("call")
        })?;
        (call.1)(self, &request.input, &request.ask)
    }

    /// Returns the logs and the state.
    ///
    /// # Errors
    /// `not_open` before a team was begun or opened.
    pub fn store(&self) -> Result<&Memory, ModelError> {
        self.replica.as_ref().map(Replica::store).ok_or_else(not_open)
    }

    /// Returns whose replica this is.
    ///
    /// # Errors
    /// `not_open` before a team was begun or opened.
    pub fn card(&self) -> Result<&Card, ModelError> {
        self.card.as_ref().ok_or_else(not_open)
    }

    /// Returns every entry that is held, each log in order.
    fn entries(&self) -> Result<Vec<Entry>, ModelError> {
        let store = self.store()?;
        let mut all = Vec::new();
        for (device, _) in store.vector().iter() {
            store.log(device, 0, &mut |entry| {
                all.push(entry);
                true
            })?;
        }
        Ok(all)
    }

    /// Writes drafts to the own log; all or none.
    ///
    /// # Errors
    /// `role` where the person may not write such a record, and those of the log.
    pub fn write(&mut self, ask: &Ask, drafts: Vec<Draft>) -> Result<(), ModelError> {
        let card = self.card()?;
        if let Some(role) = card.server.as_ref().map(|server| server.role)
            && let Some(draft) = drafts.iter().find(|d| !role.may_write(&d.kind, d.id, card.person))
        {
            let message = format!(
                "a {} may not write records of the kind {}: a coach writes notes and plans; a keeper of the team can \
                 change the role",
                role.word(),
                given::kind_word(&draft.kind)
            );
            return Err(ModelError::new("role", message));
        }
        let writer = Writer { device: card.device, author: card.person };
        let replica = self.replica.as_mut().ok_or_else(not_open)?;
        let entries = replica.append(writer, drafts, ask.now_ms)?;
        self.keep(&entries)
    }

    /// Hands entries that are new here to the page.
    fn keep(&mut self, entries: &[Entry]) -> Result<(), ModelError> {
        for entry in entries {
            self.fresh.push(text_of(entry)?);
        }
        Ok(())
    }
}

/// Reads the input of a call.
///
/// # Errors
/// `bad_input` with what is wrong.
pub fn read<T: DeserializeOwned>(input: &Value) -> Result<T, ModelError> {
    T::deserialize(input).map_err(|e| ModelError::new("bad_input", format!("the call cannot be read: {e}")))
}

fn compute(_: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        method: String,
        input: Value,
    }
    let asked: Asked = read(input)?;
    door::compute(&asked.method, &asked.input)
}

/// Returns the value of a field as an entry holds it.
fn raw<T: Serialize>(field: &str, value: &T) -> Result<Box<RawValue>, ModelError> {
    to_raw_value(value)
        .map_err(|e| ModelError::new("bad_record", format!("{field} cannot be written: {e}")).at(field))
}

/// Returns an answer as JSON.
fn to_json(answer: &impl Serialize) -> Result<Value, ModelError> {
    serde_json::to_value(answer)
        .map_err(|e| ModelError::new("bad_record", format!("the answer cannot be written: {e}")))
}

fn text_of(entry: &Entry) -> Result<String, ModelError> {
    serde_json::to_string(entry)
        .map_err(|e| ModelError::new("bad_record", format!("an entry cannot be written: {e}")))
}

fn not_open() -> ModelError {
    ModelError::new("not_open", "no team is open on this device yet; begin one or join one")
}
