//! A copy of a team's logs with the state folded from them, over a small storage trait.
