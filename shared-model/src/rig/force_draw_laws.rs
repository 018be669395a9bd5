//! What holds of every draw curve that rises: weights stay between the measured ones and never fall, and the energy is that
//! of fine numerical integration.

use super::force_draw::DrawCurve;
use proptest::prelude::*;

/// Draws that rise by 0.1 to 4 in, weights that rise by 0 to 9 lbf.
fn rising() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    let steps = prop::collection::vec((0.1_f64..4.0, prop_oneof![Just(0.0), 0.0_f64..9.0]), 1..24);
    (6.0_f64..20.0, 0.0_f64..20.0, steps).prop_map(|(first, least, steps)| {
        let (mut draw, mut weight) = (vec![first], vec![least]);
        for (inches, lbf) in steps {
            draw.push(draw[draw.len() - 1] + inches);
            weight.push(weight[weight.len() - 1] + lbf);
        }
        (draw, weight)
    })
}

/// Integrates by Simpson's rule within each piece, in ft·lbf: exact for cubics up to rounding, and made of weights alone.
fn simpson(curve: &DrawCurve, draw: &[f64], to: f64) -> f64 {
    let at = |inches: f64| curve.at(inches).map_or(f64::NAN, |[lbf, _]| lbf);
    let piece = |a: f64, b: f64| {
        let n = 64;
        let h = (b - a) / f64::from(n);
        let inner: f64 = (1..n).map(|i| at(a + h * f64::from(i)) * if i % 2 == 0 { 2.0 } else { 4.0 }).sum();
        h / 3.0 * (at(a) + inner + at(b))
    };
    let pieces = draw.windows(2).filter(|pair| pair[0] < to).map(|pair| piece(pair[0], pair[1].min(to)));
    pieces.sum::<f64>() / 12.0
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn weights_rise_and_stay_between_the_measured_ones((draw, weight) in rising()) {
        let curve = DrawCurve::new(&draw, &weight).expect("a rising curve");
        for (d, w) in draw.windows(2).zip(weight.windows(2)) {
            let mut before = w[0];
            for i in 0..=40 {
                let inches = if i == 40 { d[1] } else { d[0] + (d[1] - d[0]) * f64::from(i) / 40.0 };
                let [lbf, slope] = curve.at(inches).expect("within");
                prop_assert!((w[0] - 1e-9..=w[1] + 1e-9).contains(&lbf), "{lbf} at {inches}");
                prop_assert!(lbf >= before - 1e-9 && slope >= -1e-9, "{before} to {lbf}, slope {slope}");
                before = lbf;
            }
        }
    }

    #[test]
    fn energy_is_that_of_fine_integration((draw, weight) in rising(), share in 0.0_f64..=1.0) {
        let curve = DrawCurve::new(&draw, &weight).expect("a rising curve");
        let [first, last] = curve.span_in();
        prop_assert!((curve.stored_energy_ftlbf() - simpson(&curve, &draw, last)).abs() < 1e-9);
        let to = (first + share * (last - first)).clamp(first, last);
        let stored = curve.stored_to_ftlbf(to).expect("within");
        prop_assert!((stored - simpson(&curve, &draw, to)).abs() < 1e-9, "{stored} up to {to}");
        let whole = curve.stored_to_ftlbf(last).expect("within");
        prop_assert!((whole - curve.stored_energy_ftlbf()).abs() < 1e-9);
    }
}
