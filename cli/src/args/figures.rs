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
