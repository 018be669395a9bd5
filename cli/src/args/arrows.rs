//! What can be typed to learn what the arrows of a bow tell.

use super::{OfBow, Scale};
use clap::Args as Group;

/// What stands below the help of `sheaf suits`.
pub const SUITS: &str = "What the makers of riser and limbs allow comes first: note it with
`sheaf set part \"long 36\" least_arrow=300gr` or least_grains_per_pound=6, and
put riser and limbs on the bow with `sheaf change`.

Examples:
  sheaf suits blue
  sheaf suits blue --bows elm,oak

With --json: {\"set\", \"name\", \"head\", \"bows\": [{\"bow\", \"name\", \"by_mass\",
\"by_floor\", \"too_short\", \"short\", \"weight_lbf\", \"grains_per_pound\", \"speed_fps\",
\"speed_archer\", \"words\", \"bare\"}],
\"said\", \"wanted\", \"cautions\"}";

/// What stands below the help of `sheaf shafts`.
pub const SHAFTS: &str = "Examples:
  sheaf shafts blue
  sheaf shafts blue --keep 9

With --json: {\"set\", \"name\", \"count\", \"shafts\", \"figures\", \"worth\", \"advice\",
\"groups\", \"wanted\", \"cautions\"}; of sentences \"words\", \"source\", \"caution\"";

/// What stands below the help of `sheaf shaft`.
pub const SHAFT: &str = "Fields: mass, pile (the point), length, balance (from the nock groove), spine,
nock, fletching, bare (yes or no), out (yes or no: dropped or broken), note.
Values in a row are those of arrows 1, 2, 3 and so on. Semicolons or spaces
separate them; a comma does only between numbers with a decimal point. No value
takes a field out.

Examples:
  sheaf shaft blue 3 mass=331gr balance=16.1in bare=yes
  sheaf shaft blue mass=330.8,331.2,329.9
  sheaf shaft blue \"mass=330,8; 331,2; 329,9\"
  sheaf shaft blue 4:330.8 7:331.2
  sheaf shaft blue 1-12 nock=red

With --json: {\"set\", \"fields\": [{\"field\", \"before\", \"after\"}]}";

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
