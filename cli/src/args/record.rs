//! What can be typed to record things.

use super::part::AddPart;
use clap::{Args as Group, Subcommand, ValueEnum};

/// What stands below the help of `sheaf change`.
pub const CHANGE: &str = "A value with a sign is relative to what is on the bow: plunger_turns=+1/4. Write
an absolute negative value with two equals signs: tiller_mm==-2.

Examples:
  sheaf change elm plunger_turns=+1/4
  sheaf change elm limbs=\"long 36\" brace_height=\"8 5/8in\" --at 09:30
  sheaf change --settings

With --json: {\"change\", \"bow\", \"at\", \"altered\": [{\"setting\", \"before\",
\"after\"}], \"beyond\": [findings as `sheaf compute limits --help`], \"cautions\":
[], \"moved\": [], \"pair\": null or {\"words\", \"settings\", \"cautions\"}}";

/// `sheaf add`
#[derive(Debug, Group)]
pub struct Add {
    /// What to add
    #[command(subcommand)]
    pub what: AddWhat,
}

/// What can be added.
#[derive(Debug, Subcommand)]
pub enum AddWhat {
    /// A person of the team
    #[command(
        after_help = "Example: sheaf add person Birch --bow-arm left --hook split_finger --draw-length 28in"
    )]
    Person(AddPerson),
    /// A bow
    #[command(after_help = "Example: sheaf add bow elm --riser 25in --discipline target")]
    Bow(AddBow),
    /// A part that goes on bows and comes off again
    #[command(after_help = "Examples:
  sheaf add part \"long 36\" --what limbs --limb-length long --marked-weight 36lbf \\
    --most-weight 44lbf --least-bolt 0 --most-bolt 6
  sheaf add part \"red string\" --what string --length 68in --strands 18 --material polyethylene")]
    Part(Box<AddPart>),
    /// A set of arrows made alike
    #[command(
        after_help = "Example: sheaf add arrows blue --count 12 --shaft-diameter 5.5mm --spine 500 --length 28.5in"
    )]
    Arrows(AddArrows),
}

/// `sheaf add person`
#[derive(Debug, Group)]
pub struct AddPerson {
    /// What the team calls the person
    pub name: String,
    /// The arm that holds the bow: left or right
    #[arg(long, value_name = "ARM")]
    pub bow_arm: Option<String>,
    /// How the fingers hold the string: split_finger or three_under
    #[arg(long)]
    pub hook: Option<String>,
    /// Draw length by the AMO measure
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub draw_length: Option<String>,
    /// Draw from the nocking point to the pivot point of the grip: 1.75 in less than the draw length
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub pivot_draw: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf add bow`
#[derive(Debug, Group)]
pub struct AddBow {
    /// What the team calls it
    pub name: String,
    /// Length of its riser
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub riser: Option<String>,
    /// What it is shot for: target, field, 3d or hunting
    #[arg(long)]
    pub discipline: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf add arrows`
#[derive(Debug, Group)]
pub struct AddArrows {
    /// What the team calls the set
    pub name: String,
    /// How many arrows
    #[arg(long)]
    pub count: Option<String>,
    /// Outer diameter of the shaft
    #[arg(long, value_name = "LENGTH")]
    pub shaft_diameter: Option<String>,
    /// Static spine
    #[arg(long)]
    pub spine: Option<String>,
    /// Length from nock groove to the front end of the shaft
    #[arg(long)]
    pub length: Option<String>,
    /// Mass of a finished arrow
    #[arg(long)]
    pub mass: Option<String>,
    /// Mass of the pile
    #[arg(long, value_name = "MASS")]
    pub pile: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// A kind of record, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs, reason = "the names say what they are")]
pub enum KindArg {
    #[value(alias = "people", alias = "persons")]
    Person,
    #[value(alias = "bows")]
    Bow,
    #[value(alias = "parts")]
    Part,
    Arrows,
    #[value(alias = "changes")]
    Change,
    #[value(alias = "groups")]
    Group,
    #[value(alias = "baselines")]
    Baseline,
    #[value(alias = "sessions")]
    Session,
    #[value(alias = "plans")]
    Plan,
    #[value(alias = "marks")]
    Mark,
    #[value(alias = "notes")]
    Note,
    #[value(alias = "pairs")]
    Pair,
    #[value(alias = "curves")]
    Curve,
    #[value(alias = "speeds")]
    Speed,
    Practice,
}

impl KindArg {
    /// Returns the kind's name in the records.
    pub fn name(self) -> &'static str {
        match self {
            Self::Person => "person",
            Self::Bow => "bow",
            Self::Part => "part",
            Self::Arrows => "arrows",
            Self::Change => "change",
            Self::Group => "group",
            Self::Baseline => "baseline",
            Self::Session => "session",
            Self::Plan => "plan",
            Self::Mark => "mark",
            Self::Note => "note",
            Self::Pair => "pair",
            Self::Curve => "curve",
            Self::Speed => "speed",
            Self::Practice => "practice",
        }
    }
}

/// `sheaf set`
#[derive(Debug, Group)]
pub struct Set {
    /// What kind of thing
    pub kind: KindArg,
    /// Its name or id; `last` is the group recorded last
    pub name: String,
    /// Fields with their values, for example mass=330gr
    #[arg(required = true, value_name = "FIELD=VALUE")]
    pub fields: Vec<String>,
}

/// `sheaf note`
#[derive(Debug, Group)]
pub struct NewNote {
    /// What it is about: its name or id; `last` is the group recorded last
    pub about: String,
    /// The words
    pub text: String,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
}

/// `sheaf change`
#[derive(Debug, Group)]
pub struct Change {
    /// The bow
    #[arg(required_unless_present = "settings")]
    pub bow: Option<String>,
    /// Settings with their values, for example plunger_turns=+1/4
    #[arg(value_name = "SETTING=VALUE")]
    pub values: Vec<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
    /// List the settings in the order in which the trade sets a bow up
    #[arg(long)]
    pub settings: bool,
}

/// `sheaf shoot`
#[derive(Debug, Group)]
pub struct Shoot {
    /// Bow, distance and shots, each of the first two where it differs from the last time
    #[arg(value_name = "[BOW] [DISTANCE] SHOTS")]
    pub words: Vec<String>,
    /// The face, by its code, for example wa_80
    #[arg(long)]
    pub face: Option<String>,
    /// The arrow set
    #[arg(long)]
    pub arrows: Option<String>,
    /// Who shot
    #[arg(long)]
    pub archer: Option<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// The session; the archer's day when left out
    #[arg(long)]
    pub session: Option<String>,
    /// The end, when several groups belong to one
    #[arg(long, allow_negative_numbers = true)]
    pub end: Option<String>,
    /// The plan under which it is shot: its next end is ticked off
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<String>,
    /// A name for where the sight stands, a new one whenever it was moved; it holds until the next ("" for none)
    #[arg(long, value_name = "LABEL")]
    pub sight: Option<String>,
    /// Arrows (counted from 1) that you call flyers
    #[arg(long, value_name = "N", value_delimiter = ',', allow_negative_numbers = true)]
    pub flyer: Vec<u32>,
    /// Arrows (counted from 1) that are bare shafts
    #[arg(long, value_name = "N", value_delimiter = ',', allow_negative_numbers = true)]
    pub bare: Vec<u32>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
    /// Draw the group
    #[arg(long)]
    pub plot: bool,
}
