//! Numbers as they stand in every table: with as many digits as the samples carry.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];
/// Digits that a number keeps.
const KEPT: i32 = 7;
/// So near to the middle between two candidates, the digits decide and not a product that was rounded itself.
const NEAR_TIE: f64 = 1e-6;

/// A number rounded to seven significant digits: the nearest double to them.
pub(crate) fn seven_digits(value: f64) -> f64 {
    match scaled(value.abs()) {
        Some((digits, shift)) => unscaled(digits, shift).copysign(value),
        None => format!("{value:.6e}").parse().unwrap_or(value),
    }
}

/// `digits × 10^-shift`. Both are exact, so that the one operation gives the nearest double.
fn unscaled(digits: f64, shift: i32) -> f64 {
    let power = |at: i32| POWERS[at.unsigned_abs() as usize];
    if shift >= 0 {
        digits / power(shift)
    } else {
        digits * power(shift)
    }
}

/// The seven digits of a positive number as a whole one, and by which power of ten it was multiplied. None
/// where that is not certain: very large and very small numbers, and those between two candidates.
fn scaled(value: f64) -> Option<(f64, i32)> {
    if value < 1e7 && value.fract() == 0.0 {
        return Some((value, 0));
    }
    if !(1e-10..1e15).contains(&value) {
        return None;
    }
    // From the exponent of two; one too few at most.
    #[allow(clippy::cast_possible_truncation)] // 11 bits
    let binary = (value.to_bits() >> 52) as i32 - 1023;
    let mut shift = KEPT - 1 - ((binary * 1233) >> 12);
    let times = |shift: i32| unscaled(value, -shift);
    let mut product = times(shift);
    if product >= 1e7 {
        shift -= 1;
        product = times(shift);
    }
    if !(1e6..1e7).contains(&product) {
        return None;
    }
    let whole = product.floor();
    let rest = product - whole;
    if (rest - 0.5).abs() < NEAR_TIE {
        return None;
    }
    Some((if rest > 0.5 { whole + 1.0 } else { whole }, shift))
}

/// Writes a number with the fewest digits that tell it from every other: plain from 0.00001 up to sixteen
/// digits before the point, with an exponent beyond. Whole numbers have a `.0`.
pub(crate) fn write_number(out: &mut Vec<u8>, value: f64) {
    let size = value.abs();
    let exact = scaled(size).filter(|(digits, shift)| unscaled(*digits, *shift) == size);
    let Some((digits, shift)) = exact.filter(|_| value.is_finite()) else {
        return write_any(out, value);
    };
    if value.is_sign_negative() {
        out.push(b'-');
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // below ten millions
    let (mut digits, mut places) = (digits as u64, shift);
    if digits == 0 {
        out.extend_from_slice(b"0.0");
        return;
    }
    while digits % 10 == 0 && places > 0 {
        digits /= 10;
        places -= 1;
    }
    let mut text = [b'0'; 20];
    let text = decimal(&mut text, digits);
    let before = i32::try_from(text.len()).unwrap_or(0) - places;
    let zeros = |out: &mut Vec<u8>, count: i32| {
        out.extend(std::iter::repeat_n(
            b'0',
            usize::try_from(count).unwrap_or(0),
        ));
    };
    if places <= 0 {
        out.extend_from_slice(text);
        zeros(out, -places);
        out.extend_from_slice(b".0");
    } else if before > 0 {
        let (whole, rest) = text.split_at(usize::try_from(before).unwrap_or(0));
        out.extend_from_slice(whole);
        out.push(b'.');
        out.extend_from_slice(rest);
    } else if before > -5 {
        out.extend_from_slice(b"0.");
        zeros(out, -before);
        out.extend_from_slice(text);
    } else {
        write_any_size(out, size);
    }
}

fn write_any(out: &mut Vec<u8>, value: f64) {
    if value.is_finite() && value.is_sign_negative() {
        out.push(b'-');
        write_any_size(out, -value);
    } else {
        write_any_size(out, value);
    }
}

fn write_any_size(out: &mut Vec<u8>, value: f64) {
    // The shortest text in the same form: the standard library's own goes over to an exponent a digit earlier.
    let plain = (1e-5..1e-4).contains(&value);
    let text = if plain {
        format!("{value}")
    } else {
        format!("{value:?}")
    };
    out.extend_from_slice(text.as_bytes());
}

/// Writes a whole number.
pub(crate) fn write_whole(out: &mut Vec<u8>, value: i64) {
    if value < 0 {
        out.push(b'-');
    }
    let mut text = [b'0'; 20];
    out.extend_from_slice(decimal(&mut text, value.unsigned_abs()));
}

/// The decimal digits of a number, at the end of `text`.
#[allow(clippy::cast_possible_truncation)] // a digit
fn decimal(text: &mut [u8; 20], mut value: u64) -> &[u8] {
    let mut at = text.len();
    loop {
        at -= 1;
        text[at] = b'0' + (value % 10) as u8;
        value /= 10;
        if value == 0 {
            return &text[at..];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers of every size, and those that are hard to round: halves, neighbours of powers of ten.
    fn hard() -> Vec<f64> {
        let mut numbers = vec![
            0.0,
            -0.0,
            0.5,
            1.0,
            -1.0,
            123.0,
            1e22,
            1e300,
            5e-324,
            f64::MAX,
        ];
        let mut state = 0x9e37_79b9_7f4a_7c15_u64;
        for _ in 0..200_000 {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            numbers.push(f64::from_bits(state));
            #[allow(clippy::cast_precision_loss)]
            let share = (state >> 11) as f64 / (1_u64 << 53) as f64;
            numbers.extend([share, share * 1e3, share * 1e-3, -share * 1e6, share * 1e9]);
            #[allow(clippy::cast_possible_truncation)]
            numbers.push(f64::from((share * 1e4) as f32));
            // Seven digits and a half.
            let digits = (share * 1e7).floor() + 0.5;
            numbers.extend([digits, digits / 1e3, digits / 1e9, digits * 1e3]);
        }
        for power in -15..20 {
            let ten = 10_f64.powi(power);
            numbers.extend([ten, ten.next_down(), ten.next_up(), ten * 9.999_999_5]);
        }
        numbers.retain(|number| number.is_finite());
        numbers
    }

    #[test]
    fn seven_digits_are_those_of_the_decimal_text() {
        for number in hard() {
            let text: f64 = format!("{number:.6e}").parse().unwrap();
            assert_eq!(seven_digits(number).to_bits(), text.to_bits(), "{number:e}");
        }
    }

    #[test]
    fn numbers_read_as_the_shortest_text() {
        for number in hard() {
            for number in [number, seven_digits(number)] {
                let mut text = Vec::new();
                write_number(&mut text, number);
                let text = String::from_utf8(text).unwrap();
                let plain = (1e-5..1e-4).contains(&number.abs());
                let expected = if plain {
                    format!("{number}")
                } else {
                    format!("{number:?}")
                };
                assert_eq!(text, expected);
            }
        }
        let mut text = Vec::new();
        write_number(&mut text, f64::NAN);
        assert_eq!(text, b"NaN");
    }

    #[test]
    fn whole_numbers_have_their_sign() {
        for number in [0, 7, -7, 1_000_000, i64::MAX, i64::MIN] {
            let mut text = Vec::new();
            write_whole(&mut text, number);
            assert_eq!(String::from_utf8(text).unwrap(), number.to_string());
        }
    }
}
