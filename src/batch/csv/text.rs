//! Cells as CSV text.

/// Bytes for which a cell must stand in quotes.
const SPECIAL: [bool; 256] = {
    let mut special = [false; 256];
    special[b',' as usize] = true;
    special[b'"' as usize] = true;
    special[b'\n' as usize] = true;
    special[b'\r' as usize] = true;
    special
};

/// Writes a text cell: in quotes only where CSV needs them, and with an apostrophe in front where
/// a spreadsheet would take it for a formula.
#[inline]
pub(crate) fn put_text(out: &mut Vec<u8>, cell: &[u8]) {
    match cell.first() {
        None => return,
        Some(b'=' | b'+' | b'-' | b'@' | b'\t' | b'\r' | b'\n') => return put_guarded(out, cell),
        Some(_) => {}
    }
    if cell.iter().any(|byte| SPECIAL[usize::from(*byte)]) {
        put_quoted(out, "", cell);
    } else {
        out.extend_from_slice(cell);
    }
}

#[cold]
fn put_guarded(out: &mut Vec<u8>, cell: &[u8]) {
    let guard = if is_plain_number(cell) { "" } else { "'" };
    if cell.iter().any(|byte| SPECIAL[usize::from(*byte)]) {
        put_quoted(out, guard, cell);
    } else {
        out.extend_from_slice(guard.as_bytes());
        out.extend_from_slice(cell);
    }
}

#[cold]
fn put_quoted(out: &mut Vec<u8>, guard: &str, cell: &[u8]) {
    out.push(b'"');
    out.extend_from_slice(guard.as_bytes());
    for byte in cell {
        if *byte == b'"' {
            out.push(b'"');
        }
        out.push(*byte);
    }
    out.push(b'"');
}

/// Sign, digits, point, exponent and nothing else: no spreadsheet computes that.
fn is_plain_number(cell: &[u8]) -> bool {
    fn digits(text: &[u8]) -> usize {
        text.iter().take_while(|byte| byte.is_ascii_digit()).count()
    }
    let unsigned = cell.strip_prefix(b"-").or(cell.strip_prefix(b"+")).unwrap_or(cell);
    let whole = digits(unsigned);
    let mut rest = &unsigned[whole..];
    let mut fraction = 0;
    if let Some(after) = rest.strip_prefix(b".") {
        fraction = digits(after);
        rest = &after[fraction..];
    }
    if let Some(after) = rest.strip_prefix(b"e").or(rest.strip_prefix(b"E")) {
        let power = after.strip_prefix(b"-").or(after.strip_prefix(b"+")).unwrap_or(after);
        let count = digits(power);
        return whole + fraction > 0 && count > 0 && count == power.len();
    }
    whole + fraction > 0 && rest.is_empty()
}

/// Writes a number with the fewest digits that read back as the same `f64`; nothing for NaN.
#[inline]
pub(crate) fn put_number(out: &mut Vec<u8>, number: f64) {
    if !number.is_nan() {
        out.extend_from_slice(zmij::Buffer::new().format(number).as_bytes());
    }
}

/// Writes a whole number that is held as an `f64`; nothing for NaN.
#[inline]
pub(crate) fn put_whole(out: &mut Vec<u8>, number: f64) {
    if !number.is_nan() {
        #[expect(clippy::cast_possible_truncation, reason = "a count, saturating")]
        put_integer(out, number as i64);
    }
}

/// Writes an integer.
pub(crate) fn put_integer(out: &mut Vec<u8>, integer: i64) {
    let mut digits = [0_u8; 20];
    let mut start = digits.len();
    let mut rest = integer.unsigned_abs();
    loop {
        start -= 1;
        let digit = (rest % 10) as u8;
        digits[start] = b'0' + digit;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    if integer < 0 {
        out.push(b'-');
    }
    out.extend_from_slice(&digits[start..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn put(cell: &str) -> String {
        let mut out = Vec::new();
        put_text(&mut out, cell.as_bytes());
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn quotes_only_where_needed() {
        for (cell, text) in [
            ("", ""),
            ("oak street", "oak street"),
            (" a ", " a "),
            ("a,b", "\"a,b\""),
            ("5\" lath", "\"5\"\" lath\""),
            ("two\nlines", "\"two\nlines\""),
        ] {
            assert_eq!(put(cell), text);
        }
    }

    #[test]
    fn formulas_are_text_and_numbers_stay() {
        for (cell, text) in [
            ("=1+1", "'=1+1"),
            ("=HYPERLINK(\"x\",\"y\")", "\"'=HYPERLINK(\"\"x\"\",\"\"y\"\")\""),
            ("@sum", "'@sum"),
            ("\tx", "'\tx"),
            ("\rx", "\"'\rx\""),
            ("-", "'-"),
            ("+", "'+"),
            ("-1+cmd", "'-1+cmd"),
            ("-1e", "'-1e"),
            ("+1 234", "'+1 234"),
            ("-12.5", "-12.5"),
            ("+1", "+1"),
            ("-.5e-3", "-.5e-3"),
            ("-5.", "-5."),
            ("'=1", "'=1"),
        ] {
            assert_eq!(put(cell), text);
        }
    }

    #[test]
    fn numbers_read_back() {
        for number in [0.0, -0.0, 1.0, 0.1, 1e300, -2.5e-8, 1.0 / 3.0, 123_456_789.0] {
            let mut out = Vec::new();
            put_number(&mut out, number);
            let text = String::from_utf8(out).unwrap();
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), number.to_bits(), "{text}");
        }
        for integer in [0, -7, 10, i64::MAX, i64::MIN] {
            let mut out = Vec::new();
            put_integer(&mut out, integer);
            assert_eq!(String::from_utf8(out).unwrap(), integer.to_string());
        }
    }
}
