use super::*;
use crate::flight::Channel;
use crate::quality::{Limits, clean};
use crate::testing::{real_flight, sampled};

const SPEED: &str = "vertical_speed_fpm";
const ALTITUDE: &str = "pressure_altitude_ft";

/// Twelve minutes: level, down at 1,200 ft/min, level, down at 700 ft/min to the ground at 720 s.
fn true_ft(t: f64) -> f64 {
    let down = |from_s: f64, to_s: f64, fpm: f64| (t.clamp(from_s, to_s) - to_s) * fpm / 60.0;
    500.0 - down(60.0, 300.0, 1_200.0) - down(420.0, 720.0, 700.0)
}

fn true_fpm(t: f64) -> f64 {
    let fpm = 30.0 * (true_ft(t + 1.0) - true_ft(t - 1.0));
    fpm + 40.0 * (0.7 * t).sin()
}

/// The descent as recorded in steps of `step_ft`, with the vertical speed that a map makes of it.
fn descent(step_ft: f64, speed: Channel) -> RawFlight {
    let altitude = sampled(780.0, 1.0, |t| (true_ft(t) / step_ft).round() * step_ft);
    let channels = [(ALTITUDE, altitude), (SPEED, speed)];
    RawFlight {
        channels: channels.map(|(n, c)| (n.to_owned(), c)).into(),
        ..RawFlight::default()
    }
}

fn mapped(map: impl Fn(f64, f64) -> f64) -> Channel {
    sampled(780.0, 1.0, |t| map(t, true_fpm(t)))
}

fn refused(flight: &mut RawFlight) -> Vec<(String, String)> {
    let limits = Limits::default();
    let findings = clean(flight, &Catalogue::default(), None, &limits);
    let both = findings
        .refused()
        .map(|(n, r)| (n.to_owned(), r.to_owned()));
    both.collect()
}

fn names(flight: &mut RawFlight) -> Vec<String> {
    refused(flight).into_iter().map(|(name, _)| name).collect()
}

#[test]
fn wrong_units_scales_and_signs_refuse_the_whole_vertical_speed() {
    for factor in [
        0.00508,
        1.0 / 60.0,
        0.3048,
        0.5,
        2.0,
        3.2808,
        60.0,
        196.85,
        -1.0,
    ] {
        let mut flight = descent(4.0, mapped(|_, fpm| factor * fpm));
        let found = refused(&mut flight);
        let [(name, reason)] = &found[..] else {
            panic!("{factor}: {found:?}")
        };
        assert_eq!(name, SPEED, "{factor}");
        assert!(flight.channels[SPEED].value.iter().all(|v| v.is_nan()));
        assert!(reason.starts_with("refused: "), "{reason}");
        assert!(
            reason.contains("times the slope of pressure altitude"),
            "{reason}"
        );
    }
}

#[test]
fn a_speed_without_its_sign_is_refused_though_most_of_it_climbs() {
    // Up through two thirds of the record and down through a third: the median is one.
    let ft = |t: f64| 1_000.0 + 20.0 * t.min(600.0) - 20.0 * (t - 600.0).max(0.0);
    let fpm = |t: f64| if t < 600.0 { 1_200.0 } else { -1_200.0 };
    let flight_of = |speed: Channel| RawFlight {
        channels: [
            (ALTITUDE.to_owned(), sampled(900.0, 1.0, ft)),
            (SPEED.to_owned(), speed),
        ]
        .into(),
        ..RawFlight::default()
    };
    let lively = |t: f64| fpm(t) + 40.0 * (0.7 * t).sin();
    let mut whole = flight_of(sampled(900.0, 1.0, lively));
    assert!(refused(&mut whole).is_empty());
    let mut unsigned = flight_of(sampled(900.0, 1.0, |t| lively(t).abs()));
    let found = refused(&mut unsigned);
    assert!(found[0].1.contains("same sign in 67 %"), "{found:?}");
}

#[test]
fn cold_air_lag_coarse_steps_and_slow_rates_are_no_contradiction() {
    for step_ft in [1.0, 8.0, 25.0, 100.0] {
        // The coldest day makes pressure heights a fifth too large, and the hottest an eighth too small.
        for factor in [0.8, 1.0, 1.12] {
            for every_s in [0.5, 1.0, 4.0] {
                let lagging = |t: f64| {
                    let fpm = factor * true_fpm(t - 4.0);
                    (fpm / 64.0).round() * 64.0
                };
                let mut flight = descent(step_ft, sampled(780.0, every_s, lagging));
                let found = names(&mut flight);
                assert!(
                    found.is_empty(),
                    "{step_ft} ft, {factor}, {every_s} s: {found:?}"
                );
            }
        }
    }
}

#[test]
fn damage_of_two_minutes_and_codes_for_unknown_decide_nothing() {
    let stuck = mapped(|t, fpm| {
        if (450.0..570.0).contains(&t) {
            0.0
        } else {
            fpm
        }
    });
    assert!(names(&mut descent(4.0, stuck)).is_empty());
    // Two of three samples say "no value" in a number that the map forgot.
    let coded = mapped(|t, fpm| if t % 3.0 == 0.0 { fpm } else { 32_767.0 });
    assert!(names(&mut descent(4.0, coded)).is_empty());
    // Two minutes of descent are too little to say.
    let mut short = descent(4.0, mapped(|_, fpm| 0.01 * fpm));
    for channel in short.channels.values_mut() {
        let at = channel.time_s.partition_point(|&t| t < 600.0);
        channel.time_s.drain(..at);
        channel.value.drain(..at);
    }
    assert!(names(&mut short).is_empty());
}

#[test]
fn of_vertical_speed_and_altitude_the_one_that_radio_altitude_contradicts_is_refused() {
    let radio = || sampled(780.0, 1.0, |t| (true_ft(t) - 500.0).min(2_500.0));
    let in_metres = |flight: &mut RawFlight| {
        let altitude = flight.channels.get_mut(ALTITUDE).unwrap();
        altitude.value.iter_mut().for_each(|ft| *ft *= 0.3048);
    };
    let mut altitude_wrong = descent(4.0, mapped(|_, fpm| fpm));
    in_metres(&mut altitude_wrong);
    // Without a third witness it is the vertical speed that goes.
    assert_eq!(names(&mut altitude_wrong.clone()), [SPEED]);
    altitude_wrong
        .channels
        .insert("radio_altitude_ft".to_owned(), radio());
    assert_eq!(names(&mut altitude_wrong), [ALTITUDE]);
    let mut speed_wrong = descent(4.0, mapped(|_, fpm| 0.01 * fpm));
    speed_wrong
        .channels
        .insert("radio_altitude_ft".to_owned(), radio());
    assert_eq!(names(&mut speed_wrong), [SPEED]);
}

#[test]
fn ground_speed_is_held_against_the_movement_of_the_position() {
    let flying = |factor: f64| {
        let kt = |t: f64| 250.0 - 0.1 * t;
        let north = |t: f64| 48.0 + (250.0 * t - 0.05 * t * t) / 216_000.0;
        let channels = [
            ("ground_speed_kt", sampled(900.0, 1.0, |t| factor * kt(t))),
            ("latitude_deg", sampled(900.0, 4.0, north)),
            ("longitude_deg", sampled(900.0, 4.0, |t| 2.0 + 1e-5 * t)),
        ];
        RawFlight {
            channels: channels.map(|(n, c)| (n.to_owned(), c)).into(),
            ..RawFlight::default()
        }
    };
    for factor in [0.5144, 1.852, 1.944] {
        assert_eq!(names(&mut flying(factor)), ["ground_speed_kt"], "{factor}");
    }
    for factor in [0.95, 1.0, 1.05] {
        assert!(names(&mut flying(factor)).is_empty(), "{factor}");
    }
}

#[test]
fn real_flights_have_no_channel_refused() {
    let tracks = [
        "021b709f90",
        "06bb6662fe",
        "079f694f61",
        "1112b40195",
        "156c5e7317",
        "162a8991a2",
        "1d7f81b379",
        "223c55f113",
    ];
    let tracks = tracks.map(|id| format!("surveillance/{id}.parquet"));
    for file in tracks
        .iter()
        .map(String::as_str)
        .chain(["recorder.parquet"])
    {
        let raw = real_flight(file);
        assert!(names(&mut raw.clone()).is_empty(), "{file}");
        // They are long enough to say so: in metres a second, or with its sign turned, none passes.
        if raw.channels.contains_key(SPEED) {
            for factor in [0.00508, -1.0] {
                let mut wrong = raw.clone();
                let speed = wrong.channels.get_mut(SPEED).unwrap();
                speed.value.iter_mut().for_each(|fpm| *fpm *= factor);
                assert_eq!(names(&mut wrong), [SPEED], "{file}");
            }
        }
    }
}
