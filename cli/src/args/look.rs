//! What can be typed to look at things, settle them and hand them over.

use super::KindArg;
use clap::{Args as Group, Subcommand, ValueEnum, builder::PossibleValue};
use std::path::PathBuf;

/// `sheaf list`
#[derive(Debug, Group)]
pub struct List {
    /// What to list
    pub what: Listed,
    /// Only what belongs to this bow
    #[arg(long)]
    pub bow: Option<String>,
    /// Only what this archer shot or altered
    #[arg(long)]
    pub archer: Option<String>,
    /// How many of the latest to list, by when they were shot or altered; 0 for all
    #[arg(long, value_name = "N", default_value_t = 20)]
    pub last: usize,
    /// Also what is retired
    #[arg(long)]
    pub all: bool,
}

/// What can be listed: a kind of record, or the faces, which are no records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listed {
    /// Records of a kind.
    Kind(KindArg),
    /// The published faces.
    Faces,
}

impl ValueEnum for Listed {
    fn value_variants<'a>() -> &'a [Self] {
        use KindArg::{
            Arrows, Baseline, Bow, Change, Curve, Group, Mark, Note, Pair, Part, Person, Plan, Practice,
            Session, Speed,
        };
        const ALL: &[Listed] = &[
            Listed::Kind(Person),
            Listed::Kind(Bow),
            Listed::Kind(Part),
            Listed::Kind(Arrows),
            Listed::Kind(Change),
            Listed::Kind(Group),
            Listed::Kind(Baseline),
            Listed::Kind(Session),
            Listed::Kind(Plan),
            Listed::Kind(Mark),
            Listed::Kind(Note),
            Listed::Kind(Pair),
            Listed::Kind(Curve),
            Listed::Kind(Speed),
            Listed::Kind(Practice),
            Listed::Faces,
        ];
        ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        match self {
            Self::Kind(kind) => kind.to_possible_value(),
            Self::Faces => Some(PossibleValue::new("faces").alias("face")),
        }
    }
}

/// A thing by its name or id, with its kind in front where wanted.
#[derive(Debug, Group)]
pub struct Meant {
    /// Its name or id, its kind in front where wanted; `last` is the group recorded last, whenever it was shot
    #[arg(required = true, num_args = 1..=2, value_name = "[KIND] NAME")]
    pub words: Vec<String>,
}

impl Meant {
    /// Returns the kind in front of the name.
    pub fn kind(&self) -> Option<KindArg> {
        KindArg::from_str(self.words.first()?, true).ok()
    }
}

/// `sheaf show`
#[derive(Debug, Group)]
pub struct Show {
    /// What is meant
    #[command(flatten)]
    pub meant: Meant,
    /// Also what it said before
    #[arg(long)]
    pub history: bool,
}

/// `sheaf timeline`
#[derive(Debug, Group)]
pub struct Timeline {
    /// The bow
    pub bow: String,
    /// How many of the latest stretches to show; 0 for all
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub last: usize,
}

/// `sheaf restore`
#[derive(Debug, Group)]
pub struct Restore {
    /// Its name or id, its kind in front where wanted; `last` is what was retired last
    #[arg(required = true, num_args = 1..=2, value_name = "[KIND] NAME")]
    pub words: Vec<String>,
}

/// `sheaf settle`
#[derive(Debug, Group)]
pub struct Settle {
    /// Its name or id
    pub name: String,
    /// The field
    pub field: String,
    /// Which of the values that `sheaf differences` numbers
    #[arg(long, value_name = "N", conflicts_with = "value", required_unless_present = "value")]
    pub keep: Option<usize>,
    /// Another value
    #[arg(long)]
    pub value: Option<String>,
}

/// `sheaf bundle`
#[derive(Debug, Group)]
pub struct Bundle {
    /// Which way
    #[command(subcommand)]
    pub way: BundleWay,
}

/// Which way a bundle goes.
#[derive(Debug, Subcommand)]
pub enum BundleWay {
    /// Write every record into a file
    #[command(after_help = "Example: sheaf bundle out elm-pair.sheaf")]
    Out {
        /// The file to write
        file: PathBuf,
        /// Write over a file that is there
        #[arg(long)]
        replace: bool,
    },
    /// Take in the records of a file
    #[command(after_help = "Example: sheaf bundle in elm-pair.sheaf")]
    In {
        /// The file to read
        file: PathBuf,
    },
}

/// `sheaf compute`
#[derive(Debug, Group)]
pub struct Compute {
    /// The method
    #[arg(required_unless_present_any = ["list", "help"])]
    pub method: Option<String>,
    /// Name every method with one line
    #[arg(long)]
    pub list: bool,
    /// Show input, output, units and source of the method
    #[arg(long, short)]
    pub help: bool,
    /// Read the input from a file instead of standard input
    #[arg(long, value_name = "FILE")]
    pub input: Option<PathBuf>,
}

/// `sheaf completions`
#[derive(Debug, Group)]
pub struct Completions {
    /// The shell
    pub shell: clap_complete::Shell,
}
