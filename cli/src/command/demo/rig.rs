//! The demo's bows themselves: parts with their makers' limits, a draw curve, weighed arrows, marks, a baseline. All of it
//! is invented.

use super::{Archer, home, stage::Stage, stage::sheaf, title};
use crate::{CliError, Env};

/// What Ilse notes of the bows and the arrows once the season is over.
const NOTED: &[&[&str]] = &[
    &["set", "person", "Ilse", "pivot_draw=25.75in", "hook=split_finger", "bow_arm=left"],
    &["set", "bow", "bramble", "discipline=target"],
    &["set", "bow", "thistle", "discipline=field"],
    &["set", "part", "medium 34", "most_draw=30in", "least_grains_per_pound=6"],
    &["set", "part", "sixteen strands", "length=68in", "remind_at_arrows=2500"],
    &["add", "part", "medium 32", "--what", "limbs", "--limb-length", "medium", "--marked-weight", "32lbf"],
    &["pair", "bramble", "fit=true", "bolts=3", "lateral=0"],
    &[
        "curve",
        "bramble",
        "12=4.6",
        "16=13.3",
        "20=20.4",
        "24=26.9",
        "26=30.4",
        "27.5=33.4",
        "--from",
        "brace",
    ],
    &["speed", "bramble", "176fps", "--arrows", "blue twelve"],
    &["set", "arrows", "blue twelve", "length=28.75in", "mass=310gr", "material=carbon"],
    &["shaft", "blue twelve", "mass=309.8,310.4,310.1,311.9,309.5,310.2,310.0,309.9,314.6,310.3,309.7,310.6"],
    &["baseline", "save", "bramble", "outdoor", "--tolerance", "tiller=1mm"],
    &["mark", "bramble", "18m", "21.3"],
    &["mark", "bramble", "30m", "37.7"],
    &["mark", "bramble", "40m", "52.7"],
    &["mark", "bramble", "50m", "68.4"],
    &["mark", "bramble", "60m", "84.7"],
    &["practice", "bramble", "144"],
];

/// Notes the bows as they are, takes one apart and measures it anew, and asks for a mark between the others.
pub fn noted(env: &mut Env<'_>, stage: &Stage, now: u64) -> Result<(), CliError> {
    let ilse = home(stage, Archer::Ilse);
    for words in NOTED {
        sheaf(env, &ilse, now, words)?;
    }
    for (told, words, lines) in [
        (
            "Taken apart and put together again: sheaf rebuild bramble --baseline outdoor",
            &[
                "rebuild",
                "bramble",
                "--baseline",
                "outdoor",
                "brace_height=218",
                "tiller=9",
                "nocking_point=11",
            ][..],
            3,
        ),
        (
            "A mark between the others: sheaf marks bramble --distance 45m",
            &["marks", "bramble", "--distance", "45m"][..],
            5,
        ),
    ] {
        title(env, told)?;
        let answer = sheaf(env, &ilse, now, words)?;
        for line in answer.lines().filter(|line| !line.trim().is_empty()).take(lines) {
            writeln!(env.out, "{line}")?;
        }
    }
    Ok(())
}
