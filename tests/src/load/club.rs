//! Invented teams, their devices, and what they record: everything is written by the model's own writer.

use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId, ThingId},
    kind::{Arrows, Bow, Group, draft},
    log::{Entry, Hash, Have, Vector},
    merge::Thing,
    replica::{Draft, Replica, Store, Writer},
    rng::{Rng, Seed},
};

/// When the first group was shot.
const T0: u64 = 1_775_000_000_000;

/// A device, which remembers how far its own log came and nothing else.
pub struct Device {
    /// Its team.
    pub team: TeamId,
    /// Whose log it writes.
    pub writer: Writer,
    /// Its token.
    pub token: String,
    /// The marks of its team, as the service told them last.
    pub have: Have,
    log: Replica<Tail>,
    rng: Rng,
    bow: ThingId,
    arrows: ThingId,
    shot: u64,
}

impl Device {
    /// Makes a device of a team that was not let in yet; no two with other numbers share an id.
    pub fn new(team: TeamId, number: u64) -> Self {
        let mut rng = Rng::new(Seed(number));
        let writer = Writer {
            device: DeviceId::new(T0, unlike(number, 0)),
            author: ThingId::new(T0, unlike(number, 1)),
        };
        let (bow, arrows) = (thing(&mut rng, T0), thing(&mut rng, T0));
        let log = Replica::new(Tail::default());
        Self { team, writer, token: String::new(), have: Have::new(), log, rng, bow, arrows, shot: 0 }
    }

    /// Records a bow and arrows.
    pub fn begin(&mut self) -> Vec<Entry> {
        let bow = Bow {
            name: Some(format!("bow of {}", self.writer.device)),
            riser_in: Some(25.0),
            ..Bow::default()
        };
        let arrows = Arrows {
            name: Some("invented".into()),
            count: Some(12),
            spine: Some(500.0),
            ..Arrows::default()
        };
        let drafts = [draft(self.bow, &bow), draft(self.arrows, &arrows)];
        self.record(drafts.map(|d| d.expect("a record")).to_vec())
    }

    /// Records so many groups of six arrows, one a minute.
    pub fn shoot(&mut self, groups: usize) -> Vec<Entry> {
        let drafts = (0..groups).map(|_| self.group()).collect();
        self.record(drafts)
    }

    /// Returns the marks of its team together with that of its own log, which may be ahead of the service.
    pub fn marks(&mut self) -> Have {
        let mut have = std::mem::take(&mut self.have);
        have.extend(self.log.store().vector().have());
        have
    }

    fn group(&mut self) -> Draft {
        let minute = self.shot;
        self.shot += 1;
        let (day, time) = (minute / 60, minute % 60);
        let (year, rest) = (2020 + day / 336, day % 336);
        let round = |mm: f64| (mm * 10.0).round() / 10.0;
        let points = (0..6).map(|_| Some([round(self.rng.normal() * 40.0), round(self.rng.normal() * 40.0)]));
        let group = Group {
            bow: Some(self.bow),
            archer: Some(self.writer.author),
            arrows: Some(self.arrows),
            at: Some(format!("{year}-{:02}-{:02}T18:{time:02}:00+02:00", 1 + rest / 28, 1 + rest % 28)),
            distance_m: Some(30.0),
            face: serde_json::from_str("\"wa_80\"").ok(),
            points_mm: Some(points.collect()),
            ..Group::default()
        };
        draft(thing(&mut self.rng, T0 + minute * 60_000), &group).expect("a record")
    }

    fn record(&mut self, drafts: Vec<Draft>) -> Vec<Entry> {
        self.log.append(self.writer, drafts, T0 + self.shot * 60_000).expect("a log goes on")
    }
}

fn unlike(number: u64, what: u8) -> [u8; 10] {
    let mut bytes = [what; 10];
    bytes[..8].copy_from_slice(&number.to_be_bytes());
    bytes
}

/// Draws a new id, the last bytes at random as every device draws them.
fn thing(rng: &mut Rng, at_ms: u64) -> ThingId {
    let mut bytes = [0; 10];
    bytes[..8].copy_from_slice(&rng.next_u64().to_be_bytes());
    bytes[8..].copy_from_slice(&rng.next_u64().to_be_bytes()[..2]);
    ThingId::new(at_ms, bytes)
}

/// Returns the id of a team.
pub fn team(number: u64) -> TeamId {
    TeamId::new(T0, unlike(number, 2))
}

/// A store that keeps the heads only: the entries are the service's to keep, and a million fit in no device.
#[derive(Default)]
struct Tail(Vector);

impl Store for Tail {
    type Error = ModelError;

    fn vector(&self) -> &Vector {
        &self.0
    }

    fn header_hash(&self, _: DeviceId, _: u64) -> Result<Option<Hash>, ModelError> {
        Ok(None)
    }

    fn log(&self, _: DeviceId, _: u64, _: &mut dyn FnMut(Entry) -> bool) -> Result<(), ModelError> {
        Ok(())
    }

    fn commit(&mut self, _: Vec<Entry>, vector: Vector) -> Result<(), ModelError> {
        self.0 = vector;
        Ok(())
    }

    fn thing(&self, _: &str, _: ThingId) -> Result<Option<Thing>, ModelError> {
        Ok(None)
    }

    fn visit(&self, _: &str, _: Option<ThingId>, _: &mut dyn FnMut(&Thing)) -> Result<(), ModelError> {
        Ok(())
    }

    fn digest(&mut self) -> Result<Hash, ModelError> {
        Ok(Hash::NONE)
    }
}
