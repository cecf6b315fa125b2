use super::*;
use crate::atmosphere::FT_PER_NM;
use crate::fleet::Allowance;

/// The annotated demo type; its numbers are invented.
fn aircraft() -> AircraftType {
    toml::from_str(include_str!("../../../../rules/aircraft/corvan-c20.toml")).expect("demo type")
}

fn close(actual: f64, expected: f64, tolerance: f64) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "{actual} is not {expected} ± {tolerance}"
    );
}

/// An approach of `n` seconds flown at 140 kt ground speed down a 3° path from `from_nm`.
fn approach(n: usize, from_nm: f64) -> Columns {
    let grid = Grid {
        start_s: 100.0,
        step_s: 1.0,
        n,
    };
    let mut columns = Columns {
        grid,
        columns: BTreeMap::new(),
        segment: vec![Segment::Approach; n],
    };
    let distance: Vec<f64> = (0..n)
        .map(|k| from_nm - 140.0 * k as f64 / 3600.0)
        .collect();
    let height: Vec<f64> = distance
        .iter()
        .map(|d| profile_height_ft(*d, &Frame::default()))
        .collect();
    let mut put = |name: &str, values: Vec<f64>| columns.columns.insert(name.to_owned(), values);
    put(
        "pressure_altitude_ft",
        height.iter().map(|h| h + 200.0).collect(),
    );
    put("height_aal_ft", height);
    put("distance_to_threshold_nm", distance);
    put("cas_kt", vec![140.0; n]);
    put("ground_speed_kt", vec![140.0; n]);
    columns
}

fn set(columns: &mut Columns, name: &str, value: f64) {
    let n = columns.grid.n;
    columns.columns.insert(name.to_owned(), vec![value; n]);
}

fn at(columns: &Columns, name: &str, k: usize) -> f64 {
    columns
        .values(name)
        .unwrap_or_else(|| panic!("{name} is there"))[k]
}

/// Common practice (no published source): 300 ft per NM less 1,000 ft, and 5,500 ft at 20 NM is
/// 500 ft high; a 3° path rises tan 3° · 6,076 = 318.4 ft per NM (arithmetic).
#[test]
fn the_rule_of_three_and_the_path() {
    close(rule_of_three_ft(20.0, Some(4.0)), 5_000.0, 1e-9);
    close(rule_of_three_ft(15.0, Some(4.0)), 3_500.0, 1e-9);
    close(5_500.0 - rule_of_three_ft(20.0, None), 500.0, 1e-9);
    close(rule_of_three_ft(4.0, Some(4.0)), 1_200.0, 1e-9);
    let frame = Frame::default();
    close(
        profile_height_ft(1.0, &frame) - profile_height_ft(0.0, &frame),
        318.4,
        0.05,
    );
    close(planning_height_ft(15.0, &frame), 3_500.0, 1e-9);
    close(planning_height_ft(14.999_999, &frame), 3_500.0, 0.01);
    close(
        planning_height_ft(8.0, &frame),
        profile_height_ft(8.0, &frame),
        1e-6,
    );
    close(
        planning_height_ft(7.999_999, &frame),
        profile_height_ft(8.0, &frame),
        0.01,
    );
}

/// The beam is straight and the earth is not: over a sphere of 6,371 km (mean radius) a straight 3° beam stands
/// 22, 88 and 353 ft above the flat line at 5, 10 and 20 NM from its foot along the horizon there (geometry;
/// another 2 ft at 20 NM where distance is taken over the ground). `profile_height_ft` is the flat line.
#[test]
fn the_profile_is_the_flat_line_under_a_straight_beam() {
    let (radius_ft, frame) = (6_371_000.0 / crate::atmosphere::M_PER_FT, Frame::default());
    let slope = frame.glide_path_deg.to_radians().tan();
    // The foot of the beam is so far before the point where the profile is at the ground.
    let foot_nm = frame.crossing_height_ft / slope / FT_PER_NM;
    for (nm, above_ft) in [(5.0, 22.0), (10.0, 88.0), (20.0, 353.0)] {
        let flat_ft = profile_height_ft(nm - foot_nm, &frame);
        let (along_ft, up_ft) = (nm * FT_PER_NM, nm * FT_PER_NM * slope);
        let beam_ft = along_ft.hypot(radius_ft + up_ft) - radius_ft;
        close(beam_ft - flat_ft, above_ft, 0.5);
        // Sine rule in the triangle of the earth's centre, the foot and the aircraft.
        let turned = along_ft / radius_ft;
        let angle = frame.glide_path_deg.to_radians();
        let beam_ft = radius_ft * (angle.cos() / (angle + turned).cos() - 1.0);
        close(beam_ft - flat_ft, above_ft, 2.5);
    }
}

#[test]
fn a_steady_approach_on_the_path_has_no_excess_inside_the_last_miles() {
    let mut columns = approach(400, 16.0);
    set(&mut columns, "vapp_kt", 140.0);
    set(&mut columns, "vertical_speed_fpm", -743.0);
    derive(&mut columns, Some(&aircraft()), &Frame::default());
    let near = 320;
    assert!(at(&columns, "distance_to_threshold_nm", near) < 4.0);
    close(at(&columns, "height_over_profile_ft", near), 0.0, 1e-6);
    close(at(&columns, "energy_excess_ft", near), 0.0, 1e-6);
    close(at(&columns, "over_vapp_kt", near), 0.0, 1e-9);
    close(at(&columns, "decel_kt_per_nm", near), 0.0, 1e-9);
    close(at(&columns, "sink_rate_fpm", near), 743.0, 1e-9);
    // Per air mile: the gradient over the air, and 0.0885·TAS·ΔTAS of the true airspeed that
    // falls with the altitude (arithmetic).
    let loss = at(&columns, "energy_loss_ft_per_nm", near);
    let tas = at(&columns, "tas_kt", near);
    let slowing_kt_per_nm = (at(&columns, "tas_kt", near - 10) - tas) / (10.0 * tas / 3600.0);
    close(
        loss,
        318.4 * 140.0 / tas + 0.0885 * tas * slowing_kt_per_nm,
        1.0,
    );
    assert!(at(&columns, "height_over_rule_of_three_ft", 0) > 0.0);
}

/// On a level leg at 200 kt losing 10 kt per NM, energy goes at 0.0885 · 200 · 10 = 177 ft per NM
/// (arithmetic).
#[test]
fn slowing_down_in_level_flight_loses_177_ft_per_mile() {
    let n = 200;
    let grid = Grid {
        start_s: 0.0,
        step_s: 1.0,
        n,
    };
    let mut columns = Columns {
        grid,
        columns: BTreeMap::new(),
        segment: vec![Segment::Approach; n],
    };
    // dV/dt = −10 kt/NM · V/3600 s: an exponential.
    let speed: Vec<f64> = (0..n)
        .map(|k| 230.0 * (-10.0 * k as f64 / 3600.0).exp())
        .collect();
    let middle = speed.iter().position(|v| *v < 195.0).expect("slows down");
    set(&mut columns, "height_aal_ft", 3_000.0);
    set(&mut columns, "pressure_altitude_ft", 3_000.0);
    columns.columns.insert("cas_kt".to_owned(), speed.clone());
    columns.columns.insert("tas_kt".to_owned(), speed);
    derive(&mut columns, None, &Frame::default());
    close(at(&columns, "decel_kt_per_nm", middle), 10.0, 0.05);
    close(at(&columns, "energy_loss_ft_per_nm", middle), 177.0, 1.0);
    assert!(
        at(&columns, "energy_excess_ft", middle).is_nan(),
        "no distance, no plan"
    );
    assert!(columns.values("vfe_kt").is_none(), "no type, no limits");
}

#[test]
fn the_lower_of_lever_and_surface_limits_counts_while_the_flaps_travel() {
    let mut columns = approach(4, 6.0);
    columns
        .columns
        .insert("flap_lever".to_owned(), vec![0.0, 1.0, 1.0, f64::NAN]);
    columns
        .columns
        .insert("flap_angle_deg".to_owned(), vec![0.0, 5.2, 14.0, f64::NAN]);
    derive(&mut columns, Some(&aircraft()), &Frame::default());
    let all = |name: &str| {
        columns
            .values(name)
            .map(<[f64]>::to_vec)
            .unwrap_or_default()
    };
    assert_eq!(all("vfe_lever_kt")[..3], [340.0, 235.0, 235.0]);
    assert_eq!(all("vfe_surface_kt")[..3], [340.0, 235.0, 205.0]);
    assert_eq!(all("vfe_kt")[..3], [340.0, 235.0, 205.0]);
    assert_eq!(all("vfe_next_kt")[..3], [235.0, 205.0, 205.0]);
    assert_eq!(all("flap_margin_kt")[2], 65.0);
    assert_eq!(all("landing_flap_set")[..3], [0.0; 3]);
    assert!(all("vfe_kt")[3].is_nan() && all("landing_flap_set")[3].is_nan());
}

#[test]
fn reference_speeds_come_from_the_mass_unless_recorded() {
    let mut computed = approach(2, 6.0);
    set(&mut computed, "gross_mass_kg", 50_000.0);
    set(&mut computed, "flap_lever", 1.0);
    derive(&mut computed, Some(&aircraft()), &Frame::default());
    close(at(&computed, "vref_kt", 0), 124.0, 1e-9);
    close(at(&computed, "vapp_kt", 0), 129.0, 1e-9);
    close(at(&computed, "min_manoeuvre_kt", 0), 155.5, 1e-9);
    close(at(&computed, "selection_window_kt", 0), 205.0 - 155.5, 1e-9);
    close(at(&computed, "mass_ratio", 0), 50.0 / 64.0, 1e-9);
    let mut recorded = approach(2, 6.0);
    set(&mut recorded, "gross_mass_kg", 50_000.0);
    set(&mut recorded, "vref_kt", 131.0);
    derive(&mut recorded, Some(&aircraft()), &Frame::default());
    close(at(&recorded, "vref_kt", 0), 131.0, 1e-9);
    close(at(&recorded, "over_vref_kt", 0), 9.0, 1e-9);
}

/// The lever, or the surface where only that is recorded, as it stood last before touchdown; what follows
/// touchdown does not count.
#[test]
fn reference_speeds_are_those_of_the_landing_flap_used() {
    let mut aircraft = aircraft();
    aircraft.levers[3].vref_kt = Some(vec![123.0, 135.0, 145.0]);
    let vref = |name: &str, values: [f64; 4]| {
        let mut columns = approach(4, 2.0);
        columns.segment[3] = Segment::Roll;
        set(&mut columns, "gross_mass_kg", 50_000.0);
        columns.columns.insert(name.to_owned(), values.to_vec());
        derive(&mut columns, Some(&aircraft), &Frame::default());
        [0, 3].map(|k| at(&columns, "vref_kt", k))
    };
    for (name, values, expected) in [
        ("flap_lever", [2.0, 3.0, 3.0, 4.0], 129.0),
        ("flap_lever", [2.0, 3.0, f64::NAN, 4.0], 129.0),
        ("flap_lever", [3.0, 4.0, 4.0, 0.0], 124.0),
        ("flap_angle_deg", [15.0, 24.8, 25.0, 38.0], 129.0),
        ("flap_angle_deg", [15.0, 25.0, 38.0, 38.0], 124.0),
        // None set by the go-around: the speed of the most extended.
        ("flap_lever", [0.0, 1.0, 2.0, 2.0], 124.0),
        ("flap_lever", [f64::NAN; 4], 124.0),
    ] {
        assert_eq!(vref(name, values), [expected; 2], "{name} {values:?}");
    }
}

/// Common practice, no published source: 10 kt to a mile, and a mile is 300 ft.
#[test]
fn the_rule_of_three_may_leave_room_by_speed() {
    for (cas_kt, expected_ft) in [
        (180.0, 3_000.0),
        (195.0, 3_000.0),
        (205.0, 2_700.0),
        (225.0, 2_100.0),
        (250.0, 2_000.0),
    ] {
        close(
            rule_of_three_by_speed_ft(10.0, cas_kt, 195.0),
            expected_ft,
            1e-9,
        );
    }
    let (mut aircraft, mut columns) = (aircraft(), approach(3, 10.0));
    aircraft.target_speed.allowance = Allowance::Speed;
    let speeds = vec![205.0, f64::NAN, 205.0];
    columns.columns.insert("cas_kt".into(), speeds);
    columns.segment[2] = Segment::Roll;
    derive(&mut columns, Some(&aircraft), &Frame::default());
    close(at(&columns, "rule_of_three_ft", 0), 2_700.0, 1e-9);
    assert!(at(&columns, "rule_of_three_ft", 1).is_nan());
    assert!(at(&columns, "rule_of_three_ft", 2).is_nan());
}

#[test]
fn the_planned_speed_steps_down_linearly_to_vapp() {
    let aircraft = aircraft();
    for (distance, speed) in [
        (40.0, 250.0),
        (25.0, 240.0),
        (15.0, 220.0),
        (12.5, 205.0),
        (7.0, 165.0),
        (4.0, 135.0),
        (1.0, 135.0),
    ] {
        close(aircraft.target_cas_kt(distance, 135.0), speed, 1e-9);
    }
    close(aircraft.target_cas_kt(5.5, 135.0), 150.0, 1e-9);
}

#[test]
fn cold_air_makes_the_aircraft_lower_than_its_altimeter() {
    let mut columns = approach(10, 20.0);
    let isa = |altitude: f64| crate::atmosphere::isa_temperature_k(altitude) - 273.15;
    let altitude = columns
        .values("pressure_altitude_ft")
        .expect("there")
        .to_vec();
    let temperature = altitude.iter().map(|a| isa(*a) - 20.0).collect();
    columns
        .columns
        .insert("static_air_temp_c".to_owned(), temperature);
    close(isa_deviation_k(&columns).expect("recorded"), -20.0, 1e-9);
    derive(
        &mut columns,
        None,
        &Frame {
            threshold_elevation_ft: Some(350.0),
            ..Frame::default()
        },
    );
    let height = at(&columns, "height_aal_ft", 0);
    close(
        height,
        50.0 + 20.0 * 3.0_f64.to_radians().tan() * FT_PER_NM,
        1e-6,
    );
    close(height - at(&columns, "height_geometric_ft", 0), 455.0, 10.0);
    close(at(&columns, "altitude_msl_ft", 0), height + 350.0, 1e-9);
}

#[test]
fn derived_sink_rate_does_not_follow_coarse_altitude_steps() {
    let n = 120;
    let mut columns = approach(n, 6.0);
    let smooth: Vec<f64> = (0..n).map(|k| 4_000.0 - 12.0 * k as f64).collect();
    let coarse = smooth.iter().map(|a| (a / 32.0).floor() * 32.0).collect();
    columns
        .columns
        .insert("pressure_altitude_ft".to_owned(), coarse);
    derive(&mut columns, None, &Frame::default());
    for k in 15..n - 15 {
        close(at(&columns, "sink_rate_fpm", k), 720.0, 110.0);
    }
}

#[test]
fn wind_and_turbulence() {
    let mut columns = approach(40, 6.0);
    set(&mut columns, "wind_speed_kt", 20.0);
    set(&mut columns, "wind_from_deg", 300.0);
    let shaken = (0..40)
        .map(|k| if k % 2 == 0 { 1.1 } else { 0.9 })
        .collect();
    columns.columns.insert("normal_accel_g".to_owned(), shaken);
    derive(
        &mut columns,
        None,
        &Frame {
            runway_bearing_deg: Some(270.0),
            ..Frame::default()
        },
    );
    close(
        at(&columns, "headwind_kt", 0),
        20.0 * 30.0_f64.to_radians().cos(),
        1e-9,
    );
    close(at(&columns, "crosswind_kt", 0), 10.0, 1e-9);
    close(at(&columns, "turbulence_g", 20), 0.1, 1e-9);
    assert!(
        at(&columns, "turbulence_g", 5).is_nan(),
        "not yet ten seconds"
    );
}

/// Each parameter in turn is changed: whatever column follows must say that it rests on it.
#[test]
fn every_column_says_what_it_rests_on() {
    use crate::catalogue::{Catalogue, Origin, rests_on};
    let catalogue = Catalogue::default();
    let aircraft = aircraft();
    let mut recorded = approach(400, 16.0);
    for parameter in catalogue.parameters() {
        let middle = 0.5 * (parameter.low + parameter.high);
        let plain = match parameter.name.as_str() {
            "flap_lever" => 2.0,
            "gross_mass_kg" => aircraft.maximum_landing_mass_kg,
            "flap_angle_deg" | "slat_angle_deg" => 5.0,
            _ => middle,
        };
        if !recorded.columns.contains_key(&parameter.name) {
            let values = (0..400).map(|k| plain + 0.01 * (f64::from(k) * 0.1).sin());
            let values = match parameter.kind {
                crate::catalogue::Kind::Discrete => vec![plain.round(); 400],
                _ => values.collect(),
            };
            recorded.columns.insert(parameter.name.clone(), values);
        }
    }
    let mut by_flap_and_speed = aircraft.clone();
    by_flap_and_speed.target_speed.allowance = Allowance::Speed;
    by_flap_and_speed.levers[2].landing = true;
    by_flap_and_speed.levers[2].vref_kt = Some(vec![123.0, 135.0, 145.0]);
    // Once with the speeds and rates as recorded, once with those that are made of others; and by either kind of type.
    let made = ["tas_kt", "vref_kt", "vapp_kt", "vertical_speed_fpm"];
    let mut seen = 0;
    let mut followed = std::collections::BTreeSet::new();
    for (absent, aircraft) in [
        (&[][..], &aircraft),
        (&made[..], &aircraft),
        (&made[..], &by_flap_and_speed),
    ] {
        let mut recorded = recorded.clone();
        for name in absent {
            recorded.columns.remove(*name);
        }
        let all = |columns: &Columns| {
            let mut columns = columns.clone();
            derive(
                &mut columns,
                Some(aircraft),
                &Frame {
                    runway_bearing_deg: Some(90.0),
                    ..Frame::default()
                },
            );
            columns
        };
        let plain = all(&recorded);
        for parameter in catalogue.parameters() {
            let name = parameter.name.as_str();
            let Some(values) = recorded.columns.get(name) else {
                continue;
            };
            let mut changed = recorded.clone();
            let other = values
                .iter()
                .enumerate()
                .map(|(k, v)| if k % 7 == 3 { f64::NAN } else { v * 1.01 + 1.0 });
            let other = other.collect();
            changed.columns.insert(name.to_owned(), other);
            let changed = all(&changed);
            let derived = catalogue
                .columns()
                .iter()
                .filter(|c| c.origin == Origin::Derived || made.contains(&c.name.as_str()));
            for column in derived.map(|column| column.name.as_str()) {
                let text = |columns: &Columns| format!("{:?}", columns.values(column));
                if column != name && text(&plain) != text(&changed) {
                    assert!(rests_on(column).contains(name), "{column} follows {name}");
                    assert!(aircraft.follows(column, name), "{column} follows {name}");
                    followed.insert((column.to_owned(), name.to_owned()));
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 60, "{seen}");
    for (column, part) in [("rule_of_three_ft", "cas_kt"), ("vref_kt", "flap_lever")] {
        let pair = (column.to_owned(), part.to_owned());
        assert!(followed.contains(&pair), "{column} was not moved by {part}");
    }
}
