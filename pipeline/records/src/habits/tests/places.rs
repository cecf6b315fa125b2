use super::*;

#[test]
fn flap_and_gear_are_placed_where_they_came() {
    let flown = columns(&[
        ("distance_to_threshold_nm", &inwards(100, 12.0)),
        (
            "height_aal_ft",
            &(0..100)
                .map(|k| 3_000.0 - 25.0 * f64::from(k))
                .collect::<Vec<_>>(),
        ),
        ("flap_lever", &in_samples(100, 20..100, 1.0, 0.0)),
        ("gear_down", &in_samples(100, 50..100, 1.0, 0.0)),
        ("landing_flap_set", &in_samples(100, 60..100, 1.0, 0.0)),
    ]);
    let row = filled(&flown);
    close(row.first_flap_nm, 10.0);
    close(row.gear_down_nm, 7.0);
    close(row.gear_down_height_aal_ft, 1_750.0);
    close(row.landing_flap_height_aal_ft, 1_500.0);
}

#[test]
fn what_was_out_before_or_came_in_a_silence_has_no_place() {
    let flap = |lever: Vec<f64>| {
        let n = lever.len();
        let distance = inwards(n, 12.0);
        filled(&columns(&[
            ("distance_to_threshold_nm", &distance),
            ("flap_lever", &lever),
        ]))
        .first_flap_nm
    };
    assert_eq!(flap(steady(100, 1.0)), None);
    assert_eq!(flap(steady(100, 0.0)), None);
    let mut silent = in_samples(100, 40..100, 1.0, 0.0);
    silent[31..40].fill(f64::NAN);
    close(flap(silent.clone()), 8.0);
    silent[29..31].fill(f64::NAN);
    assert_eq!(flap(silent), None);
}

fn level(sink: Vec<f64>, first_flap: usize) -> Option<f64> {
    filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(100, 15.0)),
        ("sink_rate_fpm", &sink),
        ("flap_lever", &in_samples(100, first_flap..100, 1.0, 0.0)),
    ]))
    .level_before_flap_nm
}

#[test]
fn the_level_segment_is_the_one_that_led_to_the_first_flap() {
    // Level from the 21st to the 50th sample: 29 steps of a tenth of a mile.
    let flown = in_samples(100, 20..50, -100.0, 900.0);
    close(level(flown.clone(), 60), 2.9);
    close(level(flown.clone(), 40), 2.0);
    // Longer ago than 30 s: it was not for this flap.
    close(level(flown, 80), 0.0);
    // A shallow descent is none either.
    close(level(in_samples(100, 20..50, 200.0, 900.0), 60), 0.0);
    // A pause of 14 s is no segment.
    close(level(in_samples(100, 20..34, 0.0, 900.0), 40), 0.0);
    assert_eq!(level(in_samples(100, 20..40, f64::NAN, 900.0), 40), None);
    // Twenty seconds with a hole in the middle: perhaps a segment, perhaps two pauses.
    let mut broken = in_samples(100, 20..40, 0.0, 900.0);
    broken[30] = f64::NAN;
    assert_eq!(level(broken, 45), None);
}

/// 100 samples from 12 to 2.1 NM, off the path by `off_ft` until the 41st sample.
fn capture(off_ft: f64, sink_fpm: f64) -> Option<String> {
    filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(100, 12.0)),
        (
            "height_over_profile_ft",
            &in_samples(100, 0..40, off_ft, 20.0),
        ),
        ("sink_rate_fpm", &in_samples(100, 0..40, sink_fpm, 700.0)),
    ]))
    .path_captured
}

#[test]
fn the_path_is_met_from_above_level_or_descending() {
    assert_eq!(capture(500.0, 1_300.0).as_deref(), Some("above"));
    assert_eq!(capture(-500.0, 0.0).as_deref(), Some("level"));
    assert_eq!(capture(-500.0, 150.0).as_deref(), Some("level"));
    assert_eq!(capture(-500.0, 160.0).as_deref(), Some("descending"));
    assert_eq!(capture(-500.0, 600.0).as_deref(), Some("descending"));
    // On it from the start: how it was met was not seen.
    assert_eq!(capture(20.0, 700.0), None);
}

#[test]
fn a_path_that_is_not_followed_to_3_nm_was_not_met() {
    let row = filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(100, 12.0)),
        (
            "height_over_profile_ft",
            &in_samples(100, 80..100, 400.0, 20.0),
        ),
        ("sink_rate_fpm", &steady(100, 700.0)),
    ]));
    assert_eq!(row.path_captured, None);
    let far = filled(&columns(&[
        ("distance_to_threshold_nm", &inwards(60, 12.0)),
        (
            "height_over_profile_ft",
            &in_samples(60, 0..30, 900.0, 20.0),
        ),
        ("sink_rate_fpm", &steady(60, 700.0)),
    ]));
    assert_eq!(far.path_captured, None);
}
