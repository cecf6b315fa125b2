//! What was planned for this distance: heights of the profile and the planner, target speed.

use super::{Frame, Segment, Work};
use crate::atmosphere::FT_PER_NM;
use crate::fleet::{AircraftType, Allowance};

const RULE_FT_PER_NM: f64 = 300.0;
/// Taken off the rule of three as room to slow down: common practice, no published source.
const SLOWING_ALLOWANCE_FT: f64 = 1_000.0;
/// … or so much for each knot still to lose: 10 kt to a mile of 300 ft, common practice, no published source.
const ALLOWANCE_FT_PER_KT: f64 = 30.0;
/// The planner follows the rule of three down to here, …
const RULE_UNTIL_NM: f64 = 15.0;
/// … and the glide path from here in: common practice, no published source.
const PATH_FROM_NM: f64 = 8.0;

/// Height of the glide path at a distance, flat earth, ft: 318.4 ft per NM at 3°.
///
/// A beam is straight, and the earth falls away from under it: one at 3° stands about 22 ft above this line at
/// 5 NM, 88 ft at 10 NM and 353 ft at 20 NM.
pub fn profile_height_ft(distance_nm: f64, frame: &Frame) -> f64 {
    frame.crossing_height_ft + distance_nm * frame.glide_path_deg.to_radians().tan() * FT_PER_NM
}

/// 300 ft per NM less 1,000 ft to slow down; nothing taken off from `slowed_by_nm` in, where the
/// speed has come down already.
pub fn rule_of_three_ft(distance_nm: f64, slowed_by_nm: Option<f64>) -> f64 {
    let slowed = slowed_by_nm.is_some_and(|limit| distance_nm <= limit);
    RULE_FT_PER_NM * distance_nm - if slowed { 0.0 } else { SLOWING_ALLOWANCE_FT }
}

/// 300 ft per NM less 30 ft for each knot above the speed usually flown with the first flap, at most
/// 1,000 ft: the faster, the more room is needed to slow down.
pub fn rule_of_three_by_speed_ft(distance_nm: f64, cas_kt: f64, first_flap_cas_kt: f64) -> f64 {
    let allowance = ALLOWANCE_FT_PER_KT * (cas_kt - first_flap_cas_kt);
    RULE_FT_PER_NM * distance_nm - allowance.clamp(0.0, SLOWING_ALLOWANCE_FT)
}

/// Height planned for a distance: the rule of three beyond 15 NM, linear to the glide path at
/// 8 NM, the glide path inside.
pub fn planning_height_ft(distance_nm: f64, frame: &Frame) -> f64 {
    if distance_nm >= RULE_UNTIL_NM {
        return rule_of_three_ft(distance_nm, None);
    }
    if distance_nm < PATH_FROM_NM {
        return profile_height_ft(distance_nm, frame);
    }
    let far = rule_of_three_ft(RULE_UNTIL_NM, None);
    let near = profile_height_ft(PATH_FROM_NM, frame);
    let share = (distance_nm - PATH_FROM_NM) / (RULE_UNTIL_NM - PATH_FROM_NM);
    near + share * (far - near)
}

/// Where the allowance goes by speed: the speed usually flown with the first flap.
fn first_flap_cas_kt(aircraft: &AircraftType) -> Option<f64> {
    let by_speed = aircraft.target_speed.allowance == Allowance::Speed;
    let first = aircraft.levers.get(1).filter(|_| by_speed)?;
    Some(first.target_cas_kt)
}

pub(super) fn derive(work: &mut Work, aircraft: Option<&AircraftType>, frame: &Frame) {
    let rolling: Vec<bool> = work
        .columns
        .segment
        .iter()
        .map(|s| *s == Segment::Roll)
        .collect();
    // On the runway there is nothing left to plan: the columns are unknown there.
    let planned = |work: &Work, f: &dyn Fn(f64) -> f64| -> Vec<f64> {
        let distance = work.get("distance_to_threshold_nm");
        let height = |(d, rolling): (&f64, &bool)| if *rolling { f64::NAN } else { f(*d) };
        distance.iter().zip(&rolling).map(height).collect()
    };
    let profile = planned(work, &|d| profile_height_ft(d, frame));
    work.put("profile_height_ft", profile);
    let planning = planned(work, &|d| planning_height_ft(d, frame));
    work.put("planning_height_ft", planning);
    let slowed_by_nm = aircraft.map(|a| a.target_speed.vapp_from_nm);
    let rule = match aircraft.and_then(first_flap_cas_kt) {
        Some(first_flap) => {
            let cas = work.get("cas_kt").to_vec();
            let plan = planned(work, &|d| d);
            let each = plan.iter().zip(cas);
            each.map(|(d, cas)| rule_of_three_by_speed_ft(*d, cas, first_flap))
                .collect()
        }
        None => planned(work, &|d| rule_of_three_ft(d, slowed_by_nm)),
    };
    work.put("rule_of_three_ft", rule);

    for (over, planned) in [
        ("height_over_profile_ft", "profile_height_ft"),
        ("height_over_rule_of_three_ft", "rule_of_three_ft"),
    ] {
        let values = work.each(["height_geometric_ft", planned], |[height, plan]| {
            height - plan
        });
        work.put(over, values);
    }

    if let Some(aircraft) = aircraft {
        let inputs = ["distance_to_threshold_nm", "vapp_kt"];
        let mut target = work.each(inputs, |[d, vapp]| aircraft.target_cas_kt(d, vapp));
        target
            .iter_mut()
            .zip(&rolling)
            .filter(|(_, r)| **r)
            .for_each(|(v, _)| *v = f64::NAN);
        work.put("target_cas_kt", target);
    }
    let over = work.each(["cas_kt", "target_cas_kt"], |[cas, target]| cas - target);
    work.put("over_target_kt", over);
}
