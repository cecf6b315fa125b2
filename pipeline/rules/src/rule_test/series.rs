//! The small notation for series in rule tests: `170*10 182..190/5 _*3`.
//!
//! `95*60` is exactly 60 samples of 95; `80..95/15` is a ramp of exactly 15 samples from 80 to 95,
//! both ends among them; `_*5` is five samples missing; a bare value is one sample. Anything that
//! is not a number is a text, for text columns.

/// One sample of a series.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sample {
    Missing,
    Number(f64),
    Text(String),
}

/// More than any test needs, and far less than memory holds: 14 hours of seconds.
const MOST_SAMPLES: usize = 50_000;

/// Reads a series; `words` for a text column, where `09` is a name and no number.
///
/// # Errors
/// What is wrong with which piece.
pub(super) fn parse(text: &str, words: bool) -> Result<Vec<Sample>, String> {
    let mut samples = Vec::new();
    for piece in text.split_whitespace() {
        let (value, count) = match piece.rsplit_once('*') {
            Some((value, count)) => (value, Some(whole(piece, count)?)),
            None => (piece, None),
        };
        if let Some((from, rest)) = value.split_once("..").filter(|_| !words) {
            let Some((to, steps)) = rest.split_once('/') else {
                return Err(format!("`{piece}`: a ramp is written FROM..TO/SAMPLES"));
            };
            if count.is_some() {
                return Err(format!("`{piece}`: a ramp takes no `*`"));
            }
            samples.extend(ramp(
                number(piece, from)?,
                number(piece, to)?,
                whole(piece, steps)?,
            ));
            not_too_many(&samples)?;
            continue;
        }
        let sample = match value {
            "_" => Sample::Missing,
            word if words => Sample::Text(word.to_owned()),
            _ => value
                .parse()
                .map_or_else(|_| Sample::Text(value.to_owned()), Sample::Number),
        };
        samples.extend(std::iter::repeat_n(sample, count.unwrap_or(1)));
        not_too_many(&samples)?;
    }
    Ok(samples)
}

fn not_too_many(samples: &[Sample]) -> Result<(), String> {
    if samples.len() <= MOST_SAMPLES {
        return Ok(());
    }
    Err(format!(
        "more than {MOST_SAMPLES} samples: a test is about a few"
    ))
}

#[allow(clippy::cast_precision_loss)] // a few samples
fn ramp(from: f64, to: f64, samples: usize) -> impl Iterator<Item = Sample> {
    let last = samples.saturating_sub(1).max(1) as f64;
    (0..samples).map(move |step| Sample::Number(from + (to - from) * step as f64 / last))
}

fn number(piece: &str, text: &str) -> Result<f64, String> {
    text.parse()
        .map_err(|_| format!("`{piece}`: `{text}` is not a number"))
}

fn whole(piece: &str, text: &str) -> Result<usize, String> {
    text.parse()
        .ok()
        .filter(|count| (1..=MOST_SAMPLES).contains(count))
        .ok_or_else(|| {
            format!("`{piece}`: `{text}` is not a number of samples from 1 to {MOST_SAMPLES}")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(text: &str) -> Vec<Option<f64>> {
        parse(text, false)
            .unwrap()
            .into_iter()
            .map(|sample| match sample {
                Sample::Number(number) => Some(number),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn counts_are_exact() {
        assert_eq!(
            numbers("95*3 _*2 7"),
            [Some(95.0), Some(95.0), Some(95.0), None, None, Some(7.0)]
        );
    }

    #[test]
    fn ramps_hold_both_ends() {
        assert_eq!(
            numbers("0..4/5"),
            [Some(0.0), Some(1.0), Some(2.0), Some(3.0), Some(4.0)]
        );
        assert_eq!(numbers("10..-10/3"), [Some(10.0), Some(0.0), Some(-10.0)]);
    }

    #[test]
    fn faults_name_the_piece() {
        assert!(parse("1*x", false).unwrap_err().contains("`1*x`"));
        assert!(
            parse("1..2", false)
                .unwrap_err()
                .contains("FROM..TO/SAMPLES")
        );
        assert!(
            parse("1*0", false)
                .unwrap_err()
                .contains("not a number of samples")
        );
    }

    #[test]
    fn names_that_look_like_numbers_stay_names() {
        let names = parse("09*2", true).unwrap();
        assert_eq!(names, vec![Sample::Text("09".to_owned()); 2]);
    }
}
