//! Orthonormal columns for a design, and the names of those that depend on others.

use nalgebra::{DMatrix, DVector};

use crate::ModelError;

/// x = q r with orthonormal columns in q.
pub(super) struct Basis {
    pub q: DMatrix<f64>,
    pub r_inverse: DMatrix<f64>,
}

/// What is left of a column after those before it, relative to the column, below which it depends on them.
const DEPENDENT: f64 = 1e-10;

/// Returns an orthonormal basis of the columns of x (Gram-Schmidt, each column twice).
pub(super) fn orthonormal(x: &DMatrix<f64>) -> Result<Basis, ModelError> {
    let (n, p) = x.shape();
    let mut q = DMatrix::zeros(n, p);
    let mut r = DMatrix::zeros(p, p);
    for j in 0..p {
        let norm = x.column(j).norm();
        let mut v: DVector<f64> = x.column(j).into_owned();
        for _ in 0..2 {
            for k in 0..j {
                let part = v.dot(&q.column(k));
                v.axpy(-part, &q.column(k), 1.0);
                r[(k, j)] += part;
            }
        }
        let left = v.norm();
        if left <= DEPENDENT * norm {
            return Err(dependent(&r, j));
        }
        r[(j, j)] = left;
        q.set_column(j, &(v / left));
    }
    let r_inverse = r.solve_upper_triangular(&DMatrix::identity(p, p)).unwrap_or(r);
    Ok(Basis { q, r_inverse })
}

fn dependent(r: &DMatrix<f64>, j: usize) -> ModelError {
    let lead = r.view((0, 0), (j, j)).into_owned();
    let factors = lead.solve_upper_triangular(&r.view((0, j), (j, 1)).into_owned());
    let largest = factors.as_ref().map_or(0.0, |f| f.amax());
    let others: Vec<String> = (0..j)
        .filter(|k| factors.as_ref().is_some_and(|f| f[*k].abs() > 1e-8 * largest))
        .map(|k| k.to_string())
        .collect();
    let message = match others.as_slice() {
        [] => format!("column {j} of x is zero; leave it out"),
        [one] => format!("column {j} of x is a multiple of column {one}; leave one of them out"),
        many => format!(
            "column {j} of x is a linear combination of columns {}; leave one of them out",
            many.join(", ")
        ),
    };
    ModelError::new("dependent_columns", message).at("x")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_dependent_column_is_named_with_those_it_depends_on() {
        let x = DMatrix::from_row_slice(4, 3, &[1., 0., 1., 1., 1., 0., 1., 0., 1., 1., 1., 0.]);
        let error = orthonormal(&x).err().unwrap();
        assert_eq!(error.code, "dependent_columns");
        assert!(error.message.contains("column 2 of x is a linear combination of columns 0, 1"), "{error}");
    }

    #[test]
    fn a_column_of_zeros_is_named() {
        let x = DMatrix::from_row_slice(3, 2, &[1., 0., 1., 0., 1., 0.]);
        assert!(orthonormal(&x).err().unwrap().message.contains("column 1 of x is zero"));
    }

    #[test]
    fn a_large_offset_is_no_dependence() {
        let x = DMatrix::from_fn(6, 2, |i, j| if j == 0 { 1.0 } else { 215.0 + i as f64 * 0.01 });
        let basis = orthonormal(&x).unwrap();
        assert!((basis.q.transpose() * &basis.q - DMatrix::identity(2, 2)).amax() < 1e-14);
    }
}
