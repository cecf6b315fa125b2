//! What the pictures of single approaches share: the axis, strips of levers, and the check against the table.

use crate::fault::Fault;
use crate::frame::Frame;
use crate::review::Samples;

/// Pictures begin here: a little before the window in which habits are looked for.
pub(super) const FAR_NM: f64 = 22.0;
pub(super) const AXIS: &str = "track distance to the threshold, NM";
/// Out is above this, as in `docs/measurements.md`.
pub(super) const OUT: f64 = 0.1;

/// A column of the approach against distance.
pub(super) fn by_distance(
    samples: &Samples,
    value: impl Fn(usize) -> Option<f64>,
) -> Vec<(Option<f64>, Option<f64>)> {
    samples
        .own()
        .map(|k| (samples.distance_nm[k], value(k)))
        .collect()
}

/// Stretches as distances, nearer end first; a sample reaches to the next.
pub(super) fn distances(samples: &Samples, stretches: &[(usize, usize)]) -> Vec<(f64, f64)> {
    let last = samples.own().last().unwrap_or(0);
    stretches
        .iter()
        .filter_map(|&(from, to)| {
            Some((
                samples.distance_nm[(to + 1).min(last)]?,
                samples.distance_nm[from]?,
            ))
        })
        .collect()
}

/// Least and greatest value that the picture shows, widened to hold `others` too.
pub(super) fn extent(
    points: &[(Option<f64>, Option<f64>)],
    others: &[f64],
    far: f64,
) -> (f64, f64) {
    let shown = points
        .iter()
        .filter(|p| p.0.is_some_and(|x| (0.0..=far).contains(&x)))
        .filter_map(|p| p.1)
        .chain(others.iter().copied());
    let (low, high) = shown.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v), high.max(v))
    });
    let room = (high - low) * 0.08;
    (low - room, high + room)
}

/// Strips of flap lever, gear and speedbrake.
pub(super) fn levers(frame: &mut Frame, samples: &Samples, names: &[&str]) -> Result<(), Fault> {
    for name in names {
        let bars = match *name {
            "flap lever" => positions(samples, samples.column("flap_lever")?),
            "gear" => on(samples, samples.column("gear_down")?, 0.5, "down"),
            "speedbrake" => on(samples, samples.column("speedbrake")?, OUT, "out"),
            _ => on(samples, samples.column("landing_flap_set")?, 0.5, "set"),
        };
        frame.strip(name, &bars);
    }
    Ok(())
}

fn on(
    samples: &Samples,
    values: &[Option<f64>],
    above: f64,
    word: &str,
) -> Vec<(f64, f64, String)> {
    let stretches = samples.stretches(|k| values[k].is_some_and(|v| v > above));
    let bars = distances(samples, &stretches).into_iter();
    bars.filter(|bar| bar.0 <= FAR_NM)
        .map(|(near, far)| (near.max(0.0), far.min(FAR_NM), word.to_owned()))
        .collect()
}

/// A bar for every position of the lever that is not clean.
fn positions(samples: &Samples, values: &[Option<f64>]) -> Vec<(f64, f64, String)> {
    let highest = values.iter().flatten().copied().fold(0.0, f64::max);
    let mut bars = Vec::new();
    let mut position = 1.0;
    while position <= highest {
        let stretches = samples.stretches(|k| values[k] == Some(position));
        let own = distances(samples, &stretches).into_iter();
        bars.extend(
            own.filter(|bar| bar.0 <= FAR_NM)
                .map(|(near, far)| (near.max(0.0), far.min(FAR_NM), format!("{position:.0}"))),
        );
        position += 1.0;
    }
    bars
}

/// Refuses a picture whose mark is not what the table says.
pub(super) fn agrees(name: &str, table: f64, found: f64, within: f64) -> Result<(), Fault> {
    if (table - found).abs() <= within {
        return Ok(());
    }
    Err(Fault::new(format!(
        "the samples give {found:.2} for {name}, the table has {table:.2}: the definition and the picture differ"
    )))
}

/// A value of the approach that must be known where the picture is drawn.
pub(super) fn known(value: Option<f64>, name: &str) -> Result<f64, Fault> {
    value.ok_or_else(|| {
        Fault::new(format!(
            "{name} is not known of the approach that was chosen"
        ))
    })
}
