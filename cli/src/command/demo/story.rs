//! The demo's story: who shoots what when, and the truth behind it. Everything in it is invented.

use sheaf_model::rng::{Rng, Seed};

/// Distance of all shooting.
pub const DISTANCE_M: f64 = 30.0;
/// SD of an arrow about its end on one axis, mrad.
const ARROW_SD: f64 = 0.9;
/// SD of an end about its day, mrad.
const END_SD: f64 = 0.15;
/// SD of a day, mrad.
const DAY_SD: f64 = 0.15;
/// Ends a day.
const ENDS: usize = 8;
/// Arrows an end.
const ARROWS: usize = 6;

/// Someone who shoots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Archer {
    /// The founder of the team.
    Ilse,
    /// Her partner.
    Odo,
}

/// What happens, in order of time.
#[derive(Debug, Clone)]
pub enum Event {
    /// A change of a bow.
    Change {
        /// On whose device it is noted.
        by: Archer,
        /// The bow.
        bow: &'static str,
        /// What is typed.
        settings: &'static [&'static str],
        /// When, minutes after the season began.
        minute: u64,
    },
    /// An end.
    End {
        /// Who shoots.
        archer: Archer,
        /// The bow.
        bow: &'static str,
        /// The shots as they are typed.
        shots: Vec<String>,
        /// The sight's label.
        sight: &'static str,
        /// When.
        minute: u64,
    },
}

/// The truth of a change.
#[derive(Debug, Clone, Copy)]
pub struct Truth {
    /// The bow.
    pub bow: &'static str,
    /// On which of the season's days, and after which of its ends.
    pub day: usize,
    /// After so many ends.
    pub after: usize,
    /// On whose device it is noted.
    pub by: Archer,
    /// What is typed.
    pub settings: &'static [&'static str],
    /// What it does to the mean point of impact, mrad right and up.
    pub shift: [f64; 2],
    /// What it does to the spread: SD after over SD before.
    pub sd_ratio: f64,
    /// Whether the sight is moved at the same moment.
    pub sight_moved: bool,
}

/// The changes of the season.
pub const TRUTHS: &[Truth] = &[
    Truth {
        bow: "bramble",
        day: 4,
        after: 4,
        by: Archer::Ilse,
        settings: &["plunger=+1/4"],
        shift: [-0.6, 0.0],
        sd_ratio: 1.0,
        sight_moved: false,
    },
    Truth {
        bow: "bramble",
        day: 8,
        after: 4,
        by: Archer::Odo,
        settings: &["nocking_point=+1mm"],
        shift: [0.0, 0.0],
        sd_ratio: 1.0,
        sight_moved: false,
    },
    Truth {
        bow: "bramble",
        day: 12,
        after: 4,
        by: Archer::Ilse,
        settings: &["string=sixteen strands"],
        shift: [0.0, 0.1],
        sd_ratio: 0.72,
        sight_moved: false,
    },
    Truth {
        bow: "bramble",
        day: 16,
        after: 0,
        by: Archer::Ilse,
        settings: &["tiller=+2mm", "brace_height=+3mm"],
        shift: [0.1, 0.4],
        sd_ratio: 1.0,
        sight_moved: true,
    },
    Truth {
        bow: "thistle",
        day: 6,
        after: 4,
        by: Archer::Odo,
        settings: &["brace_height=+4mm"],
        shift: [0.0, 0.55],
        sd_ratio: 1.0,
        sight_moved: false,
    },
    Truth {
        bow: "thistle",
        day: 12,
        after: 4,
        by: Archer::Odo,
        settings: &["plunger=-1/8"],
        shift: [0.0, 0.0],
        sd_ratio: 1.0,
        sight_moved: false,
    },
];

/// Days of the season.
const DAYS: usize = 20;

/// Returns the season as it happened, from a seed.
pub fn season(seed: u64) -> Vec<Event> {
    let mut rng = Rng::new(Seed(seed));
    let mut events = Vec::new();
    for (archer, bow, days) in [
        (Archer::Ilse, "bramble", (0..DAYS).collect::<Vec<_>>()),
        (Archer::Odo, "thistle", (0..DAYS).step_by(2).chain([7, 11, 13]).collect()),
        (Archer::Odo, "bramble", vec![3, 5, 9, 15]),
    ] {
        let mut days = days;
        days.sort_unstable();
        let own = [rng.normal() * 0.3, rng.normal() * 0.3];
        for day in days {
            shoot_a_day(&mut events, &mut rng, archer, bow, day, own);
        }
    }
    for truth in TRUTHS {
        let minute = minute_of(truth.day, truth.after) - 5;
        events.push(Event::Change { by: truth.by, bow: truth.bow, settings: truth.settings, minute });
    }
    events.sort_by_key(|event| match event {
        Event::Change { minute, .. } | Event::End { minute, .. } => *minute,
    });
    events
}

fn shoot_a_day(
    events: &mut Vec<Event>,
    rng: &mut Rng,
    archer: Archer,
    bow: &'static str,
    day: usize,
    own: [f64; 2],
) {
    let today = [0, 1].map(|_| rng.normal() * DAY_SD);
    for end in 0..ENDS {
        let minute = minute_of(day, end) + if archer == Archer::Odo { 4 } else { 0 };
        let (mut middle, mut sd, mut sight) =
            ([own[0] + today[0], own[1] + today[1]], ARROW_SD, "as set in spring");
        for truth in TRUTHS.iter().filter(|t| t.bow == bow && minute_of(t.day, t.after) - 5 <= minute) {
            sd *= truth.sd_ratio;
            middle = [middle[0] + truth.shift[0], middle[1] + truth.shift[1]];
            if truth.sight_moved {
                // The sight brings the group back by what the archer saw of it, so nobody can tell the parts apart.
                (middle, sight) = ([today[0], today[1]], "moved");
            }
        }
        let off = [0, 1].map(|_| rng.normal() * END_SD);
        let shots = (0..ARROWS)
            .map(|n| {
                let [x, y] = [0, 1].map(|a| (middle[a] + off[a] + rng.normal() * sd) * DISTANCE_M);
                format!("{}:{x:.1},{y:.1}", n + 1)
            })
            .collect();
        events.push(Event::End { archer, bow, shots, sight, minute });
    }
}

fn minute_of(day: usize, end: usize) -> u64 {
    (day as u64 * 3) * 24 * 60 + 9 * 60 + end as u64 * 15
}
