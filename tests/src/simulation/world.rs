//! The world of a schedule: devices, service, what is on its way between them, and what was acknowledged.

use super::{Tally, device::Device, failed, service::Service};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    replica::Writer,
    rng::{Rng, Seed},
};
use std::collections::BTreeSet;

/// When a schedule begins.
const T0: u64 = 1_775_000_000_000;
/// A year, in milliseconds.
const YEAR_MS: i64 = 31_556_952_000;

/// Something on its way.
#[derive(Clone)]
pub enum Message {
    /// A request of a device.
    Request {
        /// Which device.
        from: usize,
        /// In which run of the exchange.
        session: u64,
        /// The token it shows.
        token: String,
        /// The body.
        body: Vec<u8>,
    },
    /// An answer to a device.
    Reply {
        /// Which device.
        to: usize,
        /// In which run of the exchange.
        session: u64,
        /// The status.
        status: u16,
        /// The body.
        body: Vec<u8>,
    },
}

/// Everything of a schedule.
pub struct World {
    /// How many steps the schedule has.
    pub steps: u64,
    /// What happened.
    pub tally: Tally,
    pub(super) rng: Rng,
    pub(super) now_ms: u64,
    pub(super) service: Service,
    pub(super) devices: Vec<Device>,
    pub(super) net: Vec<Message>,
    /// The number of the last piece of work; every draft carries its own.
    pub(super) work: u64,
    /// The work that was acknowledged and that no restore has taken the last copy of.
    pub(super) acknowledged: BTreeSet<u64>,
    pub(super) things: Vec<(&'static str, ThingId)>,
}

impl World {
    /// Begins a schedule: a team on a service, and three to six devices in it.
    pub fn begin(seed: u64) -> Result<Self, String> {
        let mut rng = Rng::new(Seed(seed));
        let team = TeamId::new(T0, entropy(&mut rng));
        let (keeper, person) = (DeviceId::new(T0, entropy(&mut rng)), ThingId::new(T0, entropy(&mut rng)));
        let service = Service::start(team, keeper, person, &mut rng)?;
        service.set_clock(T0);
        let kinds = ["bow", "bow", "group", "group", "group", "note", "weather_of_tomorrow"];
        let things = kinds.map(|kind| (kind, ThingId::new(T0, entropy(&mut rng)))).to_vec();
        let mut devices = Vec::new();
        for n in 0..3 + rng.below(4) {
            let writer = Writer {
                device: DeviceId::new(T0, entropy(&mut rng)),
                author: ThingId::new(T0, entropy(&mut rng)),
            };
            let token = service.let_in(writer.device, writer.author, false)?.token;
            let mut device = Device::new(team, writer, token).map_err(failed("a device"))?;
            // The first two have equal clocks; one goes ten years wrong.
            device.skew_ms = if n < 2 { 0 } else { skew(&mut rng) };
            devices.push(device);
        }
        let (tally, net, acknowledged) = (Tally::default(), Vec::new(), BTreeSet::new());
        let steps = 100 + rng.below(200);
        Ok(Self { steps, tally, rng, now_ms: T0, service, devices, net, work: 0, acknowledged, things })
    }

    /// Lets one thing happen.
    pub fn step(&mut self) -> Result<(), String> {
        // Often no time passes at all, so that clocks agree to the millisecond.
        self.now_ms += [0, 0, 1, 1000, 60_000][self.rng.below(5) as usize];
        self.service.set_clock(self.now_ms);
        let at = self.rng.below(self.devices.len() as u64) as usize;
        match self.rng.below(100) {
            0..30 => self.write(at),
            30..60 => self.deliver(),
            60..77 => self.call(at),
            77..80 => self.hand_over(at),
            80..82 => self.crash(at),
            82..84 => self.crash_while_writing(at),
            84..86 => self.crash_service(),
            86..88 => self.crash_service_in_commit(at),
            88..93 => self.set_aside(at),
            93..95 => self.restore_device(),
            95..97 => self.restore_service(),
            _ => {
                self.devices[at].skew_ms = skew(&mut self.rng);
                self.tally.one("clocks set wrong");
                Ok(())
            }
        }
    }

    /// Draws a new id of a device.
    pub(super) fn new_device(&mut self) -> DeviceId {
        DeviceId::new(self.now_ms, entropy(&mut self.rng))
    }

    /// Draws a new id of a thing.
    pub(super) fn new_thing(&mut self) -> ThingId {
        ThingId::new(self.now_ms, entropy(&mut self.rng))
    }

    /// Returns whether one of so many cases came up.
    pub(super) fn one_in(&mut self, cases: u64) -> bool {
        self.rng.below(cases) == 0
    }
}

/// Draws how far a clock is off: by up to ten years either way.
fn skew(rng: &mut Rng) -> i64 {
    let within = rng.below(86_400_000) as i64;
    [0, 10 * YEAR_MS, -10 * YEAR_MS, within, -within][rng.below(5) as usize]
}

fn entropy(rng: &mut Rng) -> [u8; 10] {
    let mut bytes = [0; 10];
    bytes[..8].copy_from_slice(&rng.next_u64().to_be_bytes());
    bytes
}
