//! What can be typed to learn what the arrows of a bow tell.

use clap::Args as Group;

/// `sheaf arrows`
#[derive(Debug, Group)]
pub struct Numbered {
    /// A bow for all sets shot with it, or a set of arrows on whatever bow
    pub name: String,
    /// Only this archer's groups; every archer's by themselves when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// Inches and yards
    #[arg(long)]
    pub imperial: bool,
}
