//! `sheaf rebuild`: how a bow is put back as it was, what was measured kept, and the sheet on paper.

use crate::{
    CliError, Env,
    args::{PaperArg, Rebuild as Args},
    lookup::{self, Named},
    remote::Remote,
    render::{self, Side, Table},
    store::{Home, spare},
    when,
    words::{altered_json, altered_words},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, Change},
    moment::Moment,
    records::{PartNews, part_news},
    timeline::Altered,
    verdict::{
        Opens, PageAbout, Paper, RebuildAsked, RebuildSheet, day_words, measured_change, rebuild_html,
        rebuild_sheet, rebuild_svg,
    },
};
use std::path::{Path, PathBuf};

/// Prints the sheet of a bow in the order of the work, with what was measured beside it.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    goes_with_keep(args)?;
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let baseline = args.baseline.as_deref().map(|name| lookup::baseline(&home, &bow, name)).transpose()?;
    let typed = args.values.iter().map(|pair| measured(pair)).collect::<Result<Vec<_>, _>>()?;
    let asked = RebuildAsked {
        bow: bow.id,
        baseline: baseline.map(|named| named.id),
        typed: &typed,
        units: lookup::units(&args.scale),
        offset_min: Moment::read(&when::now(env)?)?.offset_min(),
        me: Some(home.card().person),
        at: args
            .at
            .as_deref()
            .map(|typed| Moment::read(&when::read(typed, env)?).map_err(CliError::from))
            .transpose()?,
    };
    let print =
        args.print.as_deref().map(|file| Ending::of(file).map(|ending| (file, ending))).transpose()?;
    let sheet = rebuild_sheet(home.store(), &asked)?;
    let kept = if args.keep { Some(to_keep(&home, &asked, env)?) } else { None };
    // Before anything is kept: a file that cannot be written is said first.
    let printed = print.map(|(file, ending)| printed(file, ending, &sheet, &home, args, env)).transpose()?;
    let kept = kept.map(|kept| kept.written(&mut home, &bow, args, env)).transpose()?;
    if env.json {
        return env.print_json(&answer(&sheet, printed.as_deref(), kept.as_ref())?);
    }
    if printed.is_none() {
        show(&sheet, env)?;
    }
    match kept {
        Some(kept) => told_kept(&kept, &bow, &home, env),
        None => Ok(()),
    }
}

/// Refuses what goes with keeping where nothing is to be kept.
fn goes_with_keep(args: &Args) -> Result<(), CliError> {
    if let Some(option) =
        args.at.as_ref().map(|_| "--at").or(args.note.as_ref().map(|_| "--note")).filter(|_| !args.keep)
    {
        return Err(CliError::input(format!("{option} goes with --keep: without it nothing is kept"))
            .hint(format!("add --keep to keep what was measured, or leave {option} out")));
    }
    Ok(())
}

fn answer(sheet: &RebuildSheet, files: Option<&[PathBuf]>, kept: Option<&Kept>) -> Result<Value, CliError> {
    let mut answer = serde_json::to_value(sheet)
        .map_err(|e| CliError::bug(format!("the sheet cannot be written as JSON: {e}")))?;
    if let Some(files) = files {
        answer["files"] = files.iter().map(|file| file.display().to_string()).collect();
    }
    if let Some(kept) = kept {
        let altered: Vec<Value> = kept.altered.iter().map(altered_json).collect();
        answer["kept"] = json!({"change": kept.change, "altered": altered});
    }
    Ok(answer)
}

fn show(sheet: &RebuildSheet, env: &mut Env<'_>) -> Result<(), CliError> {
    let day = sheet.day.as_ref().map_or_else(String::new, |day| format!(", {day}"));
    writeln!(env.out, "{}{day}", render::tame(&sheet.title))?;
    writeln!(env.out, "{}", render::fitted(&render::tame(&sheet.head), env.width))?;
    for sentence in &sheet.elsewhere {
        writeln!(env.out, "{}", render::fitted(&render::tame(sentence), env.width))?;
    }
    if sheet.rows.is_empty() {
        return env.remark("`sheaf change` notes what is on a bow.");
    }
    table(sheet).print(env)?;
    if let Some(own) = &sheet.own_tolerances {
        writeln!(env.out, "{}", render::fitted(&format!("{own} The others: {}.", sheet.source), env.width))?;
    }
    print_work(sheet, env)?;
    sheet.rows.iter().flat_map(|row| &row.beyond).try_for_each(|words| env.remark(words))?;
    sheet.cautions.iter().try_for_each(|caution| env.caution(caution))
}

/// Reads `setting=measured`; a second equals sign, as `sheaf change` takes it before a negative value, is none of it.
fn measured(pair: &str) -> Result<(String, String), CliError> {
    let (setting, typed) = pair.split_once('=').ok_or_else(|| {
        CliError::input(format!("`{pair}` is no setting with what it measures"))
            .hint("write it like brace_height=213")
    })?;
    let typed = typed.strip_prefix('=').unwrap_or(typed).trim();
    if typed.is_empty() {
        return Err(CliError::input(format!("`{pair}` gives no value")));
    }
    Ok((setting.to_owned(), typed.to_owned()))
}

fn table(sheet: &RebuildSheet) -> Table {
    let mut table = Table::new(&[
        ("setting", Side::Left),
        ("as it was", Side::Right),
        ("tolerance", Side::Right),
        ("measured", Side::Right),
        ("off", Side::Right),
        ("", Side::Left),
    ]);
    for row in &sheet.rows {
        let right = match row.ok {
            Some(true) => "right",
            Some(false) => "off",
            None => "",
        };
        let own = if row.tolerance_source == sheet.source { "" } else { " own" };
        table.row([
            row.name.clone(),
            row.target.clone(),
            format!("{}{own}", row.tolerance),
            row.measured.clone().unwrap_or_default(),
            row.off.clone().unwrap_or_default(),
            right.to_owned(),
        ]);
    }
    table
}

/// Prints what there is to know of each setting, how it is measured and what it moves; of those that are right the first
/// alone.
fn print_work(sheet: &RebuildSheet, env: &mut Env<'_>) -> Result<(), CliError> {
    writeln!(env.out, "\nIn this order ({}):", sheet.source)?;
    for row in &sheet.rows {
        let todo = row.ok != Some(true) || row.first.is_some();
        let mut said = row.notes.clone();
        if todo {
            said.push(row.how.to_owned());
            said.extend((!row.disturbs.is_empty()).then(|| format!("It {}.", row.disturbs)));
            said.extend(row.first.iter().map(|first| format!("Here {first}.")));
        }
        if !said.is_empty() {
            render::sentences(env, &[format!("{}: {}", row.name, said.join(" "))])?;
        }
    }
    Ok(())
}

/// What was kept of what was measured.
struct Kept {
    /// The change; none where all of it is noted so already.
    change: Option<ThingId>,
    at: String,
    altered: Vec<Altered>,
    /// What there is to know of the parts, as it was before the change.
    news: Vec<PartNews>,
}

/// Returns what was measured and is otherwise than noted.
fn to_keep(home: &Home, asked: &RebuildAsked<'_>, env: &Env<'_>) -> Result<Kept, CliError> {
    let at = asked.at.map_or_else(|| when::now(env), |at| Ok(at.rfc3339()))?;
    let altered = measured_change(home.store(), asked, Moment::read(&at)?)?;
    let news = part_news(home.store(), asked.bow, &altered)?;
    Ok(Kept { change: None, at, altered, news })
}

impl Kept {
    /// Writes it as one change.
    fn written(
        mut self,
        home: &mut Home,
        bow: &Named,
        args: &Args,
        env: &mut Env<'_>,
    ) -> Result<Self, CliError> {
        if self.altered.is_empty() {
            return Ok(self);
        }
        let mut change = Change {
            bow: Some(bow.id),
            at: Some(self.at.clone()),
            by: Some(home.card().person),
            note: args.note.clone(),
            ..Change::default()
        };
        self.altered.iter().for_each(|a| change.set(&a.setting, a.after.clone()));
        let id = env.thing_id();
        home.record(env, vec![kind::draft(id, &change)?])?;
        lookup::remark_if_retired(bow, env)?;
        if args.at.is_some() {
            let mend = format!("sheaf set change {} at=\"2026-04-12 10:30\"", id.short());
            when::remark_if_ahead(&self.at, &mend, env)?;
        }
        self.change = Some(id);
        Ok(self)
    }
}

fn told_kept(kept: &Kept, bow: &Named, home: &Home, env: &mut Env<'_>) -> Result<(), CliError> {
    if kept.change.is_none() {
        writeln!(env.out, "\nWhat was measured is what is noted: there is nothing to keep.")?;
        return Ok(());
    }
    let names = lookup::names(home, lookup::NAMED)?;
    let words: Vec<String> = kept.altered.iter().map(|a| altered_words(a, &names)).collect();
    let told = format!("Kept: {}, {}: {}.", bow.name, when::shown(Some(&kept.at)), words.join(", "));
    writeln!(env.out, "\n{}", render::fitted(&render::tame(&told), env.width))?;
    kept.news.iter().try_for_each(|news| env.remark(format!("Note: {}", news.words())))
}

/// As what a sheet is written.
#[derive(Clone, Copy)]
enum Ending {
    Html,
    Svg,
}

impl Ending {
    fn of(file: &Path) -> Result<Self, CliError> {
        let ending = file.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
        match ending.as_deref() {
            Some("html" | "htm") => Ok(Self::Html),
            Some("svg") => Ok(Self::Svg),
            _ => Err(CliError::input(format!("{} ends in nothing that a sheet can be", file.display()))
                .hint("a sheet is written as .html, which a browser prints, or as .svg of true size")),
        }
    }
}

/// Writes the sheet to be printed; returns the files, of which an SVG of several pages has one a page.
fn printed(
    file: &Path,
    ending: Ending,
    sheet: &RebuildSheet,
    home: &Home,
    args: &Args,
    env: &mut Env<'_>,
) -> Result<Vec<PathBuf>, CliError> {
    let now = Moment::read(&when::now(env)?)?;
    let names = lookup::names(home, &["person"])?;
    let card = home.card();
    let about = PageAbout {
        team: card.team_name.clone(),
        who: names.get(&card.person).cloned().unwrap_or_else(|| card.person.short()),
        day: day_words(&now.day()),
        opens: opens(home, sheet.bow, args.link.as_deref(), env)?,
        paper: if args.paper == PaperArg::Letter { Paper::Letter } else { Paper::A4 },
    };
    let pages = match ending {
        Ending::Html => vec![rebuild_html(sheet, &about)],
        Ending::Svg => rebuild_svg(sheet, &about),
    };
    let files: Vec<PathBuf> = (0..pages.len()).map(|page| page_file(file, page)).collect();
    files.iter().try_for_each(|file| spare(file, args.replace))?;
    for (file, page) in files.iter().zip(&pages) {
        std::fs::write(file, page).map_err(|e| CliError::file("write", file, &e))?;
    }
    let named: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
    env.remark(format!("Wrote {}: {}.", named.join(", "), sheet.title))?;
    Ok(files)
}

/// Returns the file of a page: the one that was named, then `sheet-2.svg` and so on.
fn page_file(file: &Path, page: usize) -> PathBuf {
    if page == 0 {
        return file.to_owned();
    }
    let mut name = file.file_stem().unwrap_or_default().to_owned();
    name.push(format!("-{}", page + 1));
    if let Some(ending) = file.extension() {
        name.push(".");
        name.push(ending);
    }
    file.with_file_name(name)
}

/// Returns what the code of the sheet opens: the bow on the team's server, unless a link was typed.
fn opens(home: &Home, bow: ThingId, link: Option<&str>, env: &mut Env<'_>) -> Result<Opens, CliError> {
    if let Some(link) = link {
        return Ok(Opens::link(link)?);
    }
    let Some(server) = &home.card().server else {
        env.remark(
            "This team is on no server yet, so there is no QR code on the sheet: `sheaf connect` moves it onto one, and \
             --link gives another address.",
        )?;
        return Ok(Opens::Nothing("This team is on no server yet, so there is no code to scan.".into()));
    };
    if Remote::means_here(&server.url) {
        env.remark(format!(
            "Note: {} means this machine only, so the code opens the bow on no phone; give the address that phones use \
             with --link.",
            server.url
        ))?;
    }
    Ok(Opens::link(&format!("{}/#bow?bow={bow}", server.url.trim_end_matches('/')))?)
}
