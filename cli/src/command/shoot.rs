//! `sheaf shoot`: a group at the range, quick to type.

use crate::{
    CliError, Env,
    args::Shoot,
    assumed::{arrows_of, face_of, last_arrows, last_distance, last_group, last_or_only_bow, last_sight},
    lookup::{self, Named},
    mended, picture, planned, render, scoring,
    store::Home,
    when,
    words::{distance_words, middle},
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{
    ModelError,
    face::Face,
    id::ThingId,
    kind::{self, Group},
    notation::{Length, Shot, distance_m, looks_like_distance, looks_like_shot, shots},
    records::left_out,
    stats::group::{GroupFigures, group as figures_of},
    verdict::{cautions_with, limits_when_shot, reminders_by},
};

/// Records one group, or one a line until an empty line when no shots are given.
pub fn run(args: &Shoot, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let (frame, typed) = Frame::new(&home, args, env)?;
    remark_on_face(&frame, env)?;
    if !typed.is_empty() {
        let kept = keep(&mut home, &frame, &typed.join(" "), args, env)?;
        return answer(&[kept], &frame, env);
    }
    if env.interactive && !env.json {
        env.remark(format!("{}. One end a line; an empty line ends.", frame.words()))?;
    }
    let (kept, failed) = keep_lines(&mut home, &frame, args, env)?;
    if kept.is_empty() && failed.is_none() {
        return Err(CliError::input("no shots were given")
            .hint("write them like 9@4:30 X@12 M, or 12,-31 in mm from the centre"));
    }
    answer(&kept, &frame, env)?;
    failed.map_or(Ok(()), Err)
}

/// Says that the face was guessed from another distance, and what to do where the guess is wrong.
fn remark_on_face(frame: &Frame, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(from_m) = frame.face_from_m else { return Ok(()) };
    env.remark(format!(
        "Note: nothing was shot at {} yet, so the face is taken from {}: {}. If it was another, `sheaf set group last \
         face=CODE shots=\"…\"` enters them anew.",
        distance_words(frame.distance_m),
        distance_words(from_m),
        frame.face_code
    ))
}

/// Keeps an end a line, until an empty one or one that fails; returns what was kept and why it ended early.
fn keep_lines(
    home: &mut Home,
    frame: &Frame,
    args: &Shoot,
    env: &mut Env<'_>,
) -> Result<(Vec<Kept>, Option<CliError>), CliError> {
    let mut kept = Vec::new();
    while let Some(line) = next_line(kept.len() + 1, env)? {
        match keep(home, frame, &line, args, env) {
            Ok(one) => kept.push(one),
            // A slip in one end is told at once; the ends before it are kept, and the line can be typed again.
            Err(e @ CliError::Input(_)) if env.interactive => {
                env.remark(format!("{e}; nothing of this end was kept"))?
            }
            Err(e) => {
                let (end, before) = (kept.len() + 1, render::count(kept.len(), "end"));
                let failed = e.hint(format!(
                    "this was end {end}: kept {before} before it, and nothing from it on; send it and those after it again"
                ));
                return Ok((kept, Some(failed)));
            }
        }
    }
    Ok((kept, None))
}

/// Reads the line of an end; none where the input ends or the line is empty.
fn next_line(end: usize, env: &mut Env<'_>) -> Result<Option<String>, CliError> {
    if env.interactive {
        write!(env.err, "end {end}> ")?;
        env.err.flush()?;
    }
    let mut line = String::new();
    env.input.read_line(&mut line).map_err(|e| CliError::input(format!("the input cannot be read: {e}")))?;
    Ok(Some(line.trim().to_owned()).filter(|line| !line.is_empty()))
}

/// What all ends of one call share.
struct Frame {
    bow: Named,
    distance_m: f64,
    face: Face,
    face_code: String,
    /// The distance from which the face is taken, where none was shot at this one yet.
    face_from_m: Option<f64>,
    arrows: Option<(ThingId, String)>,
    shaft_mm: f64,
    archer: ThingId,
    at: Option<String>,
    assumed: Vec<String>,
    /// The name for where the sight stands.
    sight: Option<String>,
    /// The plan under which it is shot.
    plan: Option<String>,
}

/// A group that is on the disk.
struct Kept {
    id: ThingId,
    json: Value,
    text: Vec<String>,
    /// What to look after, said once.
    care: Vec<String>,
}

impl Frame {
    /// Reads bow, distance and so on from what was typed, or from the group before; returns the words that
    /// are left, which are shots.
    fn new<'a>(home: &Home, args: &'a Shoot, env: &Env<'_>) -> Result<(Self, &'a [String]), CliError> {
        let mut words = args.words.as_slice();
        let last = last_group(home)?.unwrap_or_default();
        let mut assumed = Vec::new();
        let bow = match words.first().filter(|w| !looks_like_shot(w) && !looks_like_distance(w)) {
            Some(name) => {
                words = &words[1..];
                lookup::find(home, "bow", name)?
            }
            None => last_or_only_bow(home, last.bow, &mut assumed)?,
        };
        let distance_m = match words.first().filter(|w| !looks_like_shot(w) && looks_like_distance(w)) {
            Some(typed) => {
                words = &words[1..];
                distance_m(typed).map_err(|e| no_distance(typed, e))?
            }
            None => last_distance(&last, &mut assumed)?,
        };
        let archer = match &args.archer {
            Some(name) => lookup::find(home, "person", name)?.id,
            None => home.card().person,
        };
        let walks = Group { sight: args.sight.clone(), ..Group::default() }.is_walk_back();
        let place = (archer, distance_m, walks);
        let (face_code, face, face_from_m) = face_of(home, args.face.as_deref(), place, &last, &mut assumed)?;
        let before = last_arrows(home, (bow.id, archer), &last)?;
        let arrows = arrows_of(home, args.arrows.as_deref(), before, &mut assumed)?;
        let shaft_mm = scoring::shaft_mm(home, arrows.as_ref().map(|(id, _)| *id))?;
        let at = args.at.as_deref().map(|typed| when::read(typed, env)).transpose()?;
        let sight = match &args.sight {
            Some(label) => Some(label.trim().to_owned()).filter(|label| !label.is_empty()),
            None => last_sight(home, (bow.id, archer, distance_m), &mut assumed)?,
        };
        let plan = args.plan.clone();
        #[rustfmt::skip]
        let frame = Self {
            bow, distance_m, face, face_code, face_from_m, arrows, shaft_mm, archer, at, assumed, sight, plan,
        };
        Ok((frame, words))
    }

    fn words(&self) -> String {
        let arrows = self.arrows.as_ref().map_or(String::new(), |(_, name)| format!(", {name}"));
        format!("{} at {} on {}{arrows}", self.bow.name, distance_words(self.distance_m), self.face_code)
    }
}

/// Says what a number that stands alone can have been meant as: a distance, or a ring.
fn no_distance(typed: &str, e: ModelError) -> CliError {
    match typed.parse::<f64>() {
        Ok(_) => CliError::input(format!("`{typed}` alone is neither a distance nor a shot")).hint(format!(
            "a distance has its unit, like {typed}m or {typed}yd; a ring needs its clock position, like {typed}@4:30 \
             (where on the face it struck, as on a clock)"
        )),
        Err(_) => e.into(),
    }
}

fn keep(
    home: &mut Home,
    frame: &Frame,
    typed: &str,
    args: &Shoot,
    env: &mut Env<'_>,
) -> Result<Kept, CliError> {
    let shots = shots(typed, &frame.face, Length::Mm)?;
    let at = match &frame.at {
        Some(at) => at.clone(),
        None => when::now(env)?,
    };
    let mut group = group_of(frame, &shots, args, at)?;
    group.check()?;
    let ticked = frame.plan.as_ref().map(|name| tick(home, name, &mut group)).transpose()?;
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &group)?])?;
    let mut kept = describe(id, frame, &shots, &group, args.plot, env)?;
    kept.text.extend(ticked);
    let (beyond, count) = scoring::beyond_set(home, &group)?;
    kept.text.extend(beyond.iter().map(|n| {
        format!("  Note: there is no arrow {n} by the records: the set has {count} (`sheaf set arrows NAME count=N`).")
    }));
    kept.json["beyond_set"] = json!(beyond);
    kept.care = care(home, frame.bow.id, id)?;
    kept.json["cautions"] = json!(kept.care);
    Ok(kept)
}

/// Returns the reminders that a group made due, and what lies beyond a limit where it is said with a group.
fn care(home: &Home, bow: ThingId, id: ThingId) -> Result<Vec<String>, CliError> {
    let mut care = reminders_by(home.store(), id)?;
    let found = limits_when_shot(home.store(), bow, id)?;
    care.extend(cautions_with::<&str>(&found, &[]));
    Ok(care)
}

/// Marks a group as the next end of its plan; returns what that is in words.
fn tick(home: &Home, name: &str, group: &mut Group) -> Result<String, CliError> {
    let (plan, end) = planned::tick(home, name, group)?;
    let ends = plan.order.as_ref().map_or(0, String::len);
    let mut words = format!("It is end {} of {ends} of the plan {name}, setup {}.", end.place + 1, end.setup);
    if end.anew {
        words.push_str(" Its block begins anew: what was shot of it before was not shot on this day with this sight, arrows and setup.");
    }
    let counted = group.counted_mm().len();
    if plan.arrows_per_end.is_some_and(|planned| counted < planned as usize) {
        let planned = render::count(plan.arrows_per_end.unwrap_or_default() as usize, "arrow");
        words.push_str(&format!(
            " It counts with {}; the plan has ends of {planned}.",
            render::count(counted, "arrow")
        ));
    }
    Ok(words)
}

fn group_of(frame: &Frame, shots: &[Shot], args: &Shoot, at: String) -> Result<Group, CliError> {
    let marked = |given: &[u32], typed: Option<Vec<u32>>| -> Result<Option<Vec<u32>>, CliError> {
        let mut list = typed.unwrap_or_default();
        for n in given {
            match n.checked_sub(1).filter(|i| (*i as usize) < shots.len()) {
                Some(i) => list.push(i),
                None => {
                    return Err(CliError::input(format!(
                        "there is no arrow number {n} among the {} typed",
                        shots.len()
                    )));
                }
            }
        }
        list.sort_unstable();
        list.dedup();
        Ok((!list.is_empty()).then_some(list))
    };
    let typed = mended::arrows_of(shots);
    let face = to_raw_value(&frame.face_code)
        .map_err(|e| CliError::bug(format!("the face cannot be written: {e}")))?;
    Ok(Group {
        bow: Some(frame.bow.id),
        archer: Some(frame.archer),
        arrows: frame.arrows.as_ref().map(|(id, _)| *id),
        at: Some(at),
        session: args.session.clone(),
        end: args.end.clone(),
        distance_m: Some(frame.distance_m),
        face: Some(face),
        flyers: marked(&args.flyer, typed.flyers)?,
        bare: marked(&args.bare, typed.bare)?,
        sight: frame.sight.clone(),
        note: args.note.clone(),
        points_mm: typed.points_mm,
        arrow_numbers: typed.arrow_numbers,
        ..Group::default()
    })
}

fn describe(
    id: ThingId,
    frame: &Frame,
    shots: &[Shot],
    group: &Group,
    plot: bool,
    env: &Env<'_>,
) -> Result<Kept, CliError> {
    let points = group.counted_mm();
    let off = scoring::off_face(group, &frame.face, frame.shaft_mm);
    let figures = if points.is_empty() { None } else { Some(figures_of(&points, group.distance_m, 0.95)?) };
    let mut text = told(frame, shots, group, &off, figures.as_ref());
    if plot {
        text.push(picture::group(group, Some(&frame.face), env));
    }
    let json = json!({
        "id": id, "bow": frame.bow.id, "at": group.at, "distance_m": group.distance_m, "face": frame.face_code,
        "points_mm": group.points_mm, "assumed": frame.assumed, "off_face": off,
        "mean_mm": figures.as_ref().map(|f| f.mpi_mm), "mean_radius_mm": figures.as_ref().map(|f| f.mean_radius_mm),
    });
    Ok(Kept { id, json, text, care: Vec::new() })
}

/// Says what was kept: where it lies, how wide it is, and what does not count.
fn told(
    frame: &Frame,
    shots: &[Shot],
    group: &Group,
    off: &[usize],
    figures: Option<&GroupFigures>,
) -> Vec<String> {
    let counted = group.counted_mm().len();
    let mut text = vec![format!(
        "Kept: {}, {}, {}.",
        render::count(shots.len(), "arrow"),
        frame.words(),
        when::shown(group.at.as_deref())
    )];
    if !frame.assumed.is_empty() {
        text.push(format!("  As the last time: {}.", frame.assumed.join(", ")));
    }
    if let Some(f) = figures {
        let spread = if counted > 1 {
            format!(",\n  mean radius {} mm", render::number(f.mean_radius_mm, 1))
        } else {
            String::new()
        };
        text.push(format!("  {}{spread}.", middle(f.mpi_mm, counted)));
    }
    let off = off.iter().map(|n| {
        format!("  Arrow {n} lies off the scoring rings: it is kept where it is and scores as a miss.")
    });
    text.extend(off);
    text.extend(left_out(group).into_iter().map(|said| format!("  {said}")));
    text
}

fn answer(kept: &[Kept], frame: &Frame, env: &mut Env<'_>) -> Result<(), CliError> {
    for one in kept {
        let mend = format!("sheaf set group {} at=\"2026-04-12 10:30\"", one.id.short());
        frame.at.iter().try_for_each(|at| when::remark_if_ahead(at, &mend, env))?;
    }
    lookup::remark_if_retired(&frame.bow, env)?;
    if env.json {
        let groups: Vec<&Value> = kept.iter().map(|k| &k.json).collect();
        return env.print_json(&json!({"groups": groups}));
    }
    for line in kept.iter().flat_map(|k| &k.text) {
        writeln!(env.out, "{line}")?;
    }
    kept.iter().flat_map(|k| &k.care).try_for_each(|words| env.remark(words))
}
