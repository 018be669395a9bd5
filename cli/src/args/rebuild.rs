//! What can be typed to come back to a setup: baselines, and the rebuild sheet.

use super::Scale;
use clap::{Args as Group, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What stands below the help of `sheaf rebuild`.
pub const REBUILD: &str = "Order, tolerances and what moves what are common practice, no source: what the
makers of the parts say, your club's rules and a qualified coach come first.

Without --keep nothing is kept: what was measured is only compared. --at and --note
say of what is kept when it was measured and what else is worth knowing, so they go
with --keep; --paper, --link and --replace go with --print.

Examples:
  sheaf rebuild elm
  sheaf rebuild elm brace_height=\"8 3/8in\" tiller=4 string=\"red string\"
  sheaf rebuild elm --baseline match plunger=2.25
  sheaf rebuild elm --baseline match --print sheet.html
  sheaf rebuild elm tiller=4 plunger=2.5 --keep

With --json: {\"bow\", \"title\", \"day\", \"note\", \"head\", \"rows\": [{\"setting\", \"name\",
\"unit\", \"target\", \"also\", \"tolerance\", \"tolerance_source\", \"measured\", \"off\",
\"ok\", \"how\", \"disturbs\", \"first\", \"beyond\": []}], \"elsewhere\", \"cautions\", \"source\",
\"own_tolerances\"}; with --keep \"kept\": {\"change\", \"altered\"}, with --print \"files\"";

/// `sheaf rebuild`
#[derive(Debug, Group)]
pub struct Rebuild {
    /// The bow
    pub bow: String,
    /// A setting and what it measures now, for example brace_height=213 or string="red string"
    #[arg(value_name = "SETTING=MEASURED")]
    pub values: Vec<String>,
    /// The baseline to come back to; what was noted last when left out
    #[arg(long, value_name = "NAME")]
    pub baseline: Option<String>,
    /// Keep what was measured and is otherwise than noted, as one change of the bow
    #[arg(long)]
    pub keep: bool,
    /// With --keep: when it was measured, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// With --keep: anything else worth knowing of what is kept
    #[arg(long)]
    pub note: Option<String>,
    /// Write the sheet to print or to keep in the case: a file that ends in .html or .svg
    #[arg(long, value_name = "FILE")]
    pub print: Option<PathBuf>,
    /// The paper of an SVG; HTML fits either
    #[arg(long, value_enum, default_value_t = PaperArg::A4, requires = "print")]
    pub paper: PaperArg,
    /// What the QR code of the sheet opens, instead of the bow on the team's server
    #[arg(long, value_name = "URL", requires = "print")]
    pub link: Option<String>,
    /// Write over a file that is there
    #[arg(long, requires = "print")]
    pub replace: bool,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperArg {
    /// 210 by 297 mm
    A4,
    /// 8 1/2 by 11 in
    Letter,
}

/// `sheaf baseline`
#[derive(Debug, Group)]
pub struct Baseline {
    /// What to do
    #[command(subcommand)]
    pub what: BaselineWhat,
}

/// What can be done with baselines.
#[derive(Debug, Subcommand)]
pub enum BaselineWhat {
    /// Name the setup of a bow as it is now, to come back to
    #[command(after_help = "Examples:
  sheaf baseline save elm match
  sheaf baseline save elm match --tolerance tiller=0.5mm --tolerance brace_height=1
  sheaf baseline save elm match --replace  (it holds the setup of now from here on)

With --json: {\"baseline\", \"bow\", \"name\", \"settings\", \"tolerances\", \"before\":
null or the settings that it held, \"kept\", \"beyond\": []}")]
    Save(BaselineSave),
    /// Note that a bow was set back to a baseline: all that differs, as one change
    #[command(after_help = "Examples:
  sheaf baseline put elm match
  sheaf baseline put elm match --at 09:30

With --json: {\"change\", \"bow\", \"baseline\", \"at\", \"altered\": [{\"setting\",
\"before\", \"after\"}], \"left\", \"parts\": [{\"setting\", \"part\", \"name\", \"on\",
\"on_name\", \"back\", \"retired\"}], \"cautions\"}")]
    Put(BaselinePut),
    /// List the baselines of a bow, or of all, with what differs from them now
    #[command(
        after_help = "`sheaf set baseline NAME name=NEW` gives one another name, `sheaf retire baseline
NAME` takes one out of use, and `sheaf show baseline NAME --history` shows what it held before.

Examples:
  sheaf baseline list
  sheaf baseline list elm

With --json: a list of {\"baseline\", \"name\", \"bow\", \"bow_name\", \"note\", \"written\",
\"settings\", \"tolerances\", \"differs\": [{\"setting\", \"before\", \"after\"}],
\"gone\": [{\"setting\", \"part\", \"to\"}]}"
    )]
    List(BaselineList),
    /// Say how far off a setting may be after a rebuild, in your own judgement
    #[command(after_help = "Where you say nothing, common practice holds (no source).

Examples:
  sheaf baseline tolerance elm match tiller=0.5mm
  sheaf baseline tolerance elm match tiller=      (back to common practice)

With --json: {\"baseline\", \"tolerances\", \"kept\"}")]
    Tolerance(BaselineTolerance),
}

/// `sheaf baseline save`
#[derive(Debug, Group)]
pub struct BaselineSave {
    /// The bow
    pub bow: String,
    /// What the setup is to be called
    pub name: String,
    /// How far off a setting may be after a rebuild, for example tiller=0.5mm; once for each
    #[arg(long, value_name = "SETTING=AMOUNT")]
    pub tolerance: Vec<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
    /// Have the baseline that is called so hold the setup of now; what it held stays in its history
    #[arg(long)]
    pub replace: bool,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf baseline put`
#[derive(Debug, Group)]
pub struct BaselinePut {
    /// The bow
    pub bow: String,
    /// The baseline
    pub name: String,
    /// When, for example 10:30 or 2026-04-12 10:30; now when left out
    #[arg(long)]
    pub at: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf baseline list`
#[derive(Debug, Group)]
pub struct BaselineList {
    /// The bow; all of them when left out
    pub bow: Option<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf baseline tolerance`
#[derive(Debug, Group)]
pub struct BaselineTolerance {
    /// The bow
    pub bow: String,
    /// The baseline
    pub name: String,
    /// A setting with how far off it may be; nothing behind the equals sign for common practice
    #[arg(value_name = "SETTING=AMOUNT", required = true)]
    pub values: Vec<String>,
    /// In which units
    #[command(flatten)]
    pub scale: Scale,
}
