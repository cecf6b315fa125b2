//! One clock for the parts of a record.

use super::Fault;
use super::times::Form;

const DAY_S: f64 = 86_400.0;
/// Times beyond this are a clock's, not a record's: a week.
const CLOCK_FROM_S: f64 = 604_800.0;
/// Two parts that have less than this share of the shorter in common are of two flights, or of two clocks.
/// By judgement: parts of one recording are switched on and off together.
const LEAST_COMMON_SHARE: f64 = 0.5;
/// A part shorter than this share of the record is told, by judgement.
const TOLD_BELOW_SHARE: f64 = 0.9;

/// When one part was recorded, in the seconds of its file.
pub(super) struct Span {
    pub(super) name: String,
    pub(super) form: Option<Form>,
    pub(super) first_s: f64,
    pub(super) last_s: f64,
}

/// What to do with the times of each part.
#[derive(Debug, PartialEq)]
pub(super) struct Common {
    /// To be taken off the times of each part, in the order of the parts.
    pub(super) origin_s: Vec<f64>,
    /// Where the record begins, after that.
    pub(super) start_s: f64,
    pub(super) notes: Vec<String>,
}

/// Brings the parts to one clock, which for dates, times of day and large numbers begins with the record.
///
/// # Errors
/// When the times are of different forms, or two parts hardly have a moment in common.
pub(super) fn common_time(spans: &[Span]) -> Result<Common, Fault> {
    let Some(lead) = spans.first() else {
        let detail = "no row has a time; check the time column";
        return Err(Fault::new("no usable time", detail));
    };
    if let Some(other) = spans.iter().find(|span| span.form != lead.form) {
        let detail = format!(
            "{} holds {}, {} {}: write the times of both in one form",
            lead.name,
            in_words(lead.form),
            other.name,
            in_words(other.form)
        );
        return Err(Fault::new("parts without a common time", detail));
    }
    // A part that begins after midnight goes to the day of the others.
    let day_s = |span: &Span| match span.form {
        Some(Form::Clock) => ((span.first_s - lead.first_s) / DAY_S).round() * DAY_S,
        _ => 0.0,
    };
    let moved: Vec<[f64; 2]> = spans
        .iter()
        .map(|span| [span.first_s - day_s(span), span.last_s - day_s(span)])
        .collect();
    let first_s = moved.iter().map(|m| m[0]).fold(f64::INFINITY, f64::min);
    let last_s = moved.iter().map(|m| m[1]).fold(f64::NEG_INFINITY, f64::max);
    let mut notes = Vec::new();
    for (i, (span, [from_s, to_s])) in spans.iter().zip(&moved).enumerate() {
        for (other, [other_from_s, other_to_s]) in spans.iter().zip(&moved).take(i) {
            let common_s = to_s.min(*other_to_s) - from_s.max(*other_from_s);
            let shorter_s = (to_s - from_s).min(other_to_s - other_from_s);
            if common_s < LEAST_COMMON_SHARE * shorter_s || common_s < 0.0 {
                let detail = format!(
                    "{} lasts {:.0} s, {} {:.0} s, and they have {:.0} s in common: the parts are of \
                     different flights, or their clocks count from different moments or in different \
                     units; correct `unit` or `offset` of time_s in their maps",
                    other.name,
                    other_to_s - other_from_s,
                    span.name,
                    to_s - from_s,
                    common_s.max(0.0)
                );
                return Err(Fault::new("parts without a common time", detail));
            }
        }
        if to_s - from_s < TOLD_BELOW_SHARE * (last_s - first_s) {
            notes.push(format!(
                "{} covers {:.0} s of {:.0} s",
                span.name,
                to_s - from_s,
                last_s - first_s
            ));
        }
    }
    let clock = matches!(lead.form, Some(Form::Moment | Form::Clock));
    let counted = clock || moved.iter().any(|m| m[0].abs() > CLOCK_FROM_S);
    let origin_s = if counted { first_s } else { 0.0 };
    Ok(Common {
        origin_s: spans.iter().map(|span| origin_s + day_s(span)).collect(),
        start_s: first_s - origin_s,
        notes,
    })
}

fn in_words(form: Option<Form>) -> &'static str {
    match form {
        Some(Form::Moment) => "dates and times",
        Some(Form::Clock) => "times of day",
        Some(Form::Count) => "numbers",
        None => "no times",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn common(form: Form, spans: &[[f64; 2]]) -> Result<Common, String> {
        let span = |(&[first_s, last_s], name): (&[f64; 2], &str)| Span {
            name: name.to_owned(),
            form: Some(form),
            first_s,
            last_s,
        };
        let spans: Vec<Span> = spans.iter().zip(["a", "b", "c"]).map(span).collect();
        common_time(&spans).map_err(|fault| fault.detail)
    }

    fn made(origin_s: &[f64], start_s: f64, notes: &[&str]) -> Result<Common, String> {
        Ok(Common {
            origin_s: origin_s.to_vec(),
            start_s,
            notes: notes.iter().map(|&note| note.to_owned()).collect(),
        })
    }

    #[test]
    fn counts_are_kept_unless_they_are_a_clocks() {
        let found = common(Form::Count, &[[3.0, 900.0], [2.5, 901.0]]);
        assert_eq!(found, made(&[0.0, 0.0], 2.5, &[]));
        let found = common(Form::Count, &[[1e9, 1e9 + 900.0], [1e9 - 1.0, 1e9 + 899.0]]);
        assert_eq!(found, made(&[1e9 - 1.0; 2], 0.0, &[]));
    }

    #[test]
    fn midnight_may_fall_between_two_beginnings() {
        let after = common(Form::Clock, &[[86_399.0, 90_000.0], [1.0, 3_600.0]]);
        assert_eq!(after, made(&[86_399.0, -1.0], 0.0, &[]));
        let before = common(Form::Clock, &[[1.0, 3_600.0], [86_399.0, 90_000.0]]);
        assert_eq!(before, made(&[-1.0, 86_399.0], 0.0, &[]));
    }

    #[test]
    fn parts_of_different_times_are_refused_with_what_they_have_in_common() {
        let detail = common(Form::Count, &[[0.0, 900.0], [700.0, 1_500.0]]).unwrap_err();
        let begins = "a lasts 900 s, b 800 s, and they have 200 s in common: ";
        assert!(detail.starts_with(begins), "{detail}");
        assert!(common(Form::Count, &[[0.0, 900.0], [1e9, 1e9 + 900.0]]).is_err());
        // A short part in a long one may be meant.
        let found = common(Form::Count, &[[0.0, 900.0], [600.0, 900.0]]);
        assert_eq!(found, made(&[0.0, 0.0], 0.0, &["b covers 300 s of 900 s"]));
    }

    #[test]
    fn forms_do_not_mix() {
        let span = |name: &str, form| Span {
            name: name.to_owned(),
            form: Some(form),
            first_s: 0.0,
            last_s: 9.0,
        };
        let spans = [span("a", Form::Count), span("b", Form::Clock)];
        let fault = common_time(&spans).unwrap_err();
        assert_eq!(
            fault.detail,
            "a holds numbers, b times of day: write the times of both in one form"
        );
    }
}
