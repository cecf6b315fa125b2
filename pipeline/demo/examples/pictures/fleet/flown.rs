//! One approach as it was flown: second by second, by track distance to the threshold.

use super::air::{height_ft, kinetic_ft, tas_kt};
use super::aircraft::AircraftType;
use super::record::Recording;
use super::runways::RunwayEnd;
use super::truth::Approach;

/// Longest gap over which a continuous and a held parameter are still known, s.
const GAP_S: f64 = 5.0;
const HOLD_S: f64 = 10.0;

/// One second. What a recorder does not know is `None`.
#[derive(Clone, Debug)]
pub(crate) struct Moment {
    pub(crate) time_s: f64,
    /// Track distance to the threshold, NM; negative beyond it.
    pub(crate) to_go_nm: f64,
    /// True height above the threshold.
    pub(crate) height_ft: f64,
    pub(crate) cas_kt: f64,
    pub(crate) tas_kt: f64,
    pub(crate) ground_speed_kt: f64,
    pub(crate) pressure_altitude_ft: f64,
    pub(crate) pitch_deg: Option<f64>,
    pub(crate) roll_deg: Option<f64>,
    pub(crate) normal_accel_g: Option<f64>,
    pub(crate) lever: Option<usize>,
    pub(crate) flap_deg: Option<f64>,
    pub(crate) gear_lever: Option<bool>,
    pub(crate) gear_down: Option<bool>,
    pub(crate) speedbrake: Option<f64>,
    pub(crate) n1_pct: Option<f64>,
    /// Fuel flow of both engines, for a recorder without N1.
    pub(crate) fuel_flow_kg_h: Option<f64>,
    /// Position in the runway's frame, NM.
    pub(crate) frame_nm: Option<(f64, f64)>,
    /// Before touchdown or go-around.
    pub(crate) approaching: bool,
}

/// An approach with everything that a picture or a figure needs.
pub(crate) struct Flown<'a> {
    /// Nothing for a real flight.
    pub(crate) truth: Option<Approach>,
    pub(crate) aircraft: &'a AircraftType,
    pub(crate) end: RunwayEnd,
    pub(crate) mass_kg: Option<f64>,
    pub(crate) vref_kt: Option<f64>,
    pub(crate) vapp_kt: f64,
    pub(crate) level_ft: f64,
    pub(crate) deviation_k: f64,
    pub(crate) moments: Vec<Moment>,
}

/// Where an approach lies in its record, and what its heights mean.
pub(crate) struct Frame {
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    pub(crate) stop_s: f64,
    /// A time and the track distance to go at it.
    pub(crate) anchor: (f64, f64),
    pub(crate) level_ft: f64,
    pub(crate) deviation_k: f64,
}

impl<'a> Flown<'a> {
    /// An approach of a written fleet; nothing where its record does not hold it.
    pub(crate) fn of_fleet(
        recording: &Recording,
        approach: &Approach,
        aircraft: &'a AircraftType,
        end: &RunwayEnd,
        mass_kg: Option<f64>,
    ) -> Option<Self> {
        let anchor = match approach.threshold_crossing_s {
            Some(time_s) => (time_s, 0.0),
            None => (
                approach.end_s,
                position(recording, approach.end_s, end)?.0.abs(),
            ),
        };
        let after_s = if approach.went_around() { 150.0 } else { 6.0 };
        let frame = Frame {
            start_s: approach.start_s,
            end_s: approach.end_s,
            stop_s: approach.end_s + after_s,
            anchor,
            level_ft: approach.threshold_pressure_altitude_ft,
            deviation_k: approach.temperature_deviation_k,
        };
        let moments = moments(recording, &frame, end);
        (moments.len() > 60).then(|| Self {
            truth: Some(approach.clone()),
            aircraft,
            end: end.clone(),
            mass_kg,
            vref_kt: Some(approach.vref_kt),
            vapp_kt: approach.vref_kt + aircraft.speeds.vapp_over_vref_kt,
            level_ft: frame.level_ft,
            deviation_k: frame.deviation_k,
            moments,
        })
    }

    /// Moments of the approach segment.
    pub(crate) fn approach(&self) -> impl DoubleEndedIterator<Item = &Moment> + Clone {
        self.moments.iter().filter(|moment| moment.approaching)
    }

    /// The planning line: 300 ft/NM less 1,000 ft beyond 15 NM, linear to the glide path at 8 NM,
    /// the glide path inside.
    pub(crate) fn planning_ft(&self, to_go_nm: f64) -> f64 {
        if to_go_nm >= 15.0 {
            300.0 * to_go_nm - 1000.0
        } else if to_go_nm >= 8.0 {
            let near = self.end.glide_path_ft(8.0);
            near + (to_go_nm - 8.0) / 7.0 * (3500.0 - near)
        } else {
            self.end.glide_path_ft(to_go_nm)
        }
    }

    /// Energy height over that of the planning line at the planned speed, ft.
    pub(crate) fn energy_excess_ft(&self, moment: &Moment) -> f64 {
        let height = self.planning_ft(moment.to_go_nm);
        let target = self.aircraft.target_cas_kt(moment.to_go_nm, self.vapp_kt);
        let target = tas_kt(target, self.level_ft + height, self.deviation_k);
        moment.height_ft + kinetic_ft(moment.tas_kt) - height - kinetic_ft(target)
    }

    /// The last moment of the approach segment at or above a height.
    pub(crate) fn at_height(&self, height_ft: f64) -> Option<&Moment> {
        let last = self.approach().next_back()?;
        let above = |moment: &&Moment| moment.height_ft >= height_ft;
        if last.height_ft > height_ft {
            return None;
        }
        self.approach().rev().find(above)
    }

    /// The last moment of the approach segment at or beyond a track distance.
    pub(crate) fn at_distance(&self, to_go_nm: f64) -> Option<&Moment> {
        if self.approach().next_back()?.to_go_nm > to_go_nm {
            return None;
        }
        self.approach()
            .rev()
            .find(|moment| moment.to_go_nm >= to_go_nm)
    }
}

/// Position in the runway's frame, NM: along the landing direction, right of it.
fn position(recording: &Recording, time_s: f64, end: &RunwayEnd) -> Option<(f64, f64)> {
    let at = |name: &str| recording.series(name).around(time_s, GAP_S);
    Some(end.frame_nm(at("latitude_deg")?, at("longitude_deg")?))
}

/// Every second of an approach, with track distances integrated from the anchor.
pub(crate) fn moments(recording: &Recording, frame: &Frame, end: &RunwayEnd) -> Vec<Moment> {
    let mut moments = Vec::new();
    let mut flown_nm = 0.0;
    let mut at_anchor_nm = None;
    let mut time_s = frame.start_s.ceil();
    while time_s <= frame.stop_s {
        let between = |name: &str| recording.series(name).between(time_s, GAP_S);
        let held = |name: &str| recording.series(name).held(time_s, HOLD_S);
        let known = (
            between("pressure_altitude_ft"),
            between("cas_kt"),
            between("ground_speed_kt"),
        );
        let (Some(pressure), Some(cas_kt), Some(ground_speed_kt)) = known else {
            time_s += 1.0;
            continue;
        };
        if let Some(last) = moments.last() {
            let last: &Moment = last;
            let step_s = time_s - last.time_s;
            let step_nm = (last.ground_speed_kt + ground_speed_kt) / 2.0 * step_s / 3600.0;
            if at_anchor_nm.is_none() && time_s >= frame.anchor.0 {
                let part = (frame.anchor.0 - last.time_s) / step_s;
                at_anchor_nm = Some(flown_nm + part * step_nm);
            }
            flown_nm += step_nm;
        }
        let engines = [between("n1_1_pct"), between("n1_2_pct")];
        let known: Vec<f64> = engines.into_iter().flatten().collect();
        moments.push(Moment {
            time_s,
            to_go_nm: flown_nm,
            height_ft: height_ft(pressure, frame.level_ft, frame.deviation_k),
            cas_kt,
            tas_kt: tas_kt(cas_kt, pressure, frame.deviation_k),
            ground_speed_kt,
            pressure_altitude_ft: pressure,
            pitch_deg: between("pitch_deg"),
            roll_deg: between("roll_deg"),
            normal_accel_g: between("normal_accel_g"),
            lever: held("flap_lever").map(|lever| lever.max(0.0) as usize),
            flap_deg: held("flap_angle_deg"),
            gear_lever: held("gear_lever").map(|value| value > 0.5),
            gear_down: held("gear_down").map(|value| value > 0.5),
            speedbrake: held("speedbrake"),
            n1_pct: (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64),
            fuel_flow_kg_h: between("fuel_flow_kg_h"),
            frame_nm: position(recording, time_s, end),
            approaching: time_s <= frame.end_s,
        });
        time_s += 1.0;
    }
    // Without the anchor in the record, its last second is it.
    let whole_nm = at_anchor_nm.unwrap_or(flown_nm) + frame.anchor.1;
    for moment in &mut moments {
        moment.to_go_nm = whole_nm - moment.to_go_nm;
    }
    moments
}
