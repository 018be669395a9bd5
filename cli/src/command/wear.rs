//! `sheaf wear`: how many arrows each part has seen, and which reminders are due.

use crate::{
    CliError, Env,
    args::Wear as Args,
    lookup,
    render::{self, Side, Table},
    store::Home,
};
use sheaf_model::verdict::{Due, WearRow, WearSheet, thousands, wear_sheet};

/// Prints what wears.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = args.bow.as_ref().map(|name| lookup::find(&home, "bow", name)).transpose()?;
    let sheet = wear_sheet(home.store(), bow.map(|bow| bow.id))?;
    if env.json {
        return env.print_json(&sheet);
    }
    if let Some(name) = &sheet.name {
        writeln!(env.out, "{}", render::tame(name))?;
    }
    if sheet.rows.is_empty() {
        writeln!(env.out, "Nothing is noted that wears.")?;
        return env.remark("`sheaf change elm string=\"red string\"` notes what is on a bow.");
    }
    table(&sheet).print(env)?;
    let due: Vec<String> = sheet
        .rows
        .iter()
        .filter(|row| matches!(row.due, Due::Soon | Due::Now))
        .filter_map(|row| row.reminder.clone())
        .collect();
    render::sentences(env, &due)?;
    hint(&sheet.rows, env)?;
    sheet.cautions.iter().try_for_each(|caution| env.caution(caution))
}

fn table(sheet: &WearSheet) -> Table {
    let mut table = Table::new(&[
        ("part", Side::Left),
        ("name", Side::Left),
        ("since", Side::Left),
        ("arrows", Side::Right),
        ("placed", Side::Right),
        ("counted", Side::Right),
        ("remind at", Side::Right),
        ("bows", Side::Left),
    ]);
    for row in &sheet.rows {
        let number = |n: u64| if n == 0 { String::new() } else { thousands(n) };
        table.row([
            row.part.clone(),
            row.name.clone(),
            row.since_day.clone(),
            thousands(row.arrows),
            number(row.placed),
            number(row.practice),
            row.remind_at.map(thousands).unwrap_or_default(),
            row.bows.join(", "),
        ]);
    }
    table
}

/// Says how a reminder is set, and how what is only named in words becomes a part.
fn hint(rows: &[WearRow], env: &mut Env<'_>) -> Result<(), CliError> {
    let unset = rows.iter().find(|row| row.due == Due::Unset && row.kind.is_some());
    if let (Some(kind), Some(row)) = (unset.and_then(|row| row.kind), unset) {
        env.remark(format!(
            "A reminder after so many arrows: `sheaf set {kind} {} remind_at_arrows=2500`.",
            quoted(&row.name)
        ))?;
    }
    let Some((row, change)) =
        rows.iter().find_map(|row| Some((row, row.change.filter(|_| row.kind.is_none())?)))
    else {
        return Ok(());
    };
    let what = if row.setting == "serving" || !sheaf_model::kind::WHAT.contains(&row.setting.as_str()) {
        "other"
    } else {
        &row.setting
    };
    env.remark(format!(
        "{} {} is only named in words. As a part it can have a reminder, and keeps its count: `sheaf add part \"NAME\" \
         --what {what}`, then `sheaf set change {} {}=\"NAME\"`.",
        sheaf_model::verdict::upper_first(&row.part),
        quoted(&row.name),
        change.short(),
        row.setting
    ))
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace(['"', '`'], "'"))
}
