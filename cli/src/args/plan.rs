//! What can be typed about plans.

use super::Scale;
use clap::{Args as Group, Subcommand};

/// `sheaf plan`
#[derive(Debug, Group)]
pub struct Plan {
    /// What to do
    #[command(subcommand)]
    pub what: PlanWhat,
}

/// What can be done with a plan.
#[derive(Debug, Subcommand)]
pub enum PlanWhat {
    /// Make a plan: two setups, and what it is to find
    #[command(after_help = "Example:
  sheaf plan new stiffer elm --a plunger=2 --b plunger=2.5 --shift 15mm")]
    New(PlanNew),
    /// Say which end comes next, and with which setup
    #[command(after_help = "Example: sheaf plan next")]
    Next(PlanWhich),
    /// Say what a plan promises and what it says so far; look as often as you like
    #[command(after_help = "Example: sheaf plan show stiffer")]
    Show(PlanWhich),
}

/// `sheaf plan new`
#[derive(Debug, Group)]
pub struct PlanNew {
    /// What the team calls it
    pub name: String,
    /// The bow
    pub bow: String,
    /// A setting of setup A; once for each
    #[arg(long, value_name = "SETTING=VALUE", required = true)]
    pub a: Vec<String>,
    /// A setting of setup B; once for each
    #[arg(long, value_name = "SETTING=VALUE", required = true)]
    pub b: Vec<String>,
    /// The shift that is to be found, for example 15mm
    #[arg(long, value_name = "LENGTH", required_unless_present = "spread")]
    pub shift: Option<String>,
    /// The change of spread that is to be found, in percent: -20 for a fifth smaller
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true)]
    pub spread: Option<f64>,
    /// Distance; that of the group before when left out
    #[arg(long)]
    pub distance: Option<String>,
    /// Arrows an end
    #[arg(long, value_name = "N", default_value_t = 6)]
    pub arrows_per_end: u32,
    /// Chance of finding it, from 0 to 1
    #[arg(long, default_value_t = 0.8)]
    pub power: f64,
    /// Error rate of the verdict
    #[arg(long, default_value_t = 0.05)]
    pub alpha: f64,
    /// Who shoots it; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// Minutes an end takes, with walking
    #[arg(long, value_name = "MINUTES", default_value_t = 6.0)]
    pub minutes_per_end: f64,
    /// Minutes it takes to change the setup
    #[arg(long, value_name = "MINUTES", default_value_t = 5.0)]
    pub minutes_per_change: f64,
    /// Say what it takes, and keep nothing
    #[arg(long)]
    pub dry_run: bool,
}

/// A plan by its name.
#[derive(Debug, Group)]
pub struct PlanWhich {
    /// Its name or id; the latest when left out
    pub name: Option<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}
