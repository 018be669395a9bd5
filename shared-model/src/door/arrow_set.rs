//! `arrow-set` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    rig::{
        arrow::{foc_percent, ftlbf, grains_per_pound, kinetic_energy_j, momentum_kg_m_s},
        arrow_set::{
            MeanArrow, USUAL_AIR_KG_M3, USUAL_CD, nearest_in_mass, outlying, pairs, scale_step_gr, scatter,
        },
        spine::{older_deflection_in, older_pounds},
    },
};
use serde_json::{Map, Value, json};

pub(super) const HELP: &str = "\
Input
  shafts               a list, 1 to 1000, each any of: mass_gr, pile_gr, length_in,
                       balance_from_nock_in; numbered from 1 in this order
  keep                 how many to keep; pairs and the closest so many by mass
  step_gr              in what steps the scale shows; found from the masses when left out
  draw_weight_lbf      on the fingers
  speed_fps            of the mean arrow at release
  distance_m           a list of distances; needs speed_fps and diameter_mm
  diameter_mm          of the shaft
  cd                   drag coefficient on the shaft's cross-section; 2 when left out
  air_density_kg_m3    1.225 when left out
  spine                static spine, thousandths of an inch
Output
  mass_gr, pile_gr, balance_from_nock_in, foc_percent
                       each n, mean, sd, least, most, range; null of none
  foc_percent_each     of each shaft, or null
  step_gr              the step of the scale, or null where it does not show
  outlying             numbers whose mass is far from the middle, as the scale can show
  pairs, pairs_summed_gr, alone
                       pairs with the least summed difference of mass
  nearest, nearest_range_gr
                       the `keep` arrows nearest in mass
  grains_per_pound, kinetic_energy_j, kinetic_energy_ftlbf, momentum_kg_m_s
                       of the mean arrow
  height_mm            for each distance, of each shaft: above where the mean arrow lands; null of
                       one without a mass, or that does not get there
  older_deflection_in, older_pounds    the spine by the older test
Units
  as the names say; 1 gr = 64.79891 mg, 1 ft = 0.3048 m, 1 lbf = 4.4482216152605 N
Source
  outlying: Iglewicz and Hoaglin (1993). Heights: equal kinetic energy from the bow, an assumption
  of textbook mechanics; they are rather too large, since a heavier arrow takes somewhat more of it
  (common practice, no source). Point mass with quadratic drag, cd of 2 from memory (wind tunnels
  found about 1.5 to 2.6), air of ISO 2533 at sea level. Spine: ASTM F2031; the older test from
  memory (AMO). FOC: from memory (AMO); common practice, no source. Conversions: NIST SP 811. How
  light an arrow may be for a bow is the word of the makers of riser and limbs.
";

/// The most shafts and distances that one question may ask about, and the most of both multiplied.
const MOST: [usize; 3] = [1000, 20, 600];

/// One arrow: mass, pile, length, balance.
type Measures = [Option<f64>; 4];

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let field = root.need("shafts")?;
    let list = field.list()?;
    if list.is_empty() || list.len() > MOST[0] {
        return Err(
            field.wrong("out_of_range", format_args!("has {} shafts; give 1 to {}", list.len(), MOST[0]))
        );
    }
    let shafts = list.iter().map(measures).collect::<Result<Vec<Measures>, _>>()?;
    let mut found = figures(&shafts);
    let masses: Vec<(u32, f64)> = (1..).zip(&shafts).filter_map(|(n, s)| Some((n, s[0]?))).collect();
    choices(&root, &masses, &mut found)?;
    bow(&root, &masses, &mut found)?;
    flight(&root, &masses, shafts.len(), &mut found)?;
    if let Some(spine) = root.find("spine") {
        let spine = spine.number_within(100.0, 2000.0)?;
        found.insert("older_deflection_in".into(), json!(older_deflection_in(spine)));
        found.insert("older_pounds".into(), json!(older_pounds(spine)));
    }
    write::output(&found)
}

fn number(root: &Field<'_>, name: &str, most: f64) -> Result<Option<f64>, ModelError> {
    let Some(field) = root.find(name) else { return Ok(None) };
    let value = field.number_above_zero()?;
    if value <= most {
        return Ok(Some(value));
    }
    Err(field.wrong("out_of_range", format_args!("is {value}; at most {most}. Is it in another unit?")))
}

fn measures(shaft: &Field<'_>) -> Result<Measures, ModelError> {
    let read = [
        number(shaft, "mass_gr", 3000.0)?,
        number(shaft, "pile_gr", 3000.0)?,
        number(shaft, "length_in", 60.0)?,
        number(shaft, "balance_from_nock_in", 60.0)?,
    ];
    if let [_, _, Some(length), Some(balance)] = read
        && balance > length
    {
        return Err(shaft.wrong(
            "out_of_range",
            format_args!(
                "balances at {balance} in, beyond its {length} in; measure both from the nock groove"
            ),
        ));
    }
    Ok(read)
}

fn figures(shafts: &[Measures]) -> Map<String, Value> {
    let of = |i: usize| scatter(&shafts.iter().filter_map(|s| s[i]).collect::<Vec<_>>());
    let foc: Vec<Option<f64>> = shafts.iter().map(|s| Some(foc_percent(s[2]?, s[3]?))).collect();
    let mut found = Map::new();
    found.insert("mass_gr".into(), json!(of(0)));
    found.insert("pile_gr".into(), json!(of(1)));
    found.insert("balance_from_nock_in".into(), json!(of(3)));
    found.insert("foc_percent".into(), json!(scatter(&foc.iter().flatten().copied().collect::<Vec<_>>())));
    found.insert("foc_percent_each".into(), json!(foc));
    found
}

fn choices(
    root: &Field<'_>,
    masses: &[(u32, f64)],
    found: &mut Map<String, Value>,
) -> Result<(), ModelError> {
    let values: Vec<f64> = masses.iter().map(|(_, mass)| *mass).collect();
    let step = number(root, "step_gr", 100.0)?.or_else(|| scale_step_gr(&values));
    let paired = pairs(masses);
    found.insert("step_gr".into(), json!(step));
    found.insert("outlying".into(), json!(outlying(masses, step.unwrap_or(0.0))));
    found.insert("pairs".into(), json!(paired.pairs));
    found.insert("pairs_summed_gr".into(), json!(paired.summed_gr));
    found.insert("alone".into(), json!(paired.alone));
    if let Some(field) = root.find("keep") {
        let keep = field.count()?;
        let best = nearest_in_mass(masses, keep).ok_or_else(|| {
            field.wrong("out_of_range", format_args!("is {keep}; {} shafts have a mass", masses.len()))
        })?;
        found.insert("nearest".into(), json!(best.numbers));
        found.insert("nearest_range_gr".into(), json!(best.range_gr));
    }
    Ok(())
}

/// What the mean arrow is from a bow.
fn bow(root: &Field<'_>, masses: &[(u32, f64)], found: &mut Map<String, Value>) -> Result<(), ModelError> {
    let (weight, speed) = (number(root, "draw_weight_lbf", 200.0)?, number(root, "speed_fps", 650.0)?);
    let mean = scatter(&masses.iter().map(|(_, mass)| *mass).collect::<Vec<_>>()).map(|s| s.mean);
    let mut put = |name: &str, value: Value| found.insert(name.to_owned(), value);
    if let (Some(mass), Some(weight)) = (mean, weight) {
        put("grains_per_pound", json!(grains_per_pound(mass, weight)));
    }
    if let (Some(mass), Some(speed)) = (mean, speed) {
        let joules = kinetic_energy_j(mass, speed);
        put("kinetic_energy_j", json!(joules));
        put("kinetic_energy_ftlbf", json!(ftlbf(joules)));
        put("momentum_kg_m_s", json!(momentum_kg_m_s(mass, speed)));
    }
    Ok(())
}

fn flight(
    root: &Field<'_>,
    masses: &[(u32, f64)],
    shafts: usize,
    found: &mut Map<String, Value>,
) -> Result<(), ModelError> {
    let mean = scatter(&masses.iter().map(|(_, mass)| *mass).collect::<Vec<_>>()).map(|s| s.mean);
    let Some(field) = root.find("distance_m") else { return Ok(()) };
    let distances = field.numbers(1)?;
    if distances.len() > MOST[1] || distances.len() * masses.len() > MOST[2] {
        let why = format_args!(
            "has {} distances for {} shafts; at most {} distances, and {} of both multiplied",
            distances.len(),
            masses.len(),
            MOST[1],
            MOST[2]
        );
        return Err(field.wrong("too_many", why));
    }
    let Some(mass_gr) = mean else {
        return Err(root
            .need("shafts")?
            .wrong("missing_field", "has no mass_gr, without which nothing flies"));
    };
    let arrow = mean_arrow(root, mass_gr)?;
    let heights = distances
        .iter()
        .enumerate()
        .map(|(i, at)| heights_mm(&arrow, masses, shafts, *at).map_err(|e| placed(e, i)));
    let heights = heights.collect::<Result<Vec<_>, _>>()?;
    found.insert("height_mm".into(), json!(heights));
    Ok(())
}

fn mean_arrow(root: &Field<'_>, mass_gr: f64) -> Result<MeanArrow, ModelError> {
    let within = |name, usual, most| {
        root.find(name).map_or(Ok(usual), |field: Field<'_>| field.number_within(0.0, most))
    };
    Ok(MeanArrow {
        mass_gr,
        speed_fps: root.need("speed_fps")?.number()?,
        diameter_mm: root.need("diameter_mm")?.number()?,
        cd: within("cd", USUAL_CD, 20.0)?,
        air_density_kg_m3: within("air_density_kg_m3", USUAL_AIR_KG_M3, 2.0)?,
    })
}

/// Returns the height of each shaft at a distance; nothing of one without a mass, or that does not get there.
fn heights_mm(
    arrow: &MeanArrow,
    masses: &[(u32, f64)],
    shafts: usize,
    distance_m: f64,
) -> Result<Vec<Option<f64>>, ModelError> {
    let mut at = vec![None; shafts];
    if let Some(angle) = arrow.level_angle_deg(distance_m)? {
        for (number, mass) in masses {
            at[*number as usize - 1] = arrow.height_from_mm(angle, *mass, distance_m)?;
        }
    }
    Ok(at)
}

/// Names the field of this method for one of the flight's.
fn placed(e: ModelError, i: usize) -> ModelError {
    match e.field.as_deref() {
        Some("x_m" | "distance_m") => e.at(format!("distance_m[{i}]")),
        Some("mass_g") => e.at("shafts"),
        Some("speed_m_s") => e.at("speed_fps"),
        _ => e,
    }
}
