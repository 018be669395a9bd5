//! What can be typed about what wears.

use clap::Args as Group;

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
