//! The few statistics that a fit needs: Student's t, the normal distribution, quantiles, and small
//! symmetric systems.

use std::f64::consts::{PI, SQRT_2};

/// Probability that a standard normal is at most `z`.
pub(crate) fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Probability that Student's t with `dof` degrees of freedom is at most `t`.
///
/// The finite series for whole degrees of freedom (`abramowitz_stegun` 26.7.3 and 26.7.4, from
/// memory; tested against printed tables).
pub(crate) fn student_cdf(t: f64, dof: usize) -> f64 {
    let degrees = dof as f64;
    let theta = libm::atan2(t.abs(), libm::sqrt(degrees));
    let (sine, cosine) = (libm::sin(theta), libm::cos(theta));
    let square = cosine * cosine;
    let inside = if dof % 2 == 1 {
        // cos + 2/3 cos^3 + (2·4)/(3·5) cos^5 + ...
        let (mut term, mut sum) = (cosine, 0.0);
        let mut k = 1;
        while k + 2 <= dof {
            sum += term;
            term *= square * (k + 1) as f64 / (k + 2) as f64;
            k += 2;
        }
        2.0 / PI * (theta + sine * sum)
    } else {
        // 1 + 1/2 cos^2 + (1·3)/(2·4) cos^4 + ...
        let (mut term, mut sum) = (1.0, 0.0);
        let mut k = 0;
        while k + 2 <= dof {
            sum += term;
            term *= square * (k + 1) as f64 / (k + 2) as f64;
            k += 2;
        }
        sine * sum
    };
    if t < 0.0 { 0.5 - 0.5 * inside } else { 0.5 + 0.5 * inside }
}

/// The t that Student's t with `dof` degrees of freedom does not exceed with this probability, for
/// a probability of at least a half. With very many degrees of freedom it is the normal's.
pub(crate) fn student_quantile(probability: f64, dof: usize) -> f64 {
    let cdf = |t: f64| if dof > 2000 { normal_cdf(t) } else { student_cdf(t, dof) };
    let (mut low, mut high) = (0.0, 1.0);
    while cdf(high) < probability && high < 1e9 {
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if cdf(middle) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The share of draws to cut from each end of a bootstrap, so that a percentile interval is as wide
/// as Student's t asks of few readings: the expanded percentile interval (`hesterberg_2015`, from
/// memory).
pub(crate) fn tail(level: f64, dof: usize) -> f64 {
    normal_cdf(-student_quantile(0.5 + 0.5 * level, dof.max(1)))
}

/// The value below which this share of the sorted values lies, linear between neighbours.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let place = share.clamp(0.0, 1.0) * last as f64;
    let floor = libm::floor(place);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to last")]
    let below = (floor as usize).min(last);
    let (low, high) = (*sorted.get(below)?, *sorted.get((below + 1).min(last))?);
    Some(low + (place - floor) * (high - low))
}

/// The ends of the expanded percentile interval of the draws that are numbers.
pub(crate) fn interval(
    draws: impl Iterator<Item = f64>,
    level: f64,
    dof: usize,
) -> Option<(f64, f64)> {
    let mut values: Vec<f64> = draws.filter(|value| value.is_finite()).collect();
    values.sort_unstable_by(f64::total_cmp);
    let cut = tail(level, dof);
    Some((quantile(&values, cut)?, quantile(&values, 1.0 - cut)?))
}

/// The most columns that a fit has.
pub(crate) const MOST_COLUMNS: usize = 5;
/// A symmetric matrix of at most that many rows.
pub(crate) type Square = [[f64; MOST_COLUMNS]; MOST_COLUMNS];

/// The inverse of the leading `size` rows and columns of a symmetric positive matrix; `None` where
/// its rows hang together. The columns are first brought to one scale.
pub(crate) fn inverse(matrix: &Square, size: usize) -> Option<Square> {
    const LEAST: f64 = 1e-11;
    let size = size.min(MOST_COLUMNS);
    let mut scale = [0.0; MOST_COLUMNS];
    for (place, scale) in scale.iter_mut().enumerate().take(size) {
        *scale = libm::sqrt(matrix[place][place]);
        if !(scale.is_finite() && *scale > 0.0) {
            return None;
        }
    }
    let mut left = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
    let mut right = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
    for row in 0..size {
        for column in 0..size {
            left[row][column] = matrix[row][column] / (scale[row] * scale[column]);
        }
        right[row][row] = 1.0;
    }
    // Gauss and Jordan; the diagonal of a positive matrix needs no exchange of rows.
    for pivot in 0..size {
        let head = left[pivot][pivot];
        if head <= LEAST {
            return None;
        }
        for column in 0..size {
            left[pivot][column] /= head;
            right[pivot][column] /= head;
        }
        let (pivot_left, pivot_right) = (left[pivot], right[pivot]);
        for row in (0..size).filter(|row| *row != pivot) {
            let factor = left[row][pivot];
            for column in 0..size {
                left[row][column] -= factor * pivot_left[column];
                right[row][column] -= factor * pivot_right[column];
            }
        }
    }
    for row in 0..size {
        for column in 0..size {
            right[row][column] /= scale[row] * scale[column];
        }
    }
    Some(right)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn student_is_that_of_the_tables() {
        // Printed tables of Student's t (from memory): 95 % one-sided, 97.5 % one-sided.
        for (probability, dof, published) in [
            (0.95, 1, 6.314),
            (0.95, 9, 1.833),
            (0.975, 9, 2.262),
            (0.975, 10, 2.228),
            (0.95, 24, 1.711),
            (0.975, 120, 1.980),
        ] {
            assert_relative_eq!(student_quantile(probability, dof), published, epsilon = 6e-4);
        }
        assert_relative_eq!(student_quantile(0.975, 100_000), 1.959_964, epsilon = 1e-5);
        assert_relative_eq!(student_cdf(-1.5, 7) + student_cdf(1.5, 7), 1.0, epsilon = 1e-14);
    }

    #[test]
    fn a_quantile_lies_between_its_neighbours() {
        let values = [1.0, 2.0, 4.0];
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 0.25), Some(1.5));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(quantile(&[], 0.5), None);
    }

    #[test]
    fn an_inverse_undoes_its_matrix_and_refuses_what_hangs_together() {
        let mut matrix = [[0.0; MOST_COLUMNS]; MOST_COLUMNS];
        let rows = [[4.0, 2.0, 0.5], [2.0, 3.0, 0.25], [0.5, 0.25, 1.0]];
        for (row, cells) in rows.iter().enumerate() {
            matrix[row][..3].copy_from_slice(cells);
        }
        let inverted = inverse(&matrix, 3).unwrap();
        for row in 0..3 {
            for column in 0..3 {
                let cell: f64 = (0..3).map(|k| matrix[row][k] * inverted[k][column]).sum();
                assert_relative_eq!(cell, f64::from(row == column), epsilon = 1e-14);
            }
        }
        matrix[1][..3].copy_from_slice(&[8.0, 4.0, 1.0]);
        matrix[0][1] = 4.0 * 2.0;
        matrix[0][0] = 16.0;
        assert!(inverse(&matrix, 2).is_none());
    }
}
