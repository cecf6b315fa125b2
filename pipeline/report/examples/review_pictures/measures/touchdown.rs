//! Sink at touchdown, and whether the wheels came off again.

use super::parts::known;
use crate::choose::{End, choose};
use crate::fault::Fault;
use crate::frame::{Frame, height};
use crate::review::Review;
use crate::svg::Anchor;
use crate::words::decimals;

const FROM_S: f64 = -8.0;
const TO_S: f64 = 10.0;
/// The samples of the base grid say this much about the slope at least: one that differs more is another.
const WITHIN_FPM: f64 = 240.0;

pub(crate) fn draw(review: &Review) -> Result<String, Fault> {
    let (row, sink_fpm) = choose(review, "touchdown_sink_fpm", End::High)?;
    let bounces = known(review.approaches.numbers("bounces")?[row], "bounces")?;
    let contact_s = known(review.approaches.numbers("end_s")?[row], "the contact")?;
    let samples = review.samples(row, &["radio_altitude_ft", "on_ground", "sink_rate_fpm"])?;
    let (radio, ground) = (
        samples.column("radio_altitude_ft")?,
        samples.column("on_ground")?,
    );
    let seen: Vec<usize> = (0..samples.time_s.len())
        .filter(|&k| (FROM_S..=TO_S).contains(&(samples.time_s[k] - contact_s)))
        .collect();
    let lowest = seen
        .iter()
        .filter(|&&k| (0.0..=2.0).contains(&(samples.time_s[k] - contact_s)))
        .filter_map(|&k| radio[k])
        .fold(f64::INFINITY, f64::min);
    let before = seen
        .iter()
        .rfind(|&&k| samples.time_s[k] - contact_s < -1.0 && radio[k].is_some());
    let before = *before.ok_or_else(|| Fault::new("no radio altitude before the contact"))?;
    let slope =
        (radio[before].unwrap_or(f64::NAN) - lowest) / (contact_s - samples.time_s[before]) * 60.0;
    let within = (slope - sink_fpm).abs() <= WITHIN_FPM;
    // What is no number agrees with nothing.
    if !within {
        return Err(Fault::new(format!(
            "samples sink with {slope:.0} ft/min, the table has {sink_fpm:.0}"
        )));
    }
    let says = format!(
        "{} ft/min at the contact; the wheels {}",
        decimals(sink_fpm, 0),
        match bounces as i64 {
            0 => "stayed on the ground, no bounce".to_owned(),
            1 => "came off once again".to_owned(),
            more => format!("came off {more} times again"),
        }
    );
    let points: Vec<_> = seen
        .iter()
        .map(|&k| (Some(samples.time_s[k] - contact_s), radio[k]))
        .collect();
    let (low, high) = points
        .iter()
        .filter_map(|p| p.1)
        .fold((lowest, lowest), |(l, h), v| (l.min(v), h.max(v)));
    let mut frame = Frame::new(height(&[230.0], 1), (FROM_S, TO_S), "Touchdown", &says)
        .found(vec![(-2.0, 0.0)]);
    let panel = frame.panel(230.0, (low - 2.0, high + 2.0), "radio altitude, ft");
    frame.line(&panel, &points, "thin");
    for (time, ft) in &points {
        if let (Some(x), Some(ft)) = (time.and_then(|t| frame.place(t)), ft) {
            frame.svg.circle((x, panel.scale.place(*ft)), 3.0, "dot");
        }
    }
    let ft_at = |s: f64| lowest - s * sink_fpm / 60.0;
    frame.line(
        &panel,
        &[(Some(-2.0), Some(ft_at(-2.0))), (Some(0.0), Some(lowest))],
        "measured",
    );
    let at = (
        frame.x.place(-1.0) + 10.0,
        panel.scale.place(ft_at(-1.0)) - 6.0,
    );
    frame.svg.text(
        at,
        Anchor::Start,
        "says halo",
        &format!("{} ft/min", decimals(sink_fpm, 0)),
    );
    let x = frame.x.place(0.0);
    frame.svg.line((x, panel.top), (x, panel.bottom), "bracket");
    frame.svg.text(
        (x + 6.0, panel.top + 13.0),
        Anchor::Start,
        "says halo",
        "contact",
    );
    let mut bars: Vec<(f64, f64, String)> = Vec::new();
    for pair in seen
        .windows(2)
        .filter(|pair| ground[pair[0]].is_some_and(|on| on > 0.5))
    {
        let (from, to) = (
            samples.time_s[pair[0]] - contact_s,
            samples.time_s[pair[1]] - contact_s,
        );
        match bars.last_mut() {
            Some(last) if last.1 == from => last.1 = to,
            _ => bars.push((from, to, "on the ground".to_owned())),
        }
    }
    frame.strip("wheels", &bars);
    frame.finish(
        "seconds from the contact",
        "The shaded seconds before the contact give the slope.",
    )
}
