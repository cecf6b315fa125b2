use super::*;

/// Counts in the row of `name` with one limit set, or with the program's own.
fn found(name: &str, channel: &Channel, set: &[(Key, f64)], catalogue: &Catalogue) -> i64 {
    let mut limits = Limits::default();
    for &(key, limit) in set {
        limits.set(catalogue.lookup(name), key, limit);
    }
    let mut raw = flight(vec![(name, channel.clone())]);
    let rows = super::super::clean(&mut raw, catalogue, None, &limits).report(&mut raw);
    let row = row(&rows, name);
    let held = (row.stuck_s > 0.0) as i64;
    row.spikes + row.stale + held
}

fn built_in(name: &str, channel: &Channel, set: &[(Key, f64)]) -> i64 {
    found(name, channel, set, &Catalogue::default())
}

#[test]
fn a_limit_of_spikes_changes_the_verdict_both_ways() {
    let away_by = |kt: f64| {
        let mut cas = sampled(60.0, 1.0, |t| 150.0 - 0.2 * t);
        cas.value[30] += kt;
        cas
    };
    assert_eq!(built_in("cas_kt", &away_by(25.0), &[]), 1);
    assert_eq!(built_in("cas_kt", &away_by(25.0), &[(Key::Spike, 30.0)]), 0);
    assert_eq!(built_in("cas_kt", &away_by(15.0), &[]), 0);
    assert_eq!(built_in("cas_kt", &away_by(15.0), &[(Key::Spike, 10.0)]), 1);
}

#[test]
fn a_rate_of_altitude_changes_the_verdict_both_ways() {
    let away_by = |ft: f64| {
        sampled(200.0, 1.0, |t| {
            let there = (100.0..110.0).contains(&t);
            3_000.0 - 10.0 * t + if there { ft } else { 0.0 }
        })
    };
    let name = "pressure_altitude_ft";
    assert_eq!(built_in(name, &away_by(400.0), &[]), 10);
    assert_eq!(
        built_in(name, &away_by(400.0), &[(Key::RatePerS, 400.0)]),
        0
    );
    assert_eq!(built_in(name, &away_by(250.0), &[]), 0);
    assert_eq!(
        built_in(name, &away_by(250.0), &[(Key::RatePerS, 50.0)]),
        10
    );
}

#[test]
fn a_time_of_standing_changes_the_verdict_both_ways() {
    // Nine seconds at one airspeed, then 5 kt in one step.
    let cas = sampled(100.0, 1.0, |t| match t {
        t if t < 50.0 => 200.0 - 0.5 * t,
        t if t < 60.0 => 175.0,
        _ => 170.0 - 0.5 * (t - 60.0),
    });
    assert_eq!(built_in("cas_kt", &cas, &[]), 1);
    assert_eq!(built_in("cas_kt", &cas, &[(Key::HeldS, 12.0)]), 0);
    assert_eq!(built_in("cas_kt", &cas, &[(Key::HeldRatePerS, 6.0)]), 0);
    let both = [(Key::HeldS, 12.0), (Key::HeldS, 5.0)];
    assert_eq!(built_in("cas_kt", &cas, &both), 1);
}

#[test]
fn a_speed_of_positions_changes_the_verdict() {
    let judged = |speed_kt: Option<f64>| {
        let mut limits = Limits::default();
        if let Some(kt) = speed_kt {
            limits.set(None, Key::SpeedKt, kt);
        }
        // 5 NM aside for ten seconds.
        let latitude = sampled(200.0, 1.0, |t| {
            let there = (100.0..110.0).contains(&t);
            48.0 + 0.000_5 * t + if there { 5.0 / 60.0 } else { 0.0 }
        });
        let longitude = sampled(200.0, 1.0, |_| 2.0);
        let mut raw = flight(vec![
            ("latitude_deg", latitude),
            ("longitude_deg", longitude),
        ]);
        let catalogue = Catalogue::default();
        let rows = super::super::clean(&mut raw, &catalogue, None, &limits).report(&mut raw);
        row(&rows, "latitude_deg").stale
    };
    assert_eq!((judged(None), judged(Some(30_000.0))), (10, 0));
}

#[test]
fn an_operators_parameter_is_looked_at_once_it_has_a_limit() {
    let own = |name: &str, kind| crate::catalogue::Parameter {
        name: name.to_owned(),
        unit: "deg".to_owned(),
        kind,
        low: 0.0,
        high: 900.0,
        nominal_interval_s: None,
        meaning: String::new(),
    };
    let added = vec![
        own("brake_temp_c", Kind::Continuous),
        own("beacon_deg", Kind::Circular),
    ];
    let catalogue = Catalogue::with_parameters(added);
    let mut brake = sampled(60.0, 1.0, |t| 200.0 + t);
    brake.value[30] = 600.0;
    let set = [(Key::Spike, 50.0)];
    assert_eq!(found("brake_temp_c", &brake, &[], &catalogue), 0);
    assert_eq!(found("brake_temp_c", &brake, &set, &catalogue), 1);
    // Past north and back is no spike of 350 degrees.
    let mut beacon = sampled(60.0, 1.0, |t| 5.0 - 0.01 * t);
    beacon.value[30] = 355.0;
    assert_eq!(found("beacon_deg", &beacon, &set, &catalogue), 0);
}

#[test]
fn a_small_limit_of_radio_altitude_holds_near_the_ground() {
    let mut radio = sampled(60.0, 1.0, |t| 30.0 + 0.1 * t);
    radio.value[30] += 25.0;
    assert_eq!(built_in("radio_altitude_ft", &radio, &[]), 0);
    assert_eq!(
        built_in("radio_altitude_ft", &radio, &[(Key::Spike, 20.0)]),
        1
    );
}
