//! What can be typed to note marks and to ask for them.

use super::Scale;
use clap::{Args as Group, ValueEnum};
use std::path::PathBuf;

/// What stands below the help of `sheaf marks`.
pub const MARKS: &str = "Marks with one archer, arrow set and setup are fitted by the arrow's flight, or
joined where they are too few. Without --speed the speed is one that was
measured with the bow, or else fitted.

Examples:
  sheaf marks elm
  sheaf marks elm --distance 43m --distance 57m --archer Ash
  sheaf marks elm --every 10yd --imperial
  sheaf marks elm --strip marks.svg --unit 1mm

With --json: {\"bow\", \"name\", \"sets\": [{\"title\", \"what\", \"stale\", \"expected\",
\"sentences\", \"assumed\", \"marks\", \"table\", \"asked\", \"older\", \"figures\": those of
`sheaf compute marks --help`}], \"hint\"}";

/// What stands below the help of `sheaf mark`.
pub const MARK: &str = "A crawl is how far below the nock the fingers take the string, a gap how far above
the middle of the target the point is held (below it: negative).

Examples:
  sheaf mark elm 30m 4.2
  sheaf mark elm 20yd --crawl 24mm --archer Birch
  sheaf mark elm 18m --gap -300mm --arrows blue

With --json: {\"mark\", \"bow\", \"archer\", \"arrows\", \"at\", \"distance_m\", \"what\",
\"reading\", \"expected\"}";

/// `sheaf mark`
#[derive(Debug, Group)]
pub struct NewMark {
    /// The bow
    pub bow: String,
    /// The distance, for example 30m or 20yd
    #[arg(allow_hyphen_values = true)]
    pub distance: String,
    /// What the sight reads
    #[arg(value_name = "SIGHT_MARK", allow_hyphen_values = true)]
    pub reading: Option<String>,
    /// How far below the nock the fingers take the string, for example 24mm
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub crawl: Option<String>,
    /// How far above the middle of the target the point is held, for example -300mm
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub gap: Option<String>,
    /// Who found it; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// The arrow set; that on the bow when left out
    #[arg(long)]
    pub arrows: Option<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf marks`
#[derive(Debug, Group)]
pub struct ShowMarks {
    /// The bow
    pub bow: String,
    /// Only this archer's
    #[arg(long)]
    pub archer: Option<String>,
    /// Only those of this arrow set
    #[arg(long)]
    pub arrows: Option<String>,
    /// Only sight marks, crawls or gaps
    #[arg(long, value_enum)]
    pub what: Option<WhatArg>,
    /// A distance to ask for, for example 43m
    #[arg(long, value_name = "DISTANCE", allow_hyphen_values = true)]
    pub distance: Vec<String>,
    /// From row to row of the table; 5 m or 5 yd when left out
    #[arg(long, value_name = "DISTANCE", allow_hyphen_values = true)]
    pub every: Option<String>,
    /// Speed of the arrow, for example 190ft/s or 58m/s
    #[arg(long, value_name = "SPEED")]
    pub speed: Option<String>,
    /// Height of the eye above the arrow at full draw, for example 95mm
    #[arg(long, value_name = "LENGTH")]
    pub eye: Option<String>,
    /// Write a narrow card to print at true size into this file, .svg or .html
    #[arg(long, value_name = "FILE")]
    pub strip: Option<PathBuf>,
    /// Size of a unit of the sight's scale, for a ladder at true scale on the card
    #[arg(long, value_name = "LENGTH", requires = "strip")]
    pub unit: Option<String>,
    /// Write over a file that is there
    #[arg(long, requires = "strip")]
    pub replace: bool,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// What marks are read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WhatArg {
    /// The scale of a sight
    Sight,
    /// How far below the nock the fingers take the string
    Crawl,
    /// How far above the middle the point is held
    Gap,
}
