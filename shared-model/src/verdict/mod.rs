//! Words for people: sentences for verdicts, the team report, terminal pictures.

mod altered;
mod answer;
mod arrow_set;
mod bare;
mod bow;
mod bow_sheet;
mod clash;
mod curve;
mod day;
mod dial;
mod dial_words;
mod far_off;
pub mod figures;
mod fits;
mod head;
mod latest;
mod limits;
mod looks;
mod luck;
mod marks;
mod moved;
mod numbered;
mod offer;
mod pairs;
mod part_words;
mod parts;
mod pictured;
mod plan;
pub mod plot;
mod rebuild;
mod rebuild_page;
mod report;
mod round;
mod sentence;
mod sight;
mod speed;
mod squad;
mod suits;
#[cfg(test)]
mod tests;
mod units;
mod walk;
mod wear;

pub use altered::{altered, changed, name_and_unit, quantity, unit_beside};
pub use answer::ArcherAnswer;
pub use arrow_set::{SetAsked, SetSheet, ShaftRow, set_sheet};
pub use bare::bare_sentences;
pub use bow::{ArcherVerdict, BowVerdict, Judged, bow_verdict, day_words, known_season};
pub use bow_sheet::{ArrowSet, BaselineRow, BowSheet, MarkRow, Said, SetupRow, bow_sheet};
pub use clash::{Clash, clashes};
pub use curve::{
    Beside, CurveAsked, CurveFigures, CurveRow, CurveSheet, CurveToDraw, PointRow, curve_plot, curve_sheet,
};
pub use day::last_days;
pub use dial::{ArcherDial, BowDial, bow_dial, dial_plot, dial_table};
pub use far_off::FarOff;
pub use fits::{CombinationRow, Fits, FitsAsked, LengthCell, RiserRow, fits};
pub use latest::{Latest, Lie};
pub use limits::{
    cautions_with, limits_after, limits_measured, limits_of, limits_when_counted, limits_when_shot,
};
pub use looks::look_note;
pub use luck::{Luck, luck};
pub use marks::{
    BowMarks, MarkSet, MarksAsked, NewMark, NotedRow, Strip, TableRow, bow_marks, mark_expected, the_one,
};
pub use moved::{gone_from, gone_words, moved};
pub use numbered::numbered_sentences;
pub use offer::{Offer, Offered, design_cost, offer};
pub use pairs::{PairAdvice, PairRow, PairSetting, Pairs, pair_advice, pair_beyond, pairs};
pub use parts::{PartRow, Parts, SpellRow, parts};
pub use pictured::{AxisBand, Pictured, pictured};
pub use plan::{NextEnd, PlanState, block_session, plan_state};
pub use rebuild::{
    OWN as OWN_TOLERANCE, RebuildAsked, RebuildRow, RebuildSheet, beyond_makers, full_name, measured_change,
    own_tolerances, rebuild_sheet, setting_amount,
};
pub use rebuild_page::{Opens, PageAbout, Paper, rebuild_html, rebuild_svg};
pub use report::{Look, PartOfReport, Reason, Report, Reporter, Row, report};
pub use round::expected_rounds;
pub use sentence::{Told, directed, list, sentence, upper_first};
pub(crate) use speed::speed_beyond;
pub use squad::{ArcherNow, Missing, ShotBow, Squad, SquadRow, archer_now, squad};
pub use suits::{BareAt, ByMass, SuitBow, Suits, suits};
pub use units::{Units, count, thousands, trimmed as decimal};
pub use walk::walk_sentences;
pub use wear::{Due, WearRow, WearSheet, practice_words, reminders_by, wear_sheet};
