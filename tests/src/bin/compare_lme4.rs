//! The same seasons judged by `effects` and fitted by R's lme4, side by side in one run:
//! `cargo run -p sheaf-tests --release --bin compare_lme4`. Needs `Rscript` with lme4 (Debian: r-cran-lme4).
//! Shifts and variances of both have to agree; the exit status is 1 where they do not.

use sheaf_model::{
    rng::{Rng, Seed},
    stats::effects::{Effects, EffectsInput, Noise, effects},
};
use sheaf_tests::season::{Changes, Drawn, Scenario};
use std::{fmt::Write as _, fs, path::Path, process::Command, process::ExitCode, time::Instant};

/// A model with sessions and ends nested in them, one step a change, by REML; prints seconds, variances and steps.
const PROGRAM: &str = r#"
suppressMessages(library(lme4))
d <- read.csv(commandArgs(TRUE)[1])
d$session <- factor(d$session); d$end <- factor(d$end)
steps <- grep("^c", names(d), value = TRUE)
formula <- as.formula(paste("y ~", paste(steps, collapse = "+"), "+ (1 | session) + (1 | end)"))
seconds <- system.time(fit <- lmer(formula, d, REML = TRUE))[["elapsed"]]
v <- as.data.frame(VarCorr(fit))
of <- function(name) v$vcov[v$grp == name]
cat(seconds, of("session"), of("end"), of("Residual"), fixef(fit)[-1], sep = "\n")
"#;

fn main() -> ExitCode {
    println!(
        "{:>8} {:>8} {:>22} {:>22} {:>8}",
        "arrows", "changes", "effects, both axes", "lme4, both axes", "ratio"
    );
    let folder = tempfile::tempdir().expect("a folder can be made");
    let mut agree = true;
    for (sessions, ends, changes) in [(100, 20, 30), (500, 20, 30)] {
        let scenario =
            Scenario { ends, arrows: [5, 5], ..Scenario::usual("", sessions, changes, Changes::Inside) };
        let mut input = Drawn::new(&scenario, &mut Rng::new(Seed(7))).input;
        input.noise = Noise::Equal;
        let (ours, found) = median_of_seven(&input);
        let mut theirs = 0.0;
        for axis in [0, 1] {
            let file = folder.path().join("season.csv");
            fs::write(&file, table(&input, axis)).expect("a file can be written");
            let Some(fit) = fitted(&file) else {
                eprintln!("compare_lme4: Rscript with lme4 did not run; on Debian install r-cran-lme4");
                return ExitCode::from(2);
            };
            theirs += fit[0];
            agree &= agrees(&found, axis, &fit[1..]);
        }
        let arrows = sessions * ends * 5;
        println!("{arrows:>8} {changes:>8} {:>19.3} s {theirs:>20.2} s {:>8.0}", ours, theirs / ours);
    }
    println!("Shifts and variances {}.", if agree { "agree" } else { "DO NOT AGREE" });
    ExitCode::from(u8::from(!agree))
}

fn median_of_seven(input: &EffectsInput) -> (f64, Effects) {
    let mut found = effects(input).expect("a season");
    let mut took: Vec<f64> = (0..7)
        .map(|_| {
            let began = Instant::now();
            found = effects(input).expect("a season");
            began.elapsed().as_secs_f64()
        })
        .collect();
    took.sort_by(f64::total_cmp);
    (took[3], found)
}

/// Returns one row an arrow: its session, its end, its place in mrad, and 1 for every change that was before it.
fn table(input: &EffectsInput, axis: usize) -> String {
    let mut text = String::from("session,end,y");
    input.changes.iter().for_each(|c| write!(text, ",{}", c.id).expect("text takes it"));
    for group in &input.groups {
        let (session, end) = (group.session.as_deref().unwrap_or(""), group.end.as_deref().unwrap_or(""));
        let steps: String = input
            .changes
            .iter()
            .map(|c| if c.at.unix_ms() <= group.at.unix_ms() { ",1" } else { ",0" })
            .collect();
        for point in &group.points_mm {
            write!(text, "\n{session},{end},{}{steps}", point[axis] / group.distance_m)
                .expect("text takes it");
        }
    }
    text
}

/// Returns seconds, variances of session, end and arrow, and the steps.
fn fitted(file: &Path) -> Option<Vec<f64>> {
    let out = Command::new("Rscript").args(["-e", PROGRAM]).arg(file).output().ok()?;
    let text = String::from_utf8_lossy(&out.stdout);
    let numbers: Option<Vec<f64>> = text.split_whitespace().map(|word| word.parse().ok()).collect();
    numbers.filter(|n| out.status.success() && n.len() > 4)
}

fn agrees(found: &Effects, axis: usize, fit: &[f64]) -> bool {
    let close = |a: Option<f64>, b: f64, slack: f64| a.is_some_and(|a| (a - b).abs() <= slack);
    let variances = [found.var_session_mrad2[axis], found.var_end_mrad2[axis], found.var_noise_mrad2[axis]];
    let steps = found.effects.iter().map(|e| e.shift_mrad.map(|s| s[axis]));
    variances.into_iter().zip(fit).all(|(a, b)| close(a, *b, 1e-3 * b.abs() + 1e-6))
        && found.effects.len() == fit.len() - 3
        && steps.zip(&fit[3..]).all(|(a, b)| close(a, *b, 1e-4))
}
