use super::*;

fn braked(speedbrake: Vec<f64>, thrust: Vec<f64>, minimum_pct: f64) -> Option<f64> {
    let over: Vec<f64> = thrust.iter().map(|t| t - minimum_pct).collect();
    let flown = columns(&[
        ("speedbrake", &speedbrake),
        ("thrust_pct", &thrust),
        ("thrust_over_min_pct", &over),
    ]);
    filled(&flown).speedbrake_against_thrust_s
}

#[test]
fn speedbrake_counts_against_thrust_well_above_the_lowest() {
    let out = in_samples(60, 10..40, 0.5, 0.0);
    // Idle 30 %, 38 % is not more than 8 above it, 38.5 % is.
    let mut thrust = in_samples(60, 20..30, 38.0, 30.0);
    close(braked(out.clone(), thrust.clone(), 45.0), 0.0);
    thrust[20..25].fill(38.5);
    close(braked(out.clone(), thrust, 45.0), 5.0);
    // Never at idle: the type's minimum serves.
    close(braked(out.clone(), steady(60, 50.0), 45.0), 30.0);
    close(braked(out.clone(), steady(60, 40.0), 45.0), 0.0);
    // Thrust unknown, but the speedbrake never out: none.
    close(braked(steady(60, 0.0), steady(60, f64::NAN), 45.0), 0.0);
    assert_eq!(braked(out, steady(60, f64::NAN), 45.0), None);
    assert_eq!(braked(steady(60, f64::NAN), steady(60, 50.0), 45.0), None);
}

/// 100 samples from 12 NM inwards, an excess from the 11th sample on: called for at 11.0 NM.
fn called(speedbrake: Vec<f64>, gear: Vec<f64>, lever: Vec<f64>) -> ApproachRow {
    filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(100, 12.0)),
        ("energy_excess_ft", &in_samples(100, 10..100, 350.0, 250.0)),
        ("speedbrake", &speedbrake),
        ("gear_down", &gear),
        ("flap_lever", &lever),
    ]))
}

#[test]
fn drag_is_late_by_the_miles_from_the_call_until_it_came() {
    let none = || steady(100, 0.0);
    let by_brake = called(in_samples(100, 35..50, 0.4, 0.0), none(), none());
    close(by_brake.drag_called_nm, 11.0);
    close(by_brake.drag_late_nm, 2.5);
    let by_gear = called(none(), in_samples(100, 40..100, 1.0, 0.0), none());
    close(by_gear.drag_late_nm, 3.0);
    let by_flap = called(none(), none(), in_samples(100, 30..100, 2.0, 1.0));
    close(by_flap.drag_late_nm, 2.0);
    let in_use = called(steady(100, 0.6), none(), none());
    close(in_use.drag_late_nm, 0.0);
    // Never: as far as the approach went, the last sample at 2.1 NM.
    close(called(none(), none(), none()).drag_late_nm, 8.9);
}

#[test]
fn drag_late_is_unknown_where_drag_may_have_come_unseen() {
    let none = || steady(100, 0.0);
    let unseen = called(in_samples(100, 20..60, f64::NAN, 0.0), none(), none());
    close(unseen.drag_called_nm, 11.0);
    assert_eq!(unseen.drag_late_nm, None);
}

#[test]
fn drag_that_is_not_called_for_is_not_late() {
    let short = in_samples(100, 10..20, 350.0, 250.0);
    let row = filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(100, 12.0)),
        ("energy_excess_ft", &short),
        ("speedbrake", &steady(100, 0.0)),
    ]));
    assert_eq!((row.drag_called_nm, row.drag_late_nm), (None, None));
}
