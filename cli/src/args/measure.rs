//! What can be typed to note and look at what was measured on a bow: draw curve, speed, riser and limbs.

use super::Scale;
use clap::{Args as Group, ValueEnum};
use std::path::PathBuf;

/// `sheaf curve`
#[derive(Debug, Group)]
pub struct Curve {
    /// The bow
    pub bow: String,
    /// Draws with their weights, rising, for example 18=21 28=37.8 or 66cm=15kgf; with none the latest curve is shown
    #[arg(value_name = "DRAW=WEIGHT")]
    pub points: Vec<String>,
    /// Add the point without weight: brace height and 1.75 in, from what is noted of the bow
    #[arg(long, value_enum, requires = "points")]
    pub from: Option<FromArg>,
    /// When it was measured, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long, requires = "points")]
    pub when: Option<String>,
    /// Anything else worth knowing
    #[arg(long, requires = "points")]
    pub note: Option<String>,
    /// A draw at which the weight is wanted, for example 27.5in; several with commas
    #[arg(long, value_name = "DRAW", value_delimiter = ',', conflicts_with = "points")]
    pub at: Vec<String>,
    /// Whose draw length counts; who shot the bow last when left out
    #[arg(long, conflicts_with = "points")]
    pub archer: Option<String>,
    /// The arrow set whose speed counts; the latest that was measured when left out
    #[arg(long, conflicts_with = "points")]
    pub arrows: Option<String>,
    /// Another bow whose curve is laid over this one's
    #[arg(long, value_name = "BOW", conflicts_with = "points")]
    pub beside: Option<String>,
    /// Draw it
    #[arg(long, conflicts_with = "points")]
    pub plot: bool,
    /// Write the picture as SVG
    #[arg(long, value_name = "FILE", conflicts_with = "points")]
    pub svg: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "svg")]
    pub replace: bool,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// What the point without weight follows from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FromArg {
    /// The brace height
    Brace,
}

/// `sheaf speed`
#[derive(Debug, Group)]
pub struct Speed {
    /// The bow
    pub bow: String,
    /// The arrow's speed, for example 182fps or 55m/s
    pub speed: String,
    /// The arrow set
    #[arg(long)]
    pub arrows: Option<String>,
    /// Who drew; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub when: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf pair`
#[derive(Debug, Group)]
pub struct Pair {
    /// The bow whose riser it is
    pub bow: String,
    /// The limbs, those on the bow when left out; then fit, bolts, lateral and tiller with their values
    #[arg(value_name = "[LIMBS] FIELD=VALUE")]
    pub words: Vec<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub when: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf pairs`
#[derive(Debug, Group)]
pub struct Pairs {
    /// Only this bow
    pub bow: Option<String>,
}
