//! What can be typed to read groups from a CSV file and to write them into one.

use clap::{Args as Group, ValueEnum};
use std::path::PathBuf;

/// `sheaf import`
#[derive(Debug, Group)]
pub struct Import {
    /// The CSV file; - reads standard input
    pub file: PathBuf,
    /// A field and the header that means it, for example x_mm=across; ignore=HEADER leaves a column out
    #[arg(long, value_name = "FIELD=HEADER")]
    pub column: Vec<String>,
    /// The bow of rows that name none
    #[arg(long)]
    pub bow: Option<String>,
    /// The archer of rows that name none; you when left out
    #[arg(long)]
    pub archer: Option<String>,
    /// The arrow set of rows that name none
    #[arg(long)]
    pub arrows: Option<String>,
    /// The face of rows that name none, by its code
    #[arg(long)]
    pub face: Option<String>,
    /// The distance of rows that give none, for example 30m or 20yd
    #[arg(long)]
    pub distance: Option<String>,
    /// The date, or date and time, of rows that give none
    #[arg(long)]
    pub at: Option<String>,
    /// The session of rows that name none
    #[arg(long)]
    pub session: Option<String>,
    /// The units of numbers without one: mm and m, or inches and yards
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    pub units: UnitsArg,
    /// How to read dates such as 03/04/2026, when no date of the file tells
    #[arg(long, value_enum, value_name = "ORDER")]
    pub dates: Option<DatesArg>,
    /// What separates the columns: a comma, a semicolon or `tab`; found from the headers when left out
    #[arg(long, value_name = "CHAR")]
    pub separator: Option<String>,
    /// Let an empty cell of date, session, end, bow and so on mean what stands above it
    #[arg(long)]
    pub fill_down: bool,
    /// Add the bows, people and arrow sets that the file names and the team does not have
    #[arg(long)]
    pub create: bool,
    /// Keep the groups that can be read, even when rows cannot
    #[arg(long)]
    pub keep_good: bool,
    /// Say what would be done, and do nothing
    #[arg(long)]
    pub dry_run: bool,
}

/// The units of numbers without one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// mm on the face, m to it
    Metric,
    /// Inches on the face, yards to it
    Imperial,
}

/// Which comes first in a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DatesArg {
    /// 03/04 is the third of April
    DayFirst,
    /// 03/04 is the fourth of March
    MonthFirst,
}

/// `sheaf export`
#[derive(Debug, Group)]
pub struct Export {
    /// What to write
    #[arg(value_enum, default_value_t = ExportWhat::Groups)]
    pub what: ExportWhat,
    /// Only what belongs to this bow
    #[arg(long)]
    pub bow: Option<String>,
    /// The file to write; standard output when left out
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long)]
    pub replace: bool,
}

/// What can be written as CSV.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportWhat {
    /// One row an arrow
    Groups,
    /// One row a setting
    Changes,
    /// One row a count of arrows shot without placing
    Practice,
    /// One row a set, and one an arrow of it
    Arrows,
}
