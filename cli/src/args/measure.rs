//! What can be typed to note and look at what was measured on a bow: draw curve, speed, riser and limbs.

use super::Scale;
use clap::{Args as Group, ValueEnum};
use std::path::PathBuf;

/// What stands below the help of `sheaf curve`.
pub const CURVE: &str = "Hang the bow on a scale and read it every inch or two up to your own draw, each
draw to the grip's pivot point and 1.75 in added. --from brace adds the point
without weight; it is said to be added and not measured. Never draw past the
makers' limits.

With points a curve is noted, and --from, --at and --note go with them; without
points the latest one is shown, and --draw, --archer, --arrows, --beside, --plot
and --svg go with that. A curve is of the bow, whoever draws it: note it first, then
ask with --archer.

Examples:
  sheaf curve elm 12=10.5 18=21 26=33.5 28=37.8 --from brace
  sheaf curve elm 46cm=9.5kgf 66cm=15kgf 71cm=17.1kgf
  sheaf curve elm --draw 27.5in
  sheaf curve elm --beside oak --plot --svg both.svg

With --json: {\"bow\", \"name\", \"curve\", \"day\", \"head\", \"stale\", \"points\",
\"asked\", \"said\", \"figures\", \"beside\", \"remarks\", \"curves\", \"svg\",
\"cautions\"}; of a new one {\"curve\", \"bow\", \"at\", \"record\", \"words\",
\"cautions\"}";

/// What stands below the help of `sheaf speed`.
pub const SPEED: &str = "With the arrows' mass and a draw curve the efficiency of the bow follows.

Examples:
  sheaf speed elm 182ft/s --arrows blue
  sheaf speed elm 55.5m/s --arrows blue --at \"yesterday 16:00\"

With --json: {\"speed\", \"bow\", \"at\", \"record\", \"words\", \"cautions\"}";

/// What stands below the help of `sheaf pair`.
pub const PAIR: &str = "fit is tight, true or loose; bolts and lateral stand for top and bottom alike
(bolt_top, bolt_bottom, lateral_top, lateral_bottom for one). What is not typed
is taken from what is noted of the bow, where these limbs are on it.

Examples:
  sheaf pair elm fit=true
  sheaf pair elm \"short 34\" fit=true bolts=3 lateral=0 tiller=2

With --json: {\"pair\", \"bow\", \"at\", \"record\", \"words\", \"cautions\"}";

/// What stands below the help of `sheaf pairs`.
pub const PAIRS: &str = "Examples:
  sheaf pairs
  sheaf pairs elm

With --json: {\"rows\": [{\"bow_name\", \"riser_name\", \"limbs_name\", \"on\", \"pair\",
\"fit\", \"fit_words\", \"settings\", \"settings_words\", \"left_out\": [], \"day\",
\"by\", \"other_riser\", \"note\", \"caution\"}], \"head\", \"cautions\"}";

/// `sheaf curve`
#[derive(Debug, Group)]
pub struct Curve {
    /// The bow
    pub bow: String,
    /// Draws with their weights, rising, for example 18=21 28=37.8 or 66cm=15kgf; with none the latest curve is shown
    #[arg(value_name = "DRAW=WEIGHT")]
    pub points: Vec<String>,
    /// Add the point without weight: brace height and 1.75 in, from what is noted of the bow; with points
    #[arg(long, value_enum)]
    pub from: Option<FromArg>,
    /// When it was measured, for example 10:30 or 2026-04-12 10:30; now when left out; with points
    #[arg(long)]
    pub at: Option<String>,
    /// Anything else worth knowing; with points
    #[arg(long)]
    pub note: Option<String>,
    /// A draw at which the weight is wanted, for example 27.5in; several with commas; without points
    #[arg(long, value_name = "DRAW", value_delimiter = ',')]
    pub draw: Vec<String>,
    /// Whose draw length counts; who shot the bow last when left out; without points
    #[arg(long)]
    pub archer: Option<String>,
    /// The arrow set whose speed counts; the latest that was measured when left out; without points
    #[arg(long)]
    pub arrows: Option<String>,
    /// Another bow whose curve is laid over this one's, compared at --draw where given; without points
    #[arg(long, value_name = "BOW")]
    pub beside: Option<String>,
    /// Draw it; without points
    #[arg(long)]
    pub plot: bool,
    /// Write the picture as SVG; without points
    #[arg(long, value_name = "FILE")]
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
    /// The arrow's speed, for example 182ft/s (or 182fps) or 55m/s
    pub speed: String,
    /// The arrow set
    #[arg(long)]
    pub arrows: Option<String>,
    /// Who drew; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
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
    pub at: Option<String>,
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
