//! What can be typed about parts, and about what fits an archer.

use super::Scale;
use clap::Args as Group;

/// What stands below the help of `sheaf fits`.
pub const FITS: &str = "Most of it is common practice without a source, and says so. What the makers of
the parts say, your club's rules and a qualified coach come first.

Examples:
  sheaf fits
  sheaf fits Birch --discipline target --weight 34lbf
  sheaf fits --draw 28in

With --json: {\"person\", \"name\", \"draw_length_in\", \"discipline\", \"said\": [{\"words\",
\"source\", \"caution\"}], \"risers\": [{\"riser_in\", \"used_for\", \"of_discipline\",
\"bows\", \"source\"}], \"combinations\": [{\"rank\", \"title\", \"bow\", \"riser\",
\"riser_in\", \"limbs\", \"bow_length_in\", \"weight_lbf\", \"weight_measured\",
\"limits\", \"on_now\", \"reasons\", \"cautions\"}], \"order\", \"wanted\", \"cautions\"}";

/// What stands below the help of `sheaf parts`.
pub const PARTS: &str = "A part is on one bow at a time: `sheaf change oak limbs=\"long 36\"` puts it there,
and takes it from the bow that it was on.

Examples:
  sheaf parts
  sheaf parts --what limbs

With --json: {\"parts\": [{\"id\", \"name\", \"what\", \"known\", \"limits\", \"on\",
\"on_name\", \"since\", \"place\", \"history\": [{\"bow\", \"bow_name\", \"setting\",
\"since\", \"until\", \"words\"}], \"retired\", \"note\"}], \"source\"}";

/// `sheaf add part`
#[derive(Debug, Group)]
pub struct AddPart {
    /// What the team calls it
    pub name: String,
    /// riser, limbs, string, rest, plunger, grip, sight, stabiliser, clicker, tab or other
    #[arg(long)]
    pub what: String,
    /// Length: of a riser, or of the bow that a string is for
    #[arg(long)]
    pub length: Option<String>,
    /// What it is made of
    #[arg(long)]
    pub material: Option<String>,
    /// Its mass, for example 1250g
    #[arg(long)]
    pub mass: Option<String>,
    /// After so many arrows you want to be reminded to look it over or replace it
    #[arg(long, value_name = "ARROWS")]
    pub remind_at: Option<String>,
    /// Anything else worth knowing
    #[arg(long)]
    pub note: Option<String>,
    /// Of limbs
    #[command(flatten)]
    pub limbs: OfLimbs,
    /// Of other sorts
    #[command(flatten)]
    pub others: OfOthers,
    /// Maker's limits
    #[command(flatten)]
    pub limits: Limits,
}

/// What is known of limbs.
#[derive(Debug, Group)]
#[command(next_help_heading = "Limbs")]
pub struct OfLimbs {
    /// Limb length class: short, medium or long
    #[arg(long, value_name = "CLASS")]
    pub limb_length: Option<String>,
    /// recurve or longbow
    #[arg(long, value_name = "KIND")]
    pub limb_kind: Option<String>,
    /// Weight marked on them
    #[arg(long, value_name = "WEIGHT")]
    pub marked_weight: Option<String>,
    /// Draw length that it was marked at, where that is not 28 in
    #[arg(long, value_name = "LENGTH")]
    pub marked_draw: Option<String>,
    /// Length of the riser that it was marked on, where that is not 25 in
    #[arg(long, value_name = "LENGTH")]
    pub marked_riser: Option<String>,
}

/// What is known of strings, risers and tabs.
#[derive(Debug, Group)]
#[command(next_help_heading = "Strings, risers, tabs")]
pub struct OfOthers {
    /// Strands of a string
    #[arg(long)]
    pub strands: Option<String>,
    /// Twists of a string as it was made
    #[arg(long)]
    pub twists: Option<String>,
    /// What the limb pockets of a riser let one adjust
    #[arg(long, value_name = "WORDS")]
    pub pocket: Option<String>,
    /// The hook that a tab is made for: split_finger or three_under
    #[arg(long)]
    pub hook: Option<String>,
}

/// What the maker allows, as far as the archer knows.
#[derive(Debug, Group)]
#[command(next_help_heading = "Maker's limits, where you know them")]
pub struct Limits {
    /// Fewest turns of a limb bolt out from fully in
    #[arg(long, value_name = "TURNS", allow_negative_numbers = true)]
    pub least_bolt: Option<String>,
    /// Most turns of a limb bolt out from fully in
    #[arg(long, value_name = "TURNS", allow_negative_numbers = true)]
    pub most_bolt: Option<String>,
    /// Least draw weight
    #[arg(long, value_name = "WEIGHT")]
    pub least_weight: Option<String>,
    /// Most draw weight
    #[arg(long, value_name = "WEIGHT")]
    pub most_weight: Option<String>,
    /// Longest draw
    #[arg(long, value_name = "LENGTH")]
    pub most_draw: Option<String>,
    /// Least brace height
    #[arg(long, value_name = "LENGTH")]
    pub least_brace: Option<String>,
    /// Most brace height
    #[arg(long, value_name = "LENGTH")]
    pub most_brace: Option<String>,
    /// Least mass of an arrow
    #[arg(long, value_name = "MASS")]
    pub least_arrow: Option<String>,
    /// Least grains of arrow a pound of draw weight
    #[arg(long, value_name = "GRAINS")]
    pub least_grains_per_pound: Option<String>,
}

impl AddPart {
    /// Returns the fields with what was typed for each.
    #[rustfmt::skip]
    pub fn given(&self) -> Vec<(&'static str, Option<&str>)> {
        let (limbs, others, limits) = (&self.limbs, &self.others, &self.limits);
        vec![
            ("what", Some(self.what.as_str())),
            ("length", self.length.as_deref()),
            ("material", self.material.as_deref()),
            ("mass", self.mass.as_deref()),
            ("remind_at_arrows", self.remind_at.as_deref()),
            ("note", self.note.as_deref()),
            ("limb_length", limbs.limb_length.as_deref()),
            ("limb_kind", limbs.limb_kind.as_deref()),
            ("marked_weight", limbs.marked_weight.as_deref()),
            ("marked_draw", limbs.marked_draw.as_deref()),
            ("marked_riser", limbs.marked_riser.as_deref()),
            ("strands", others.strands.as_deref()),
            ("twists", others.twists.as_deref()),
            ("pocket", others.pocket.as_deref()),
            ("hook", others.hook.as_deref()),
            ("least_bolt", limits.least_bolt.as_deref()),
            ("most_bolt", limits.most_bolt.as_deref()),
            ("least_weight", limits.least_weight.as_deref()),
            ("most_weight", limits.most_weight.as_deref()),
            ("most_draw", limits.most_draw.as_deref()),
            ("least_brace", limits.least_brace.as_deref()),
            ("most_brace", limits.most_brace.as_deref()),
            ("least_arrow", limits.least_arrow.as_deref()),
            ("least_grains_per_pound", limits.least_grains_per_pound.as_deref()),
        ]
    }
}

/// `sheaf parts`
#[derive(Debug, Group)]
pub struct Parts {
    /// Only parts of this sort: riser, limbs, string and so on
    #[arg(long)]
    pub what: Option<String>,
    /// Also what is retired
    #[arg(long)]
    pub all: bool,
    /// The units
    #[command(flatten)]
    pub scale: Scale,
}

/// `sheaf fits`
#[derive(Debug, Group)]
pub struct Fits {
    /// The archer; you yourself when left out
    pub person: Option<String>,
    /// What is to be shot: target, field, 3d or hunting
    #[arg(long)]
    pub discipline: Option<String>,
    /// The weight on the fingers that is wanted, for example 34lbf
    #[arg(long, allow_negative_numbers = true)]
    pub weight: Option<String>,
    /// A draw length in place of the one that is noted, for example 28in
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub draw: Option<String>,
    /// The units
    #[command(flatten)]
    pub scale: Scale,
}
