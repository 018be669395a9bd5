//! Rectifies a picture of the face: from pixels to mm on its plane.
//!
//! # Formula
//! From references: the homography H with plane ~ H image, the null vector of the direct linear transform on
//! points moved to mean 0 and mean distance √2. From a ring: its conic C by least squares, the vanishing
//! line of the plane ℓ = C c from the image c of its centre; (ℓ as last row) sends the ring to an ellipse about
//! its centre, which is stretched to a circle, scaled to the radius, and turned until the top is up.
//! # Units
//! Pixels with y down; mm on the face with y up.
//! # Source
//! Hartley and Zisserman, Multiple View Geometry, 2nd ed. (2004), algorithm 4.2; conics, poles and polars:
//! sections 2.2.3 and 2.7.
//! # Limits
//! A flat face and a lens without distortion. Four references in general position, or five taps around a
//! ring with its centre and a point above it.

use crate::ModelError;
use nalgebra::{DMatrix, Matrix2, Matrix3, Vector2, Vector3};

/// A plane map from pixels to mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Rectifier {
    map: Matrix3<f64>,
}

/// How far from degenerate references have to be, as a part of their size.
const LEAST: f64 = 1e-6;

impl Rectifier {
    /// Makes the map from four references or more, each known in the picture and on the plane.
    ///
    /// # Errors
    /// `too_few`, `length_mismatch`, or `degenerate` when references coincide or no four are in general position.
    pub fn from_references(image_px: &[[f64; 2]], plane_mm: &[[f64; 2]]) -> Result<Self, ModelError> {
        if image_px.len() != plane_mm.len() {
            let message = format!(
                "'image_px' has {} points and 'plane_mm' {}; give each reference in both",
                image_px.len(),
                plane_mm.len()
            );
            return Err(ModelError::new("length_mismatch", message).at("plane_mm"));
        }
        for (points, field) in [(image_px, "image_px"), (plane_mm, "plane_mm")] {
            check_position(points, field)?;
        }
        let (from, to) = (normalising(image_px), normalising(plane_mm));
        let mut rows = DMatrix::zeros((2 * image_px.len()).max(9), 9);
        for (i, (a, b)) in image_px.iter().zip(plane_mm).enumerate() {
            let (a, b) = (from * homogeneous(*a), to * homogeneous(*b));
            for j in 0..3 {
                rows[(2 * i, 3 + j)] = -b.z * a[j];
                rows[(2 * i, 6 + j)] = b.y * a[j];
                rows[(2 * i + 1, j)] = b.z * a[j];
                rows[(2 * i + 1, 6 + j)] = -b.x * a[j];
            }
        }
        let h = null_vector(rows).ok_or_else(|| degenerate("image_px"))?;
        let h = Matrix3::from_row_slice(&h);
        let back = to.try_inverse().ok_or_else(|| degenerate("plane_mm"))?;
        Self::checked(back * h * from, image_px, "image_px")
    }

    /// Makes the map from taps on a ring of known radius, its centre, and a point straight above that.
    ///
    /// # Errors
    /// `too_few` or `degenerate` when the taps are not those of an ellipse about the centre.
    pub fn from_ring(
        ring_px: &[[f64; 2]],
        radius_mm: f64,
        centre_px: [f64; 2],
        top_px: [f64; 2],
    ) -> Result<Self, ModelError> {
        if ring_px.len() < 5 {
            let message =
                format!("'ring_px' has {} taps; a ring needs five or more around it", ring_px.len());
            return Err(ModelError::new("too_few", message).at("ring_px"));
        }
        if ring_px.len() == 5 {
            check_position(ring_px, "ring_px")?;
        }
        let to = normalising(ring_px);
        let conic = conic(ring_px, to).ok_or_else(|| no_ring("the taps do not lie on one ellipse"))?;
        let centre = to * homogeneous(centre_px);
        let line = conic * centre;
        // The centre's polar is the vanishing line, which does not pass through the centre itself.
        let line = line / line.dot(&centre);
        let away = Matrix3::new(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, line.x, line.y, line.z);
        let back = away.try_inverse().ok_or_else(|| no_ring("the centre lies on the vanishing line"))?;
        let ellipse = back.transpose() * conic * back;
        let middle = away * centre;
        let middle = Vector2::new(middle.x, middle.y) / middle.z;
        let shape = ellipse.fixed_view::<2, 2>(0, 0).into_owned();
        let at_centre = ellipse[(2, 2)] + middle.dot(&Vector2::new(ellipse[(0, 2)], ellipse[(1, 2)]));
        let stretch = round(shape / -at_centre).ok_or_else(|| no_ring("the centre lies outside the ring"))?;
        let affine = lift(stretch * radius_mm) * translation(-middle) * away * to;
        Self::checked(upright(affine, centre_px, top_px)?, ring_px, "ring_px")
    }

    /// Returns where a pixel lies on the plane, or nothing beyond the horizon.
    pub fn to_mm(&self, px: [f64; 2]) -> Option<[f64; 2]> {
        let p = self.map * homogeneous(px);
        let found = [p.x / p.z, p.y / p.z];
        (p.z > 0.0 && found.iter().all(|v| v.is_finite())).then_some(found)
    }

    /// Takes the sign that puts the references before the horizon, and refuses a map that folds the plane.
    fn checked(map: Matrix3<f64>, seen: &[[f64; 2]], field: &'static str) -> Result<Self, ModelError> {
        let depth: Vec<f64> = seen.iter().map(|p| (map * homogeneous(*p)).z).collect();
        let sign = depth.first().map_or(1.0, |z| z.signum());
        let scale = map.norm();
        let folded = !depth.iter().all(|z| z * sign > 0.0) || !scale.is_finite() || map.determinant() == 0.0;
        if folded { Err(degenerate(field)) } else { Ok(Self { map: map * sign }) }
    }
}

fn degenerate(field: &'static str) -> ModelError {
    let message = format!(
        "the references in '{field}' do not fix the plane: two coincide, or all but one lie on a line, or they \
         cross over; give four corners in the same order in both lists"
    );
    ModelError::new("degenerate", message).at(field)
}

fn no_ring(why: &str) -> ModelError {
    let message = format!(
        "the ring cannot be used: {why}; tap five points or more all around one ring, and its centre"
    );
    ModelError::new("degenerate", message).at("ring_px")
}

/// Refuses points of which two coincide, or of which no four are in general position.
fn check_position(points: &[[f64; 2]], field: &'static str) -> Result<(), ModelError> {
    if points.len() < 4 {
        let message = format!("'{field}' has {} points; four or more are needed", points.len());
        return Err(ModelError::new("too_few", message).at(field));
    }
    let size = points.iter().flatten().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    let least = LEAST * (size.1 - size.0);
    let near = |a: [f64; 2], b: [f64; 2]| libm::hypot(a[0] - b[0], a[1] - b[1]) <= least;
    if (1..points.len()).any(|i| points[..i].iter().any(|p| near(*p, points[i]))) {
        return Err(degenerate(field));
    }
    // When all points but one lie on a line, two of the first three do.
    let crowded = |a: [f64; 2], b: [f64; 2]| {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = libm::hypot(dx, dy);
        let off = |p: &&[f64; 2]| ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx).abs() > least * length;
        points.iter().filter(off).count() <= 1
    };
    let pairs = [(0, 1), (0, 2), (1, 2)];
    let bad = pairs.iter().any(|(i, j)| crowded(points[*i], points[*j]));
    if bad { Err(degenerate(field)) } else { Ok(()) }
}

fn homogeneous(p: [f64; 2]) -> Vector3<f64> {
    Vector3::new(p[0], p[1], 1.0)
}

/// Returns the similarity that moves points to mean 0 and mean distance √2.
fn normalising(points: &[[f64; 2]]) -> Matrix3<f64> {
    let n = points.len() as f64;
    let mean = points.iter().fold([0.0; 2], |s, p| [s[0] + p[0] / n, s[1] + p[1] / n]);
    let away = points.iter().map(|p| libm::hypot(p[0] - mean[0], p[1] - mean[1])).sum::<f64>() / n;
    let s = std::f64::consts::SQRT_2 / away;
    Matrix3::new(s, 0.0, -s * mean[0], 0.0, s, -s * mean[1], 0.0, 0.0, 1.0)
}

/// Returns the right singular vector of the smallest singular value, or nothing when two are as small.
fn null_vector(rows: DMatrix<f64>) -> Option<Vec<f64>> {
    let svd = rows.try_svd(false, true, 1e-15, 1000)?;
    let v = svd.v_t?;
    let mut order: Vec<usize> = (0..svd.singular_values.len()).collect();
    order.sort_by(|a, b| svd.singular_values[*a].total_cmp(&svd.singular_values[*b]));
    let largest = svd.singular_values[*order.last()?];
    let clear = svd.singular_values[*order.get(1)?] > 1e-9 * largest;
    clear.then(|| v.row(order[0]).iter().copied().collect())
}

/// Returns the conic through taps, in normalised pixels, scaled so that it is negative inside.
fn conic(points: &[[f64; 2]], to: Matrix3<f64>) -> Option<Matrix3<f64>> {
    let mut rows = DMatrix::zeros(points.len().max(6), 6);
    for (i, p) in points.iter().enumerate() {
        let q = to * homogeneous(*p);
        for (j, v) in [q.x * q.x, q.x * q.y, q.y * q.y, q.x, q.y, 1.0].into_iter().enumerate() {
            rows[(i, j)] = v;
        }
    }
    let c = null_vector(rows)?;
    let m = Matrix3::new(
        c[0],
        0.5 * c[1],
        0.5 * c[3],
        0.5 * c[1],
        c[2],
        0.5 * c[4],
        0.5 * c[3],
        0.5 * c[4],
        c[5],
    );
    let m = if c[0] + c[2] < 0.0 { -m } else { m };
    let ellipse = m[(0, 0)] * m[(1, 1)] - m[(0, 1)] * m[(0, 1)] > 0.0 && m.determinant() < 0.0;
    ellipse.then_some(m)
}

/// Returns the symmetric stretch that sends {v: v' shape v = 1} to the unit circle.
fn round(shape: Matrix2<f64>) -> Option<Matrix2<f64>> {
    let eigen = shape.symmetric_eigen();
    if !eigen.eigenvalues.iter().all(|v| v.is_finite() && *v > 0.0) {
        return None;
    }
    let roots = Matrix2::from_diagonal(&eigen.eigenvalues.map(f64::sqrt));
    Some(eigen.eigenvectors * roots * eigen.eigenvectors.transpose())
}

fn lift(m: Matrix2<f64>) -> Matrix3<f64> {
    Matrix3::new(m[(0, 0)], m[(0, 1)], 0.0, m[(1, 0)], m[(1, 1)], 0.0, 0.0, 0.0, 1.0)
}

fn translation(by: Vector2<f64>) -> Matrix3<f64> {
    Matrix3::new(1.0, 0.0, by.x, 0.0, 1.0, by.y, 0.0, 0.0, 1.0)
}

/// Mirrors the map, since pixels count downwards, and turns it until the top is up.
fn upright(map: Matrix3<f64>, centre: [f64; 2], top: [f64; 2]) -> Result<Matrix3<f64>, ModelError> {
    let sides = (map * homogeneous(centre)).z * map.determinant();
    let mirror = if sides > 0.0 { -1.0 } else { 1.0 };
    let map = Matrix3::new(1.0, 0.0, 0.0, 0.0, mirror, 0.0, 0.0, 0.0, 1.0) * map;
    let up = map * homogeneous(top);
    let (x, y) = (up.x / up.z, up.y / up.z);
    let length = libm::hypot(x, y);
    if !(length.is_finite() && length > 0.0) {
        let message =
            "'top_px' coincides with the centre; tap a point straight above it, such as the top of the ring";
        return Err(ModelError::new("degenerate", message).at("top_px"));
    }
    let (sin, cos) = (x / length, y / length);
    Ok(Matrix3::new(cos, -sin, 0.0, sin, cos, 0.0, 0.0, 0.0, 1.0) * map)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pinhole camera that looks at the face from below and from the side.
    fn seen(p: [f64; 2]) -> [f64; 2] {
        let (x, y) = (p[0] / 1000.0, p[1] / 1000.0);
        let depth = 3.0 + 0.31 * x - 0.22 * y;
        [640.0 + 1200.0 * (x + 0.04 * y) / depth, 480.0 - 1200.0 * (0.96 * y - 0.05 * x) / depth]
    }

    fn ring(radius: f64, n: usize) -> Vec<[f64; 2]> {
        let at = |i: usize| std::f64::consts::TAU * (i as f64 + 0.3) / n as f64;
        (0..n).map(|i| seen([radius * libm::cos(at(i)), radius * libm::sin(at(i))])).collect()
    }

    #[test]
    fn a_ring_with_its_centre_and_top_says_what_four_corners_say() {
        for n in [5, 8, 20] {
            let map = Rectifier::from_ring(&ring(610.0, n), 610.0, seen([0.0, 0.0]), seen([0.0, 500.0]));
            let map = map.expect("a ring");
            for p in [[0.0, 0.0], [100.0, -200.0], [-350.0, 20.0], [5.0, 600.0]] {
                let got = map.to_mm(seen(p)).expect("before the horizon");
                assert!(libm::hypot(got[0] - p[0], got[1] - p[1]) < 1e-6, "{n}: {p:?} {got:?}");
            }
        }
    }

    #[test]
    fn taps_that_are_no_ring_are_refused() {
        let line: Vec<[f64; 2]> = (0..6).map(|i| [f64::from(i), 2.0 * f64::from(i)]).collect();
        let centre = seen([0.0, 0.0]);
        assert_eq!(
            Rectifier::from_ring(&line, 610.0, centre, [0.0, 0.0]).expect_err("a line").code,
            "degenerate"
        );
        let far = Rectifier::from_ring(&ring(610.0, 8), 610.0, seen([5000.0, 0.0]), seen([0.0, 1.0]));
        assert_eq!(far.expect_err("outside").code, "degenerate");
        let top = Rectifier::from_ring(&ring(610.0, 8), 610.0, centre, centre).expect_err("no top");
        assert_eq!(top.field.as_deref(), Some("top_px"));
        let few = Rectifier::from_ring(&ring(610.0, 4), 610.0, centre, [0.0, 0.0]).expect_err("too few");
        assert_eq!(few.code, "too_few");
    }

    #[test]
    fn references_on_a_line_but_one_are_refused_also_when_there_are_many() {
        let mut image: Vec<[f64; 2]> = (0..8).map(|i| [f64::from(i) * 10.0, f64::from(i) * 20.0]).collect();
        image.push([5.0, 90.0]);
        let plane: Vec<[f64; 2]> = (0..9).map(|i| [f64::from(i % 3), f64::from(i / 3)]).collect();
        assert_eq!(Rectifier::from_references(&image, &plane).expect_err("a line").code, "degenerate");
    }
}
