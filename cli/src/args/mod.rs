//! What can be typed: the command line's definition and nothing else.

mod arrows;
mod figures;
mod look;
mod marks;
mod measure;
mod parse;
mod part;
mod plan;
mod rebuild;
mod record;
mod sheet;
mod team;
mod wear;

pub use arrows::{Bare, Numbered, Shaft, Shafts, Suits, Walkback};
pub use figures::{Analyse, Dial, Effects, Expect, OfBow, Report, Scale, Today};
pub use look::{
    Bundle, BundleWay, Completions, Compute, List, Listed, Meant, Restore, Settle, Show, Timeline,
};
pub use marks::{NewMark, ShowMarks, WhatArg};
pub use measure::{Curve, Pair, Pairs, Speed};
pub use parse::{Parsed, definition, parse};
pub use part::{Fits, Parts};
pub use plan::{Plan, PlanNew, PlanWhat, PlanWhich};
pub use rebuild::{
    Baseline, BaselineList, BaselinePut, BaselineSave, BaselineTolerance, BaselineWhat, PaperArg, Rebuild,
};
pub use record::{Add, AddWhat, Change, KindArg, NewNote, Set, Shoot};
pub use sheet::{DatesArg, Export, ExportWhat, Import, UnitsArg};
pub use team::{Connect, Demo, GiveRole, Invite, Join, ShiftTimes, Shut, Start, Sync};
pub use wear::{Practice, Wear};

use clap::{Parser, Subcommand};
use std::path::PathBuf;

/// Records groups and bow changes with no network, syncs them later, and says which change moved the groups.
#[derive(Debug, Parser)]
#[command(name = "sheaf", version, max_term_width = 100)]
#[command(after_help = "First steps:
  sheaf start \"Elm pair\" --me Ash
  sheaf add bow elm --riser 25in
  sheaf add arrows blue --count 12 --shaft-diameter 5.5mm
  sheaf shoot elm 30m 9@4:30 X@12 10@2 --face wa_80 --arrows blue
  sheaf change elm \"plunger=2 1/4\"
  sheaf effects elm

Exit codes: 0 done, 1 mend the input, 2 usage, 3 server out of reach (nothing is
lost), 4 refused, 70 a bug.")]
pub struct Args {
    /// The folder of the replica; SHEAF_HOME or the data folder of the user when left out
    #[arg(long, global = true, value_name = "DIR")]
    pub home: Option<PathBuf>,
    /// Print the answer as JSON
    #[arg(long, global = true)]
    pub json: bool,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Begin a team on this device; no server is needed
    #[command(after_help = "Example: sheaf start \"Elm pair\" --me Ash")]
    Start(Start),
    /// Move the team of this device onto a server, or follow the team's server to a new address
    #[command(after_help = "Examples:
  sheaf connect https://sheaf.example --key FOUNDING-KEY
  sheaf connect https://new.sheaf.example      (the team's server moved there)
  sheaf connect https://192.0.2.10:7433 --ca new-cert.pem    (it was renewed)")]
    Connect(Connect),
    /// Come into a team with an invite; what this home recorded before comes along
    #[command(
        after_help = "Example: sheaf join https://sheaf.example 7K3Q-M9TD-... --me Birch\n\nA code has seven groups of four letters and digits."
    )]
    Join(Join),
    /// Make an invite that lets one device into the team (keepers)
    #[command(after_help = "Example: sheaf invite --role coach")]
    Invite(Invite),
    /// List the devices of the team (keepers)
    #[command(after_help = "Example: sheaf devices")]
    Devices,
    /// Shut a device out at once, for example a lost phone (keepers)
    #[command(after_help = "Example: sheaf shut \"Ash's phone\"")]
    Shut(Shut),
    /// Give a person another role (keepers)
    #[command(after_help = "Example: sheaf role Birch keeper")]
    Role(GiveRole),
    /// Exchange records with the team's server
    #[command(after_help = "Example: sheaf sync

With --json: {\"sent\", \"received\", \"requests\", \"bytes_out\", \"bytes_in\",
\"entries\", \"digest\", \"agree\", \"clock_off_ms\", \"renewed\": null or {\"from\", \"to\",
\"moved\"}, \"refused\": [{\"device\", \"seq\", \"code\", \"message\"}]}")]
    Sync(Sync),
    /// Move the times that a wrong clock gave to what was recorded before the last sync
    #[command(after_help = "What was imported, or typed with --at, stays; a time typed within five minutes
of the clock's cannot be told from one that the clock gave, and moves with them.

Example: sheaf shift-times --dry-run")]
    ShiftTimes(ShiftTimes),
    /// Add a person, a bow, a part or a set of arrows
    #[command(after_help = "Example: sheaf add arrows blue --count 12 --shaft-diameter 5.5mm --spine 500")]
    Add(Add),
    /// Set fields of something that was recorded
    #[command(after_help = "Examples:
  sheaf set arrows blue mass=330gr
  sheaf set person Ash draw_length=28.5in bow_arm=left
  sheaf set group 9f3c01d2 note=\"gusty from the left\"
  sheaf set group last face=wa_80 shots=\"9@1 8@4\"       (all its arrows anew)
  sheaf set change 5b20c7aa brace_height=217mm plunger=   (no value: taken out)")]
    Set(Set),
    /// Record what was altered on a bow
    #[command(after_help = record::CHANGE)]
    Change(Change),
    /// Record a group at the range
    #[command(after_help = "Shots are ring and clock position (9@4:30, X@12, M for a miss) or x,y from the
centre (12,-31 in mm; 1.2,-3.1cm), each with the arrow's number in front where
wanted (3:9@4:30), ! behind for a flyer, b for a bare shaft. With no shots a
line is read for each end, until an empty one. What is left out is as the last
time: face and sight as at that distance, arrows as with that bow.

Examples:
  sheaf shoot elm 30m 9@4:30 X@12 3:M --face wa_80 --arrows blue
  sheaf shoot 10@2 9@7 9@8:30
  sheaf shoot elm 20yd --plot

With --json: {\"groups\": [{\"id\", \"bow\", \"at\", \"distance_m\", \"face\", \"points_mm\",
\"assumed\", \"off_face\", \"mean_mm\", \"mean_radius_mm\", \"cautions\": []}]}")]
    Shoot(Shoot),
    /// Count arrows that were shot without being placed, for the wear of what is on the bow
    #[command(after_help = wear::PRACTICE)]
    Practice(Practice),
    /// Write a remark about a bow, a person, a group or anything else that was recorded
    #[command(after_help = "`sheaf show` shows the notes about a thing, `sheaf timeline` those about a bow
and its groups.

Examples:
  sheaf note elm \"nocking point looks worn\"
  sheaf note Birch \"hold the follow-through\"
  sheaf note last \"gusty from the left\"

With --json: {\"note\", \"about\", \"bow\", \"at\", \"text\"}")]
    Note(NewNote),
    /// List people, bows, parts, arrows, changes, groups and so on
    #[command(after_help = "Sessions are those of the groups: a name given with --session, or an archer's
day. A mark is a sight reading, crawl or gap of a distance (`sheaf mark` notes
one), a baseline a setup with a name (`sheaf baseline`); both can be looked at,
set and retired.

Examples:
  sheaf list bows
  sheaf list groups --bow elm --archer Ash --last 10
  sheaf list notes
  sheaf list faces

With --json: a list of {\"kind\", \"id\", \"name\", \"retired\", \"fields\"}; of faces, of
{\"code\", \"name\", \"diameter_mm\", \"inner_ten\"}")]
    List(List),
    /// Show one thing: a bow with its setup, a group with its plot, a person, a part
    #[command(after_help = "Examples:
  sheaf show elm
  sheaf show last

With --json: {\"kind\", \"id\", \"name\", \"retired\", \"fields\", \"differences\",
\"notes\"}, with --history \"history\", and of a bow \"setup\"")]
    Show(Show),
    /// Show what happened to a bow, in order, with the groups shot in each stretch
    #[command(after_help = "Example: sheaf timeline elm --last 5

With --json: {\"bow\", \"stretches\": [{\"change\", \"at\", \"altered\", \"groups\",
\"arrows\", \"practice\"}], \"practice\": [{\"id\", \"at\", \"archer\", \"arrows\", \"count\",
\"note\"}], \"unplaced\", \"notes\"}")]
    Timeline(Timeline),
    /// Show how a group lies, or every session with a bow
    #[command(after_help = "Examples:
  sheaf analyse
  sheaf analyse elm --archer Ash

With --json: {\"group\", \"figures\"} or {\"bow\", \"sessions\": [{\"archer\", \"session\",
\"distance_m\", \"groups\", \"arrows\", \"figures\"}]}; figures as `sheaf compute group
--help`")]
    Analyse(Analyse),
    /// Say of every change of a bow whether it moved the groups or made them tighter
    #[command(after_help = "Examples:
  sheaf effects elm
  sheaf effects elm --archer Ash --matters 5mm --plot

With --json: {\"bow\", \"name\", \"archers\": [{\"archer\", \"name\", \"groups\",
\"distance_m\", \"verdicts\": [{\"what\", \"day\", \"sentence\", and the figures of `sheaf
compute effects --help`}], \"remarks\"}]}")]
    Effects(Effects),
    /// Say whether the last day is different from other days, and how much days vary
    #[command(after_help = "Example: sheaf today elm --archer Ash

With --json: a list of {\"archer\", \"name\", \"sentences\", \"figures\": those of
`sheaf compute day-to-day --help`}")]
    Today(Today),
    /// Say what a round is expected to score, and where the lost points go
    #[command(after_help = "Examples:
  sheaf expect elm --round wa_18m
  sheaf expect elm --part 36@50m:wa_80 --part 36@30m:wa_80 --archer Ash

With --json: a list of {\"archer\", \"name\", \"sentences\", \"figures\": those of
`sheaf compute expected-round --help`}")]
    Expect(Expect),
    /// Compare two setups by a fair order, with a verdict that may be looked at after every end
    #[command(after_help = "Examples:
  sheaf plan new stiffer elm --a plunger=2 --b plunger=2.5 --shift 15mm
  sheaf plan next
  sheaf shoot elm --plan stiffer 9@4:30 X@12 10@3 8@7 9@1 9@2
  sheaf plan show

With --json: of new {\"plan\", \"design\"}, of next {\"plan\", \"end\", \"place\",
\"setup\", \"settings\", \"words\"}, of show {\"plan\", \"promise\", \"verdict\", \"next\",
\"figures\": those of `sheaf compute plan-verdict --help`}")]
    Plan(Plan),
    /// Say which numbered arrows keep landing apart from their set
    #[command(after_help = "Type an arrow's number in front of its shot: `sheaf shoot elm 30m 3:9@4:30
7:X@12`.

Examples:
  sheaf arrows elm
  sheaf arrows blue --archer Ash

With --json: {\"name\", \"sets\": [{\"archer\", \"archer_name\", \"set\", \"set_name\",
\"sentences\", \"figures\"}]}; figures as `sheaf compute numbered-arrows --help`")]
    Arrows(Numbered),
    /// Note what was measured of single arrows of a set, one by one or in a row from the scale
    #[command(after_help = arrows::SHAFT)]
    Shaft(Shaft),
    /// List the arrows of a set one by one, how they scatter, and whom to pair, keep or leave out
    #[command(after_help = arrows::SHAFTS)]
    Shafts(Shafts),
    /// Say whether one set of arrows suits several bows: mass, length, speed, bare shafts, limits
    #[command(after_help = arrows::SUITS)]
    Suits(Suits),
    /// Say where bare shafts land beside fletched ones, and how that is read
    #[command(after_help = "Shoot bare shafts in the same ends as fletched arrows, and put a b behind them:
`sheaf shoot elm 18m 9@1 9@5 10@3 8@9b`. The readings are common practice, no
source.

Examples:
  sheaf bare elm
  sheaf bare elm --dial plunger_turns=1.6,0.1

With --json: {\"bow\", \"archers\": [{\"archer\", \"archer_name\", \"set_name\",
\"changed_since\", \"sentences\", \"figures\"}]}; figures as `sheaf compute bare-shaft
--help`")]
    Bare(Bare),
    /// Say whether arrows drift sideways with the distance, straight or curved, with the sight left alone
    #[command(after_help = "In one session shoot from three distances or more, aim at one spot, leave the
sight alone and give every group the same --sight. What is drawn from it is
common practice, no source.

Examples:
  sheaf walkback elm
  sheaf walkback elm --sight walk --session evening

With --json: {\"bow\", \"archers\": [{\"archer\", \"archer_name\", \"session\", \"sight\",
\"sentences\", \"figures\"}]}; figures as `sheaf compute walk-back --help`")]
    Walkback(Walkback),
    /// Say how the groups answer to a numeric setting that was shot at three values or more
    #[command(after_help = "Examples:
  sheaf dial elm plunger
  sheaf dial elm brace_height_mm --archer Ash

With --json: {\"bow\", \"name\", \"setting\", \"archers\": [{\"archer\", \"name\", \"groups\",
\"sentence\", \"figures\": those of `sheaf compute dial --help`, or null}]}")]
    Dial(Dial),
    /// Print the team's figures for a coach: who needs a look, and why
    #[command(after_help = "Example: sheaf report

With --json: {\"rows\": [{\"archer_name\", \"bow_name\", \"groups\", \"arrows\",
\"distance_m\", \"sd_mm\", \"mpi_mm\", \"points_per_arrow\", \"last_verdict\", \"look\"}],
\"differences\", \"unshot\"}")]
    Report(Report),
    /// Say how a bow is put back as it was, setting by setting in the order of the work
    #[command(after_help = rebuild::REBUILD)]
    Rebuild(Rebuild),
    /// Name setups to come back to, and put them back
    Baseline(Baseline),
    /// Say how many arrows string, serving, limbs, tab, arrows and so on have seen, and what is due
    #[command(after_help = wear::WEAR)]
    Wear(Wear),
    /// Note a bow's draw curve, or say what the latest one says: weight at any draw, stacking, energy
    #[command(after_help = measure::CURVE)]
    Curve(Curve),
    /// Note how fast an arrow left a bow
    #[command(after_help = measure::SPEED)]
    Speed(Speed),
    /// Note how a pair of limbs sits on a bow's riser, and what made it true
    #[command(after_help = measure::PAIR)]
    Pair(Pair),
    /// List every riser with every pair of limbs: how they fit, the settings to go to, or not measured
    #[command(after_help = measure::PAIRS)]
    Pairs(Pairs),
    /// Note the sight mark, crawl or gap that was found at a distance
    #[command(after_help = marks::MARK)]
    Mark(NewMark),
    /// Say the mark of any distance, with its range, and which marks have grown stale
    #[command(after_help = marks::MARKS)]
    Marks(ShowMarks),
    /// List the parts: what is known of each, its maker's limits, where it is and since when
    #[command(after_help = part::PARTS)]
    Parts(Parts),
    /// Say what fits an archer: limbs, bow, string, tiller, and what the team's own parts make of it
    #[command(after_help = part::FITS)]
    Fits(Fits),
    /// Take something out of use; it stays in the records and can be restored
    #[command(after_help = "Example: sheaf retire \"old string\"")]
    Retire(Meant),
    /// Bring back something that was retired
    #[command(after_help = "Examples:
  sheaf restore \"old string\"
  sheaf restore last             (what was retired last)")]
    Restore(Restore),
    /// List what two people wrote without seeing each other
    #[command(after_help = "Example: sheaf differences

With --json: a list of {\"kind\", \"id\", \"name\", \"field\", \"values\": [{\"value\",
\"by\", \"at_ms\", \"stands\"}]}")]
    Differences,
    /// Settle a difference: keep one of the values, or give another
    #[command(after_help = "Examples:
  sheaf settle elm riser_in --keep 1
  sheaf settle elm note --value \"the one with the red grip\"")]
    Settle(Settle),
    /// Record the groups of a CSV file: one row an arrow or one row an end, columns in any order
    #[command(after_help = "The same file twice adds nothing, and a file that grew adds its new ends. Rows
that cannot be read are named with their line, and nothing is kept unless
--keep-good is given.

Examples:
  sheaf import season.csv --create
  sheaf import sheet.csv --bow elm --distance 20yd --units imperial \\
    --column x=across --column y=up
  sheaf import season.csv --dry-run

With --json: {\"rows\", \"groups\", \"new\", \"known\", \"created\", \"columns\", \"refused\":
[{\"line\", \"column\", \"code\", \"message\"}], \"left_out\", \"off_face\", \"notes\",
\"kept\"}")]
    Import(Import),
    /// Write groups (a row an arrow), changes (a row a setting), practice (a row a count) or arrow sets (a row a shaft)
    /// as CSV
    #[command(after_help = "Examples:
  sheaf export > groups.csv
  sheaf export changes --bow elm -o changes.csv
  sheaf export practice
  sheaf export arrows -o shafts.csv

With --json: a list of the records with their ids")]
    Export(Export),
    /// Hand records over as a file, with no network
    #[command(after_help = "Examples:
  sheaf bundle out elm-pair.sheaf
  sheaf bundle in elm-pair.sheaf")]
    Bundle(Bundle),
    /// Ask the model one question: JSON in, JSON out
    #[command(disable_help_flag = true)]
    #[command(after_help = "Examples:
  sheaf compute --list
  sheaf compute group --help
  sheaf compute group < in.json > out.json")]
    Compute(Compute),
    /// Play an invented season: two devices offline, a real service, the verdicts, the coach's report
    #[command(after_help = "Example: sheaf demo --keep")]
    Demo(Demo),
    /// Print the script that completes commands in a shell
    #[command(
        after_help = "Example: sheaf completions bash > ~/.local/share/bash-completion/completions/sheaf"
    )]
    Completions(Completions),
}
