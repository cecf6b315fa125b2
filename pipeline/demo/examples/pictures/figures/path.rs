//! The path: sink, speed at the gate, threshold, touchdown, heights far out.

use super::{Figure, Shown, middle};
use crate::fleet::flown::{Flown, Moment};
use crate::fleet::runways::FT_PER_NM;

/// What the paths of a fleet's approaches show.
#[derive(Default)]
pub(crate) struct Paths {
    sink_over_ground_speed: Vec<f64>,
    sank_fast: (usize, usize),
    in_speed_range: (usize, usize),
    crossing_ft: Vec<f64>,
    in_zone: (usize, usize),
    height_40_ft: Vec<f64>,
    height_15_ft: Vec<f64>,
    limit_exceeded: (usize, usize),
}

fn count(tally: &mut (usize, usize), yes: bool) {
    tally.0 += usize::from(yes);
    tally.1 += 1;
}

/// Sink over the ten seconds around a moment, ft/min.
fn sink_fpm(moments: &[&Moment], index: usize) -> Option<f64> {
    let (before, after) = (moments.get(index.checked_sub(5)?)?, moments.get(index + 5)?);
    Some((before.height_ft - after.height_ft) / (after.time_s - before.time_s) * 60.0)
}

impl Paths {
    pub(super) fn add(&mut self, flown: &Flown<'_>) {
        let Some(truth) = &flown.truth else { return };
        let moments: Vec<&Moment> = flown.approach().collect();
        if truth.number == 1 {
            let at = |distance_nm: f64| {
                let moment = flown.at_distance(distance_nm)?;
                (moment.to_go_nm < distance_nm + 0.5).then_some(moment.height_ft)
            };
            // A record that begins nearer than 40 NM says nothing of it.
            self.height_40_ft.extend(at(40.0).or_else(|| at(39.0)));
            self.height_15_ft.extend(at(15.0));
        }
        if let Some(over) = truth.event("flap_limit_exceeded") {
            count(&mut self.limit_exceeded, over);
        }
        if !truth.landed() {
            return;
        }
        if let Some(gate) = flown.at_height(500.0) {
            let over_kt = gate.cas_kt - truth.vref_kt;
            count(&mut self.in_speed_range, (0.0..=20.0).contains(&over_kt));
        }
        if (flown.end.glide_path_deg - 3.0).abs() < 0.05 {
            let below: Vec<usize> = (0..moments.len())
                .filter(|index| (100.0..1000.0).contains(&moments[*index].height_ft))
                .collect();
            let fastest = below
                .iter()
                .filter_map(|index| sink_fpm(&moments, *index))
                .fold(f64::NAN, f64::max);
            count(&mut self.sank_fast, fastest > 1000.0);
            let on_path = below.get(below.len() / 2);
            self.sink_over_ground_speed
                .extend(on_path.and_then(|index| {
                    Some(sink_fpm(&moments, *index)? / moments[*index].ground_speed_kt)
                }));
        }
        if let Some(over) = moments.iter().find(|moment| moment.to_go_nm <= 0.0) {
            let antenna_ft = over.height_ft + flown.aircraft.wheels_below_antenna_ft;
            self.crossing_ft.push(antenna_ft);
        }
        if let Some(contact) = moments.last() {
            let in_ft = -contact.to_go_nm * FT_PER_NM;
            count(&mut self.in_zone, (0.0..=3000.0).contains(&in_ft));
        }
    }

    pub(super) fn figures(&self) -> Vec<Figure> {
        let figure = |name: &str, published: &str, source, range, shown| Figure {
            name: name.to_owned(),
            published: published.to_owned(),
            source,
            range,
            shown,
        };
        let share = |tally: (usize, usize)| Shown::Share(tally.0, tally.1, 100.0);
        vec![
            figure(
                "height at 40 NM",
                "9,000 ft",
                "FSF ALAR BN 4.1, from memory",
                (7500.0, 12_500.0),
                middle(&self.height_40_ft, "ft"),
            ),
            figure(
                "height at 15 NM",
                "3,000 ft (BN 4.1, from memory); 3,500 ft (common practice)",
                "FSF ALAR BN 4.1, from memory",
                (2600.0, 4200.0),
                middle(&self.height_15_ft, "ft"),
            ),
            figure(
                "sink on a 3° path over ground speed, at about 500 ft",
                "5 × ground speed (5.3 by geometry)",
                "FAA-H-8083-16B p. 3-6, quoted",
                (5.0, 5.6),
                middle(&self.sink_over_ground_speed, "ft/min per kt"),
            ),
            figure(
                "landings that sank faster than 1,000 ft/min for ten seconds below 1,000 ft",
                "sink ≤ 1,000 ft/min",
                "FSF ALAR BN 7.1; FAA AFH jet chapter",
                (0.0, 3.0),
                share(self.sank_fast),
            ),
            figure(
                "landings within VREF … VREF + 20 kt at 500 ft",
                "VREF … VREF + 20 kt",
                "FSF ALAR BN 7.1",
                (94.0, 100.0),
                share(self.in_speed_range),
            ),
            figure(
                "height of the path's antenna over the threshold",
                "50 ft",
                "FAA AFH; FSF ALAR BN 8.3",
                (42.0, 60.0),
                middle(&self.crossing_ft, "ft"),
            ),
            figure(
                "touchdowns within the first 3,000 ft",
                "first 3,000 ft",
                "FAA touchdown zone, quoted",
                (97.0, 100.0),
                share(self.in_zone),
            ),
            figure(
                "approaches with a flap limit exceeded",
                "limits are not to be exceeded; no rate is published",
                "14 CFR 25.1511",
                (0.0, 2.5),
                share(self.limit_exceeded),
            ),
        ]
    }
}
