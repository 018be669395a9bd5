//! Tail probabilities and quantiles of Student's t and Fisher's F.
//!
//! # Formula
//! Both tails are regularised incomplete beta functions: P(|T| > t) = I(df/2, 1/2; df/(df + t^2)),
//! P(F > f) = I(d2/2, d1/2; d2/(d2 + d1 f)); P(χ² > x) = Q(df/2, x/2). With a noncentrality λ,
//! P(F > f) = Σ_j e^(−λ/2) (λ/2)^j / j! · I(d2/2, d1/2 + j; d2/(d2 + d1 f)).
//! # Units
//! None.
//! # Source
//! Abramowitz and Stegun, Handbook of Mathematical Functions, 26.5.27, 26.6.2 and 26.6.18.
//! # Limits
//! Degrees of freedom above 0; `None` where the value is no finite number.

use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::{beta::checked_beta_reg, gamma::checked_gamma_ur};

/// Above this Student's t is the normal distribution to double precision.
const NORMAL_FROM: f64 = 1e10;
/// The largest noncentrality whose tail is summed.
const MOST_NONCENTRALITY: f64 = 1e6;

/// Returns P(|T| > |t|).
pub(crate) fn t_two_sided(t: f64, df: f64) -> Option<f64> {
    if !t.is_finite() || df.is_nan() || df <= 0.0 {
        return None;
    }
    if df >= NORMAL_FROM {
        return Some(libm::erfc(t.abs() / std::f64::consts::SQRT_2));
    }
    let x = df / (df + t * t);
    // Close to the centre 1 - x keeps the digits that x has lost.
    let p = if x > 0.5 {
        1.0 - checked_beta_reg(0.5, 0.5 * df, t * t / (df + t * t)).ok()?
    } else {
        checked_beta_reg(0.5 * df, 0.5, x).ok()?
    };
    p.is_finite().then_some(p.clamp(0.0, 1.0))
}

/// Returns P(X > x) of the chi-square distribution.
pub(crate) fn chi_square_upper(x: f64, df: f64) -> Option<f64> {
    if x <= 0.0 {
        return Some(1.0);
    }
    checked_gamma_ur(0.5 * df, 0.5 * x).ok().filter(|p| p.is_finite()).map(|p| p.clamp(0.0, 1.0))
}

/// Returns P(F > f).
pub(crate) fn f_upper(f: f64, d1: f64, d2: f64) -> Option<f64> {
    if !f.is_finite() || !d2.is_finite() || d2 <= 0.0 || d1 <= 0.0 {
        return None;
    }
    if f <= 0.0 {
        return Some(1.0);
    }
    let p = checked_beta_reg(0.5 * d2, 0.5 * d1, d2 / (d2 + d1 * f)).ok()?;
    p.is_finite().then_some(p.clamp(0.0, 1.0))
}

/// Returns the t that `probability` of the distribution lies below, for probabilities above a half.
pub(crate) fn t_quantile(probability: f64, df: f64) -> Option<f64> {
    if !(0.5..1.0).contains(&probability) || df.is_nan() || df <= 0.0 {
        return None;
    }
    if df >= NORMAL_FROM {
        return Some(Normal::standard().inverse_cdf(probability));
    }
    let tail = 2.0 * (1.0 - probability);
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    while t_two_sided(high, df)? > tail {
        low = high;
        high *= 2.0;
        if high > 1e12 {
            return None;
        }
    }
    Some(root(low, high, |t| t_two_sided(t, df).map_or(-1.0, |p| p - tail)))
}

/// Returns the f that `probability` of the distribution lies below.
pub(crate) fn f_quantile(probability: f64, d1: f64, d2: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0 && d1 > 0.0 && d2 > 0.0 && d2.is_finite()) {
        return None;
    }
    let above = |f: f64| f_upper(f, d1, d2);
    let (mut low, mut high) = (1.0_f64, 1.0_f64);
    while above(low)? < 1.0 - probability {
        low /= 2.0;
        if low < 1e-150 {
            return None;
        }
    }
    while above(high)? > 1.0 - probability {
        high *= 2.0;
        if high > 1e150 {
            return None;
        }
    }
    Some(root(low, high, |f| above(f).map_or(-1.0, |p| p - (1.0 - probability))))
}

/// Returns P(F > f) of the noncentral F distribution: a sum over Poisson weights of central tails.
pub(crate) fn f_upper_noncentral(f: f64, d1: f64, d2: f64, noncentrality: f64) -> Option<f64> {
    if !(noncentrality.is_finite() && noncentrality >= 0.0) {
        return None;
    }
    if noncentrality == 0.0 || f <= 0.0 {
        return f_upper(f, d1, d2);
    }
    if noncentrality > MOST_NONCENTRALITY {
        // The tail grows with the noncentrality; where it is not whole yet the sum would take too long.
        let least = f_upper_noncentral(f, d1, d2, MOST_NONCENTRALITY)?;
        return (least > 1.0 - 1e-9).then_some(1.0);
    }
    let half = 0.5 * noncentrality;
    let x = d2 / (d2 + d1 * f);
    let mode = libm::floor(half);
    // Terms beyond this are less than 1e-17 of the whole.
    let reach = libm::ceil(12.0 * (half + 1.0).sqrt());
    let (first, last) = ((mode - reach).max(0.0) as u64, (mode + reach) as u64);
    let (mut sum, mut weights) = (0.0, 0.0);
    for j in first..=last {
        let j = j as f64;
        let weight = libm::exp(-half + j * libm::log(half) - libm::lgamma(j + 1.0));
        sum += weight * checked_beta_reg(0.5 * d2, 0.5 * d1 + j, x).ok()?;
        weights += weight;
    }
    // Their sum is 1 but for the rounding of the exponent, which grows with it.
    let p = sum / weights;
    p.is_finite().then_some(p.clamp(0.0, 1.0))
}

/// Finds the zero of a falling function by false position with bisection (Illinois rule).
pub(crate) fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    let mut last = 0;
    for _ in 0..200 {
        if high - low <= 1e-14 * high {
            break;
        }
        let guess = (low * at_high - high * at_low) / (at_high - at_low);
        let middle = if guess > low && guess < high { guess } else { 0.5 * (low + high) };
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        if value > 0.0 {
            (low, at_low) = (middle, value);
            at_high *= if last == 1 { 0.5 } else { 1.0 };
            last = 1;
        } else {
            (high, at_high) = (middle, value);
            at_low *= if last == -1 { 0.5 } else { 1.0 };
            last = -1;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn check(got: Option<f64>, want: f64) {
        let got = got.unwrap();
        assert!((got - want).abs() <= 1e-9 * want.abs(), "want {want}, got {got}");
    }

    #[test]
    fn tables_of_students_t() {
        // Cauchy: tan(pi (p - 1/2)); two degrees of freedom: (2p - 1) / sqrt(2p(1 - p)); closed forms.
        check(t_quantile(0.975, 1.0), 12.706_204_736_174_698);
        check(t_quantile(0.975, 2.0), 4.302_652_729_911_275);
        check(t_two_sided(12.706_204_736_174_698, 1.0), 0.05);
        check(t_quantile(0.975, f64::INFINITY), 1.959_963_984_540_054);
    }

    #[test]
    fn the_f_tail_of_one_contrast_is_the_t_tail() {
        check(f_upper(4.0, 1.0, 7.3), t_two_sided(2.0, 7.3).unwrap());
    }

    #[test]
    fn quantiles_of_f_are_those_of_the_printed_table() {
        // F(0.95; 2, 10) = 4.103 and F(0.95; 10, 20) = 2.348 (from memory): NIST/SEMATECH e-Handbook, 1.3.6.7.3.
        for (d1, d2, want) in [(2.0, 10.0, 4.103), (10.0, 20.0, 2.348)] {
            assert!((f_quantile(0.95, d1, d2).unwrap() - want).abs() < 6e-4);
        }
        check(f_upper(f_quantile(0.025, 3.0, 7.0).unwrap(), 3.0, 7.0), 0.975);
    }

    #[test]
    fn a_huge_noncentrality_is_certain_or_not_told_and_never_takes_long() {
        assert_eq!(f_upper_noncentral(3.0, 2.0, 20.0, 1e18), Some(1.0));
        assert_eq!(f_upper_noncentral(1e9, 2.0, 20.0, 1e18), None);
        assert_eq!(f_upper_noncentral(3.0, 2.0, 20.0, f64::INFINITY), None);
    }

    #[test]
    fn two_degrees_of_freedom_make_chi_square_an_exponential() {
        check(chi_square_upper(3.0, 2.0), libm::exp(-1.5));
        assert_eq!(chi_square_upper(0.0, 5.0), Some(1.0));
    }

    #[test]
    fn what_has_no_value_is_none() {
        assert_eq!(t_quantile(0.975, 0.01), None);
        assert_eq!(t_two_sided(f64::NAN, 3.0), None);
        assert_eq!(f_upper(1.0, 1.0, -2.0), None);
        assert_eq!(chi_square_upper(f64::INFINITY, 2.0), None);
    }
}
