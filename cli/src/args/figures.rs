//! What can be typed to have groups judged.

use clap::Args as Group;

/// Metric unless said otherwise.
#[derive(Debug, Group)]
pub struct Scale {
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}

/// The groups with a bow that a question is about.
#[derive(Debug, Group)]
pub struct OfBow {
    /// The bow
    pub bow: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf analyse`
#[derive(Debug, Group)]
pub struct Analyse {
    /// A group by its id, `last` for the one recorded last, or a bow for all its groups
    #[arg(default_value = "last")]
    pub name: String,
    /// Only this archer's groups, of a bow
    #[arg(long)]
    pub archer: Option<String>,
}

/// `sheaf effects`
#[derive(Debug, Group)]
pub struct Effects {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
    /// The smallest shift that matters, for example 5mm; half the spread when left out
    #[arg(long, value_name = "LENGTH")]
    pub matters: Option<String>,
    /// Judge only the groups of this distance, for example 30m
    #[arg(long, value_name = "LENGTH")]
    pub distance: Option<String>,
    /// Judge only these changes, by the ids of `sheaf list changes`
    #[arg(long, value_name = "CHANGE", value_delimiter = ',')]
    pub judge: Vec<String>,
    /// Draw the mean point of impact of every group in order
    #[arg(long)]
    pub plot: bool,
}

/// `sheaf today`
#[derive(Debug, Group)]
pub struct Today {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
}

/// `sheaf dial`
#[derive(Debug, Group)]
pub struct Dial {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
    /// The setting, for example plunger or brace_height_mm
    pub setting: String,
}

/// `sheaf report`
#[derive(Debug, Group)]
pub struct Report {
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf expect`
#[derive(Debug, Group)]
pub struct Expect {
    /// Whose groups with which bow
    #[command(flatten)]
    pub of: OfBow,
    /// A round by its code: wa_70m, wa_50m, wa_25m, wa_18m, wa_1440_men
    #[arg(long, value_name = "CODE", required_unless_present = "part")]
    pub round: Option<String>,
    /// A part of a round of your own, for example 36@50m:wa_80, or 36x3@50m:wa_80 for ends of three
    #[arg(long, value_name = "ARROWS@DISTANCE:FACE", conflicts_with = "round")]
    pub part: Vec<String>,
    /// From how many of the latest sessions
    #[arg(long, value_name = "N", default_value_t = 8)]
    pub sessions: usize,
}
