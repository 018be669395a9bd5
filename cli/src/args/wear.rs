//! What can be typed about what wears.

use clap::Args as Group;

/// What stands below the help of `sheaf wear`.
pub const WEAR: &str = "A part counts on whatever bow it is; a tab counts what its archer shoots, a
serving comes off with its string. Arrows are counted from groups and from
`sheaf practice`.

Examples:
  sheaf wear elm
  sheaf wear
  sheaf set part \"red string\" remind_at_arrows=2500

With --json: {\"bow\", \"name\", \"rows\": [{\"setting\", \"part\", \"name\", \"kind\",
\"id\", \"change\", \"since\", \"since_day\", \"arrows\", \"placed\", \"practice\",
\"bows\", \"words\", \"remind_at\", \"due\", \"reminder\", \"how\", \"caution\"}],
\"cautions\"}";

/// What stands below the help of `sheaf practice`.
pub const PRACTICE: &str = "They wear string, serving, limbs, tab and arrows; no verdict and no figure of a
group counts them. With a part's reminder set, it is said when it comes due.

Examples:
  sheaf practice elm 72
  sheaf practice elm 48 --arrows blue --at \"yesterday 18:30\" --note \"blank butt\"
  sheaf set part \"red string\" remind_at_arrows=2500

With --json: {\"practice\", \"bow\", \"archer\", \"arrows\", \"at\", \"count\",
\"reminders\", \"cautions\": []}";

/// `sheaf practice`
#[derive(Debug, Group)]
pub struct Practice {
    /// The bow
    pub bow: String,
    /// How many arrows were shot
    #[arg(allow_negative_numbers = true)]
    pub count: String,
    /// Who shot; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// The arrow set; the one on the bow when left out
    #[arg(long)]
    pub arrows: Option<String>,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
}

/// `sheaf wear`
#[derive(Debug, Group)]
pub struct Wear {
    /// The bow; everything in use when left out
    pub bow: Option<String>,
}
