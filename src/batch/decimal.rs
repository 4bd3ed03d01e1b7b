//! Decimals as the nearest doubles.

use arrow_array::cast::AsArray;
use arrow_array::types::{Decimal128Type, Decimal256Type};
use arrow_array::{Array, ArrayRef, Float64Array};
use arrow_schema::{ArrowError, DataType};

/// The powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];
/// Whole numbers up to this are doubles.
const EXACT_WHOLE: u128 = 1 << f64::MANTISSA_DIGITS;

/// A column of decimals as doubles, each rounded once.
pub(super) fn nearest(array: &ArrayRef) -> Result<Float64Array, ArrowError> {
    // What has more digits than fit goes by way of its text: a division would round twice.
    let parsed = |text: String| text.parse().unwrap_or(f64::NAN);
    if matches!(array.data_type(), DataType::Decimal256(..)) {
        let decimals = array.as_primitive::<Decimal256Type>();
        let number = |row| decimals.is_valid(row).then(|| parsed(decimals.value_as_string(row)));
        return Ok((0..decimals.len()).map(number).collect());
    }
    let (precision, scale) = match array.data_type() {
        DataType::Decimal32(precision, scale)
        | DataType::Decimal64(precision, scale)
        | DataType::Decimal128(precision, scale) => (*precision, *scale),
        other => return Err(ArrowError::CastError(format!("{other} is no decimal"))),
    };
    let wide = arrow_cast::cast(array, &DataType::Decimal128(precision, scale))?;
    let decimals = wide.as_primitive::<Decimal128Type>();
    let power = usize::try_from(scale).ok().and_then(|scale| POWERS.get(scale)).copied();
    let number = |row| {
        decimals.is_valid(row).then(|| {
            let whole = decimals.value(row);
            match power {
                Some(power) if whole.unsigned_abs() <= EXACT_WHOLE => {
                    #[expect(clippy::cast_precision_loss, reason = "no digit is lost")]
                    let whole = whole as f64;
                    whole / power
                }
                _ => parsed(decimals.value_as_string(row)),
            }
        })
    };
    Ok((0..decimals.len()).map(number).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use arrow_array::Decimal128Array;
    use proptest::prelude::*;
    use std::sync::Arc;

    proptest! {
        #[test]
        fn a_decimal_is_the_double_that_its_text_is(
            whole in any::<i64>(), digits in 1_i128..1_000_000, scale in 0_i8..30,
        ) {
            let whole = i128::from(whole) * digits;
            let array = Decimal128Array::from(vec![Some(whole), None]);
            let array = array.with_precision_and_scale(38, scale).unwrap();
            let text = array.value_as_string(0);
            let numbers = nearest(&(Arc::new(array) as ArrayRef)).unwrap();
            prop_assert_eq!(numbers.value(0).to_bits(), text.parse::<f64>().unwrap().to_bits());
            prop_assert!(numbers.is_null(1));
        }
    }
}
