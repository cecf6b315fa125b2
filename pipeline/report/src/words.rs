//! The one place where figures and reasons become words.
//!
//! Formats are fixed, so that the same figure reads the same everywhere and the bytes never
//! depend on a locale. What rounds to nothing is not called nothing: 0.001 reads "<0.01".

use crate::input::{HotspotClass, LimitsStatus, Signal, Suppression};

/// Shown where a rule could not have fired or a figure is not defined.
pub(crate) const NOT_EVALUABLE: &str = "not evaluable";
/// Shown where a figure exists in principle but was not given.
pub(crate) const NOT_KNOWN: &str = "not known";
/// Shown where a rate has no interval.
pub(crate) const NOT_ESTIMATED: &str = "not estimated";

/// 1234567 → "1,234,567".
pub(crate) fn count(value: u64) -> String {
    grouped(&value.to_string())
}

/// A count, or that it is not known.
pub(crate) fn count_or_unknown(value: Option<u64>) -> String {
    value.map_or_else(|| NOT_KNOWN.to_owned(), count)
}

/// A rate per 1,000: two decimals below one, one above.
pub(crate) fn rate(value: f64) -> String {
    if value == 0.0 {
        "0.0".to_owned()
    } else if value < 0.005 {
        "<0.01".to_owned()
    } else if value < 0.995 {
        decimals(value, 2)
    } else {
        decimals(value, 1)
    }
}

/// "3.2 to 9.1".
pub(crate) fn interval(low: f64, high: f64) -> String {
    format!("{} to {}", rate(low), rate(high))
}

/// A share of 0 to 1 as percent. Only a whole reads "100.0 %".
pub(crate) fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.0005 {
        "<0.1 %".to_owned()
    } else if (0.9995..1.0).contains(&share) {
        ">99.9 %".to_owned()
    } else {
        format!("{} %", decimals(share * 100.0, 1))
    }
}

/// A probability with two decimals, never 0 or 1.
pub(crate) fn probability(value: f64) -> String {
    if value < 0.005 {
        "<0.01".to_owned()
    } else if value > 0.995 {
        ">0.99".to_owned()
    } else {
        decimals(value, 2)
    }
}

/// A share of false flags to expect (q) with three decimals, never 0.
pub(crate) fn q_value(value: f64) -> String {
    if value < 0.0005 {
        "<0.001".to_owned()
    } else {
        decimals(value, 3)
    }
}

/// A measured value: one decimal, none from 1,000 on.
pub(crate) fn measure(value: f64) -> String {
    decimals(value, if value.abs() < 999.95 { 1 } else { 0 })
}

/// A limit as a rule file writes it: up to three decimals, no trailing zeros.
pub(crate) fn limit(value: f64) -> String {
    let text = decimals(value, 3);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// Fixed decimals, grouped thousands, a true minus sign, no minus zero.
pub(crate) fn decimals(value: f64, places: usize) -> String {
    let text = format!("{:.places$}", value.abs());
    let negative = value < 0.0 && text.bytes().any(|b| (b'1'..=b'9').contains(&b));
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let sign = if negative { "\u{2212}" } else { "" };
    format!("{sign}{}{rest}", grouped(whole))
}

fn grouped(digits: &str) -> String {
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// "suppressed (fewer than 10 flights)" and its kin.
pub(crate) fn suppression(why: &Suppression) -> String {
    match why {
        Suppression::FewFlights { minimum } => {
            format!("suppressed (fewer than {} flights)", count(*minimum))
        }
        Suppression::FewTailDays { minimum } => {
            format!("suppressed (fewer than {} tail-days)", count(*minimum))
        }
        Suppression::Secondary => {
            "suppressed (it would give away a suppressed neighbour)".to_owned()
        }
    }
}

/// An airport's class in words.
pub(crate) fn class(class: HotspotClass) -> &'static str {
    match class {
        HotspotClass::HotSpot => "hot spot",
        HotspotClass::Watch => "watch",
        HotspotClass::NotElevated => "not elevated",
        HotspotClass::InsufficientData => "insufficient data",
    }
}

/// The result of a month's test in words.
pub(crate) fn signal(signal: Signal) -> &'static str {
    match signal {
        Signal::Higher => "higher than before",
        Signal::Lower => "lower than before",
        Signal::NoSignal => "no signal",
        Signal::NotTested => "not tested",
    }
}

/// Whose limits these are.
pub(crate) fn limits_status(status: LimitsStatus) -> &'static str {
    match status {
        LimitsStatus::Invented => "invented for the demo, not for use",
        LimitsStatus::Operator => "entered by the operator",
        LimitsStatus::NoLimits => "no limit of its own",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_one_format_each() {
        assert_eq!(count(0), "0");
        assert_eq!(count(1_234_567), "1,234,567");
        assert_eq!(rate(0.0), "0.0");
        assert_eq!(rate(0.001), "<0.01");
        assert_eq!(rate(0.994), "0.99");
        assert_eq!(rate(0.996), "1.0");
        assert_eq!(rate(1234.56), "1,234.6");
        assert_eq!(percent(0.9999), ">99.9 %");
        assert_eq!(percent(1.0), "100.0 %");
        assert_eq!(percent(0.0), "0.0 %");
        assert_eq!(measure(-0.01), "0.0");
        assert_eq!(measure(-12.34), "\u{2212}12.3");
        assert_eq!(measure(-1234.5), "\u{2212}1,234");
        assert_eq!(limit(1000.0), "1,000");
        assert_eq!(limit(0.25), "0.25");
        assert_eq!(probability(1.0), ">0.99");
        assert_eq!(q_value(0.0001), "<0.001");
    }

    #[test]
    fn each_suppression_says_so() {
        let reasons = [
            Suppression::FewFlights { minimum: 10 },
            Suppression::FewTailDays { minimum: 3 },
            Suppression::Secondary,
        ];
        for reason in &reasons {
            assert!(suppression(reason).starts_with("suppressed ("));
        }
        assert_eq!(
            suppression(&reasons[0]),
            "suppressed (fewer than 10 flights)"
        );
    }
}
