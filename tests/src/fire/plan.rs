//! What happens to one connection, drawn from a seed.

use sheaf_model::rng::Rng;

/// What a proxy does to a connection between a device and the service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// Nothing: bytes pass both ways.
    Pass,
    /// Both ways end after so many bytes of the device.
    CutRequest(u64),
    /// Both ways end after so many bytes of the service.
    CutReply(u64),
    /// As [`Fault::CutRequest`], by a reset.
    ResetRequest(u64),
    /// As [`Fault::CutReply`], by a reset.
    ResetReply(u64),
    /// Nothing is passed on; the proxy gives up after so many milliseconds and says so with a page.
    StallBefore(u64),
    /// The service does what it is asked; its answer is held for so many milliseconds and replaced by a page.
    StallAfter(u64),
    /// So few bytes at a time pass, with a pause between.
    Trickle(usize),
    /// The proxy answers by itself: it finds no service.
    BadGateway,
    /// The network answers by itself: whoever uses it has to log in first.
    Portal,
    /// The service gets everything twice at the same time; the device hears one of the answers.
    Twice,
    /// The service gets everything once more after so many milliseconds, when the device may have gone on.
    Again(u64),
    /// Everything waits for so many milliseconds while other connections overtake this one.
    Late(u64),
}

/// What each fault is called in a tally.
pub const NAMES: [&str; 12] = [
    "cut: request",
    "cut: answer",
    "reset: request",
    "reset: answer",
    "stalled, then 504: request",
    "stalled, then 504: answer",
    "trickled",
    "answered by 502 page",
    "answered by login page",
    "delivered twice at once",
    "delivered again later",
    "delayed behind others",
];

impl Fault {
    /// Returns what it is called in a tally; nothing for none.
    pub fn name(self) -> Option<&'static str> {
        let at = match self {
            Self::Pass => return None,
            Self::CutRequest(_) => 0,
            Self::CutReply(_) => 1,
            Self::ResetRequest(_) => 2,
            Self::ResetReply(_) => 3,
            Self::StallBefore(_) => 4,
            Self::StallAfter(_) => 5,
            Self::Trickle(_) => 6,
            Self::BadGateway => 7,
            Self::Portal => 8,
            Self::Twice => 9,
            Self::Again(_) => 10,
            Self::Late(_) => 11,
        };
        Some(NAMES[at])
    }

    fn of(kind: usize, rng: &mut Rng) -> Self {
        let ms = |rng: &mut Rng| 20 + rng.below(600);
        match kind {
            0 => Self::CutRequest(byte(rng)),
            1 => Self::CutReply(byte(rng)),
            2 => Self::ResetRequest(byte(rng)),
            3 => Self::ResetReply(byte(rng)),
            4 => Self::StallBefore(ms(rng)),
            5 => Self::StallAfter(ms(rng)),
            6 => Self::Trickle(16 + rng.below(400) as usize),
            7 => Self::BadGateway,
            8 => Self::Portal,
            9 => Self::Twice,
            10 => Self::Again(ms(rng) * 3),
            _ => Self::Late(ms(rng)),
        }
    }
}

/// Returns at which byte to cut: early ones are as likely as late ones, whatever the length.
fn byte(rng: &mut Rng) -> u64 {
    let most = 1 << (2 + rng.below(11));
    rng.below(most)
}

/// Deals faults from a shuffled deck that holds each kind once, so that none is left out for long, and as many
/// connections without any.
pub struct Deck {
    rng: Rng,
    left: Vec<usize>,
}

impl Deck {
    /// Makes the deck of a seed.
    pub fn new(rng: Rng) -> Self {
        Self { rng, left: Vec::new() }
    }

    /// Draws what happens to the next connection.
    pub fn draw(&mut self) -> Fault {
        if self.left.is_empty() {
            self.left = (0..2 * NAMES.len()).collect();
        }
        let at = self.rng.below(self.left.len() as u64) as usize;
        let kind = self.left.swap_remove(at);
        if kind < NAMES.len() { Fault::of(kind, &mut self.rng) } else { Fault::Pass }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sheaf_model::rng::Seed;

    #[test]
    fn a_deck_holds_every_fault_once() {
        let mut deck = Deck::new(Rng::new(Seed(3)));
        let mut drawn: Vec<_> = (0..2 * NAMES.len()).filter_map(|_| deck.draw().name()).collect();
        drawn.sort_unstable();
        let mut all = NAMES;
        all.sort_unstable();
        assert_eq!(drawn, all);
    }
}
