//! What the configuration allows: limits, margins, manoeuvring speeds, reference speeds, thrust.

use super::{Segment, Work};
use crate::fleet::AircraftType;

const ENGINES: [&str; 4] = ["n1_1_pct", "n1_2_pct", "n1_3_pct", "n1_4_pct"];

pub(super) fn derive(work: &mut Work, aircraft: Option<&AircraftType>) {
    thrust(work, aircraft);
    if let Some(aircraft) = aircraft {
        limits(work, aircraft);
        speeds(work, aircraft);
    }
    let over = |work: &Work, name: &str| work.each(["cas_kt", name], |[cas, speed]| cas - speed);
    let values = over(work, "vref_kt");
    work.put("over_vref_kt", values);
    let values = over(work, "vapp_kt");
    work.put("over_vapp_kt", values);
}

fn limits(work: &mut Work, aircraft: &AircraftType) {
    let known = |limit: Option<f64>| limit.unwrap_or(f64::NAN);
    let lever = work.each(["flap_lever"], |[lever]| {
        known(aircraft.lever_limit_kt(lever))
    });
    work.put("vfe_lever_kt", lever);
    let surface = work.each(["flap_angle_deg", "slat_angle_deg"], |[flap, slat]| {
        known(aircraft.surface_limit_kt(flap, slat))
    });
    work.put("vfe_surface_kt", surface);
    // f64::min takes the known one where the other is not.
    let vfe = work.each(["vfe_lever_kt", "vfe_surface_kt"], |[lever, surface]| {
        lever.min(surface)
    });
    work.put("vfe_kt", vfe);
    let next = work.each(["flap_lever"], |[lever]| {
        known(aircraft.next_limit_kt(lever))
    });
    work.put("vfe_next_kt", next);
    let margin = work.each(["vfe_kt", "cas_kt"], |[vfe, cas]| vfe - cas);
    work.put("flap_margin_kt", margin);
    let set = work.each(["flap_angle_deg", "flap_lever"], |[flap, lever]| {
        aircraft
            .landing_flap_set(flap, lever)
            .map_or(f64::NAN, f64::from)
    });
    work.put("landing_flap_set", set);
    let of_type = [
        ("vlo_extend_kt", Some(aircraft.gear.extend_limit_kt)),
        ("vle_kt", Some(aircraft.gear.extended_limit_kt)),
        ("flap_altitude_limit_ft", aircraft.flap_altitude_limit_ft),
    ];
    for (name, limit) in of_type {
        work.put(name, vec![known(limit); work.unknown.len()]);
    }
}

fn speeds(work: &mut Work, aircraft: &AircraftType) {
    let used = landing_lever_used(work, aircraft);
    let vref = work.each(["gross_mass_kg"], |[mass]| aircraft.vref_kt(mass, used));
    work.put_unless_recorded("vref_kt", vref);
    let over = aircraft.speeds.vapp_over_vref_kt;
    let vapp = work.each(["vref_kt"], |[vref]| vref + over);
    work.put_unless_recorded("vapp_kt", vapp);
    let minimum = work.each(["flap_lever", "gross_mass_kg"], |[lever, mass]| {
        aircraft.min_manoeuvre_kt(lever, mass).unwrap_or(f64::NAN)
    });
    work.put("min_manoeuvre_kt", minimum);
    let window = work.each(["vfe_next_kt", "min_manoeuvre_kt"], |[next, minimum]| {
        next - minimum
    });
    work.put("selection_window_kt", window);
    let maximum = aircraft.maximum_landing_mass_kg;
    let ratio = work.each(["gross_mass_kg"], |[mass]| mass / maximum);
    work.put("mass_ratio", ratio);
}

/// Index of the landing flap the approach was flown with: as it stood last before touchdown or go-around. Unknown where
/// none was set by then, as before an early go-around.
fn landing_lever_used(work: &Work, aircraft: &AircraftType) -> Option<usize> {
    let (lever, flap) = (work.get("flap_lever"), work.get("flap_angle_deg"));
    let segment = &work.columns.segment;
    let known = |k: &usize| !(lever[*k].is_nan() && flap[*k].is_nan());
    let last = (0..segment.len())
        .filter(|k| segment[*k] == Segment::Approach)
        .rfind(known)?;
    aircraft.landing_lever(lever[last], flap[last])
}

/// Mean over the engines that are recorded on this approach; one of them missing for a moment
/// makes the mean unknown rather than wrong.
fn thrust(work: &mut Work, aircraft: Option<&AircraftType>) {
    let recorded: Vec<&str> = ENGINES.into_iter().filter(|name| work.has(name)).collect();
    let mut sum = vec![if recorded.is_empty() { f64::NAN } else { 0.0 }; work.unknown.len()];
    for name in &recorded {
        sum.iter_mut()
            .zip(work.get(name))
            .for_each(|(sum, n1)| *sum += n1);
    }
    sum.iter_mut().for_each(|sum| *sum /= recorded.len() as f64);
    work.put("thrust_pct", sum);
    if let Some(aircraft) = aircraft {
        let minimum = aircraft.approach.min_thrust_pct;
        let over = work.each(["thrust_pct"], |[thrust]| thrust - minimum);
        work.put("thrust_over_min_pct", over);
    }
}
