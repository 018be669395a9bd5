//! What can be typed to have groups judged.

use clap::Args as Group;

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
    /// The bow
    pub bow: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// The smallest shift that matters, for example 5mm; half the spread when left out
    #[arg(long, value_name = "LENGTH")]
    pub matters: Option<String>,
    /// Judge only these changes, by the ids of `sheaf list changes`
    #[arg(long, value_name = "CHANGE", value_delimiter = ',')]
    pub judge: Vec<String>,
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
    /// Draw the mean point of impact of every group in order
    #[arg(long)]
    pub plot: bool,
}

/// `sheaf today`
#[derive(Debug, Group)]
pub struct Today {
    /// The bow
    pub bow: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}

/// `sheaf dial`
#[derive(Debug, Group)]
pub struct Dial {
    /// The bow
    pub bow: String,
    /// The setting, for example plunger or brace_height_mm
    pub setting: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}

/// `sheaf report`
#[derive(Debug, Group)]
pub struct Report {
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}

/// `sheaf expect`
#[derive(Debug, Group)]
pub struct Expect {
    /// The bow
    pub bow: String,
    /// A round by its code: wa_70m, wa_50m, wa_25m, wa_18m, wa_1440_men
    #[arg(long, value_name = "CODE", required_unless_present = "part")]
    pub round: Option<String>,
    /// A part of a round of your own, for example 36@50m:wa_80, or 36x3@50m:wa_80 for ends of three
    #[arg(long, value_name = "ARROWS@DISTANCE:FACE", conflicts_with = "round")]
    pub part: Vec<String>,
    /// From how many of the latest sessions
    #[arg(long, value_name = "N", default_value_t = 8)]
    pub sessions: usize,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}
