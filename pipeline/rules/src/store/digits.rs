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
}
