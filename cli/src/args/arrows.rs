//! What can be typed to learn what the arrows of a bow tell.

use super::{OfBow, Scale};
use clap::Args as Group;

/// `sheaf arrows`
#[derive(Debug, Group)]
pub struct Numbered {
    /// A bow for all sets shot with it, or a set of arrows on whatever bow
    pub name: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf bare`
#[derive(Debug, Group)]
pub struct Bare {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
    /// How far a unit of a setting moves your bare shafts beside the fletched arrows, mrad right and high
    #[arg(long, value_name = "SETTING=RIGHT,HIGH")]
    pub dial: Vec<String>,
}

/// `sheaf walkback`
#[derive(Debug, Group)]
pub struct Walkback {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
    /// Only groups with this name for where the sight stood
    #[arg(long, value_name = "LABEL")]
    pub sight: Option<String>,
    /// Only this session: its day, or its name
    #[arg(long, value_name = "SESSION")]
    pub session: Option<String>,
}

/// `sheaf shaft`
#[derive(Debug, Group)]
pub struct Shaft {
    /// The set of arrows
    pub set: String,
    /// Which arrows (3, 1,4,7 or 1-12), then what was measured; or many values in a row
    #[arg(required = true, value_name = "[NUMBERS] FIELD=VALUE | NUMBER:MASS")]
    pub words: Vec<String>,
}

/// `sheaf shafts`
#[derive(Debug, Group)]
pub struct Shafts {
    /// The set of arrows
    pub set: String,
    /// How many are to be kept: names the ones nearest in mass
    #[arg(long, value_name = "N")]
    pub keep: Option<usize>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf suits`
#[derive(Debug, Group)]
pub struct Suits {
    /// The set of arrows
    pub set: String,
    /// The bows, by name; those that shoot the set when left out
    #[arg(long, value_name = "BOW", value_delimiter = ',')]
    pub bows: Vec<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}
