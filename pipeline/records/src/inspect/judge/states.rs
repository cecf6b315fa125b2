//! States that are one way round or the other.

use super::{Known, Relation, holds, mean_where};
use Relation::{Contradicts, Untold};

/// A 0/1 column against another one: what it is below `low` and above `high`.
pub(super) fn state(
    raw: &[f64],
    known: Option<&Vec<f64>>,
    low: f64,
    high: f64,
    below_is_one: bool,
    what: &str,
) -> Relation {
    let Some(known) = known else { return Untold };
    let below = mean_where(raw, known, |v| v < low);
    let above = mean_where(raw, known, |v| v > high);
    let one = |share: Option<f64>| share.map(|s| s > 0.9);
    let zero = |share: Option<f64>| share.map(|s| s < 0.1);
    let (is, is_not) = if below_is_one {
        (below, above)
    } else {
        (above, below)
    };
    match (one(is), zero(is_not), zero(is), one(is_not)) {
        (Some(true), Some(true), ..) => holds(1.0, 0.0, &format!("1 {what}")),
        (_, _, Some(true), Some(true)) => holds(-1.0, 1.0, &format!("0 {what}: inverted")),
        (Some(_), Some(_), ..) => {
            Contradicts(format!("it is neither always 1 nor always 0 {what}"))
        }
        _ => Untold,
    }
}

pub(super) fn gear(raw: &[f64], known: &Known) -> Relation {
    let (Some(cas), Some(radio)) = (known.get("cas_kt"), known.get("radio_altitude_ft")) else {
        return Untold;
    };
    // Low and slow is one side, fast the other, all else neither.
    let side: Vec<f64> = cas
        .iter()
        .zip(radio)
        .map(|(c, r)| {
            if *c > 270.0 {
                1.0
            } else if *c < 160.0 && *r < 500.0 {
                -1.0
            } else {
                f64::NAN
            }
        })
        .collect();
    state(
        raw,
        Some(&side),
        0.0,
        0.0,
        true,
        "low and slow, the other when fast",
    )
}
