//! The kinds of damage, and what must be seen of each in the tables.

use super::found::Found;
use super::harm::{
    Moments, add, drop_rows, hold, repeat_earlier, repeat_rows, reverse_rows, set, silence,
};
use super::record::Record;

/// Hardly any weather has it: whatever is right, this is wrong.
pub(super) const WRONG_QNH_HPA: f64 = 1048.0;

/// One kind of damage.
pub(super) struct Damage {
    pub(super) name: &'static str,
    pub(super) harm: fn(&mut Record, &Moments),
    /// What must be seen, in words.
    pub(super) stated: &'static str,
    pub(super) seen: fn(&Found) -> bool,
}

/// In the order in which a pair is applied: values first, rows last, as a row that is gone cannot be
/// damaged.
#[rustfmt::skip]
pub(super) const DAMAGES: &[Damage] = &[
    Damage {
        name: "speed_spike",
        harm: |r, m| add(r, "cas_kt", m.touchdown_s - 100.0, 1, &[60.0]),
        stated: "cas_kt has a spike",
        seen: |f| f.count("cas_kt", "spikes") >= 1.0,
    },
    Damage {
        name: "altitude_spike",
        harm: |r, m| add(r, "pressure_altitude_ft", m.touchdown_s - 90.0, 1, &[900.0]),
        stated: "pressure_altitude_ft has a spike or a stale sample",
        seen: |f| f.nulled("pressure_altitude_ft"),
    },
    Damage {
        name: "speed_stuck",
        harm: |r, m| hold(r, "cas_kt", (m.touchdown_s - 330.0, m.touchdown_s - 230.0)),
        stated: "cas_kt is stuck for most of 100 s",
        seen: |f| f.count("cas_kt", "stuck_s") >= 60.0,
    },
    Damage {
        name: "altitude_stuck_through_touchdown",
        harm: |r, m| hold(r, "pressure_altitude_ft", (m.touchdown_s - 20.0, f64::INFINITY)),
        stated: "pressure_altitude_ft is nulled to the end",
        seen: |f| f.nulled("pressure_altitude_ft"),
    },
    Damage {
        name: "position_frozen_on_final",
        harm: |r, m| {
            for name in ["latitude_deg", "longitude_deg"] {
                hold(r, name, (m.touchdown_s - 80.0, m.touchdown_s - 40.0));
            }
        },
        stated: "latitude_deg and longitude_deg have stale samples",
        seen: |f| f.count("latitude_deg", "stale") >= 5.0 && f.count("longitude_deg", "stale") >= 5.0,
    },
    Damage {
        name: "radio_altitude_without_values",
        harm: |r, _| r.columns.get_mut("radio_altitude_ft").into_iter().flatten().for_each(|v| *v = None),
        stated: "coverage of radio_altitude_ft is zero",
        seen: |f| f.figure("radio_altitude_ft", "coverage") == Some(0.0),
    },
    Damage {
        name: "flap_lever_absent",
        harm: |r, _| drop(r.columns.remove("flap_lever")),
        stated: "the approach lists flap_lever among its missing columns",
        seen: |f| f.approach("missing_columns").is_some_and(|names| names.split(',').any(|n| n == "flap_lever")),
    },
    Damage {
        name: "vertical_speed_absent",
        harm: |r, _| drop(r.columns.remove("vertical_speed_fpm")),
        stated: "no row of vertical_speed_fpm in the quality table, an approach all the same",
        seen: |f| f.figure("vertical_speed_fpm", "coverage").is_none() && f.approaches() == 1,
    },
    Damage {
        name: "speed_sentinel",
        harm: |r, m| set(r, "cas_kt", (m.touchdown_s - 206.0, m.touchdown_s - 200.0), 4095.0),
        stated: "cas_kt is out of range",
        seen: |f| f.count("cas_kt", "out_of_range") >= 3.0,
    },
    Damage {
        name: "altitude_sentinel",
        harm: |r, m| set(r, "pressure_altitude_ft", (m.touchdown_s - 70.0, m.touchdown_s - 64.0), -9999.0),
        stated: "pressure_altitude_ft is out of range",
        seen: |f| f.count("pressure_altitude_ft", "out_of_range") >= 3.0,
    },
    Damage {
        name: "altitude_block_from_earlier",
        harm: |r, m| repeat_earlier(r, "pressure_altitude_ft", (m.touchdown_s - 60.0, m.touchdown_s - 48.0), 40.0),
        stated: "pressure_altitude_ft has stale samples",
        seen: |f| f.count("pressure_altitude_ft", "stale") >= 6.0,
    },
    Damage {
        name: "gear_flicker",
        harm: |r, m| set(r, "gear_down", (m.touchdown_s - 60.0, m.touchdown_s - 57.0), 0.0),
        stated: "gear_down is stuck for some seconds",
        seen: |f| f.count("gear_down", "stuck_s") >= 1.0,
    },
    Damage {
        name: "flap_lever_flicker",
        harm: |r, m| set(r, "flap_lever", (m.touchdown_s - 50.0, m.touchdown_s - 46.0), 0.0),
        stated: "flap_lever is stuck for some seconds",
        seen: |f| f.count("flap_lever", "stuck_s") >= 1.0,
    },
    Damage {
        name: "air_ground_flicker",
        harm: |r, m| set(r, "on_ground", (m.touchdown_s - 100.0, m.touchdown_s - 97.0), 1.0),
        stated: "one approach, its end where it was",
        seen: |f| f.as_clean("end_s", 1.5) && f.approach("outcome").is_some_and(|o| o == "landing"),
    },
    Damage {
        name: "acceleration_noise",
        harm: |r, m| add(r, "normal_accel_g", m.touchdown_s - 150.0, 2, &[2.2, -2.6]),
        stated: "normal_accel_g has spikes",
        seen: |f| f.count("normal_accel_g", "spikes") >= 1.0,
    },
    Damage {
        name: "localizer_stuck",
        harm: |r, m| hold(r, "localizer_dev_dots", (m.intercept_s, m.intercept_s + 60.0)),
        stated: "localizer_dev_dots is stuck for most of a minute",
        seen: |f| f.count("localizer_dev_dots", "stuck_s") >= 40.0,
    },
    Damage {
        name: "thrust_spike",
        harm: |r, m| add(r, "n1_1_pct", m.touchdown_s - 75.0, 1, &[-40.0]),
        stated: "n1_1_pct has a spike or is out of range",
        seen: |f| f.nulled("n1_1_pct"),
    },
    Damage {
        name: "radio_altitude_stuck",
        harm: |r, m| hold(r, "radio_altitude_ft", (m.touchdown_s - 60.0, m.touchdown_s - 30.0)),
        stated: "radio_altitude_ft is stuck for most of 30 s",
        seen: |f| f.count("radio_altitude_ft", "stuck_s") >= 20.0,
    },
    Damage {
        name: "wrong_qnh",
        harm: |r, _| {
            let wrong = vec![Some(WRONG_QNH_HPA); r.time_s.len()];
            r.columns.insert("qnh_hpa".to_owned(), wrong);
        },
        stated: "heights are those of the landing roll, not of the QNH",
        seen: |f| f.approach("height_source").is_some_and(|s| s == "landing_roll"),
    },
    Damage {
        name: "gap_in_all_channels",
        harm: |r, m| silence(r, (m.touchdown_s - 120.0, m.touchdown_s - 112.0)),
        stated: "cas_kt and pressure_altitude_ft have a gap",
        seen: |f| f.count("cas_kt", "gaps") >= 1.0 && f.count("pressure_altitude_ft", "gaps") >= 1.0,
    },
    Damage {
        name: "minute_without_rows",
        harm: |r, m| drop_rows(r, (m.touchdown_s - 460.0, m.touchdown_s - 400.0)),
        stated: "cas_kt and pressure_altitude_ft have a gap",
        seen: |f| f.count("cas_kt", "gaps") >= 1.0 && f.count("pressure_altitude_ft", "gaps") >= 1.0,
    },
    Damage {
        name: "cut_off_in_the_descent",
        harm: |r, m| drop_rows(r, (m.touchdown_s - 300.0, f64::INFINITY)),
        stated: "no approach, or an incomplete one",
        seen: |f| f.approaches() == 0 || f.approach("outcome").is_some_and(|o| o == "incomplete"),
    },
    Damage {
        name: "cut_off_at_100_ft",
        harm: |r, m| drop_rows(r, (m.hundred_ft_s, f64::INFINITY)),
        stated: "the landing is incomplete or unseen",
        seen: |f| f.approach("outcome").is_some_and(|o| o == "incomplete" || o == "landing_unseen"),
    },
    Damage {
        name: "rows_twice",
        harm: |r, m| repeat_rows(r, (m.touchdown_s - 190.0, m.touchdown_s - 170.0), false),
        stated: "time_s: repeated rows dropped",
        seen: |f| f.says("time_s", "repeated rows dropped"),
    },
    Damage {
        name: "rows_backwards",
        harm: |r, m| reverse_rows(r, (m.touchdown_s - 160.0, m.touchdown_s - 155.0)),
        stated: "time_s: rows out of order put in their places",
        seen: |f| f.says("time_s", "rows out of order put in their places"),
    },
    Damage {
        name: "block_again_at_the_end",
        harm: |r, m| repeat_rows(r, (m.touchdown_s - 250.0, m.touchdown_s - 210.0), true),
        stated: "time_s: repeated rows dropped, and others put in their places",
        seen: |f| f.says("time_s", "repeated rows dropped") && f.says("time_s", "rows out of order"),
    },
    Damage {
        name: "clock_starts_again",
        harm: |r, m| {
            for time in r.time_s.iter_mut().flatten().filter(|t| **t >= m.touchdown_s - 200.0) {
                *time -= 200.0;
            }
        },
        stated: "quarantined: time does not increase",
        seen: |f| f.refused("time does not increase"),
    },
];
