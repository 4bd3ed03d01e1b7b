//! Numbers from cells.

/// Powers of ten that an `f64` holds exactly.
const EXACT_POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];
/// Every whole number up to this is exact.
const EXACT_WHOLE: u64 = 1 << 53;

/// The `f64` nearest to what a cell says, as the scalar door reads it; NaN for what is no number.
#[inline]
pub(super) fn number(cell: &[u8]) -> f64 {
    match plain(cell) {
        Some(number) => number,
        None => general(cell),
    }
}

/// Sign, digits, point, digits, few enough to be exact before the one division that rounds.
#[inline]
fn plain(cell: &[u8]) -> Option<f64> {
    let (negative, digits) = match cell {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    // 19 digits fit a u64.
    if digits.is_empty() || digits.len() > 19 {
        return None;
    }
    let mut whole = 0_u64;
    let mut point = None;
    for (place, byte) in digits.iter().enumerate() {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            whole = 10 * whole + u64::from(digit);
        } else if *byte == b'.' && point.is_none() && digits.len() > 1 {
            point = Some(place);
        } else {
            return None;
        }
    }
    if whole > EXACT_WHOLE {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "at most 2^53")]
    let mut number = whole as f64;
    if let Some(place) = point {
        number /= EXACT_POWERS[digits.len() - 1 - place];
    }
    Some(if negative { -number } else { number })
}

#[cold]
fn general(cell: &[u8]) -> f64 {
    std::str::from_utf8(cell).ok().and_then(|text| text.trim().parse().ok()).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn same_as_the_scalar_door(text: &str) -> Result<(), TestCaseError> {
        let parsed: f64 = text.trim().parse().unwrap_or(f64::NAN);
        let read = number(text.as_bytes());
        prop_assert!(
            parsed.to_bits() == read.to_bits() || parsed.is_nan() && read.is_nan(),
            "{text}: {read} for {parsed}"
        );
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4096))]

        #[test]
        fn written_numbers(whole in "[-+]?[0-9]{0,17}", fraction in "(\\.[0-9]{0,20})?",
                           exponent in "([eE][-+]?[0-9]{1,3})?", space in "[ \t]{0,2}") {
            same_as_the_scalar_door(&format!("{space}{whole}{fraction}{exponent}"))?;
        }

        #[test]
        fn any_double(bits in any::<u64>()) {
            same_as_the_scalar_door(&format!("{}", f64::from_bits(bits)))?;
            same_as_the_scalar_door(&format!("{:e}", f64::from_bits(bits)))?;
        }

        #[test]
        fn anything(text in ".{0,12}") {
            same_as_the_scalar_door(&text)?;
        }
    }

    #[test]
    fn edges() {
        for text in [
            "",
            "-",
            ".",
            "-.",
            "5.",
            ".5",
            "-0",
            "-0.0",
            "1..2",
            "9007199254740992",
            "9007199254740993",
            "0000000000000000000",
            "0.0000000000000000001",
            "inf",
            "nan",
            "1_0",
        ] {
            same_as_the_scalar_door(text).unwrap();
        }
    }
}
