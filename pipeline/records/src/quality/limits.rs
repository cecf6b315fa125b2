//! What physics allows, per parameter: the numbers behind the quality checks, with their reasons.

/// A lone sample that leaves both neighbours by more than this, while they agree, is a spike.
///
/// Each is beyond what a transport aircraft and its sensors can do and undo within two seconds.
/// Accelerations are absent: their peaks are what touchdown and turbulence are measured by; those
/// far aloft have a check of their own. Radio altitude is generous: so are ridges and buildings.
#[rustfmt::skip]
pub(super) const SPIKE_DEPARTURE: &[(&str, f64)] = &[
    ("pressure_altitude_ft", 150.0), // 150 ft there and back in 2 s is 9 g
    ("baro_altitude_ft", 150.0),
    ("radio_altitude_ft", 500.0),
    ("cas_kt", 20.0),                // a gust of that size does not end within a second
    ("tas_kt", 20.0),
    ("ground_speed_kt", 15.0),       // inertia: 8 kt/s is 0.4 g
    ("vertical_speed_fpm", 2500.0),
    ("pitch_deg", 8.0),
    ("roll_deg", 25.0),
    ("heading_true_deg", 30.0),
    ("track_true_deg", 30.0),
    ("flap_angle_deg", 5.0),         // surfaces move at 1 to 3 degrees a second
    ("slat_angle_deg", 5.0),
    ("n1_1_pct", 25.0),              // spools do not accelerate and decelerate that fast
    ("n1_2_pct", 25.0),
    ("n1_3_pct", 25.0),
    ("n1_4_pct", 25.0),
    ("glide_path_dev_dots", 1.0),    // at 500 ft a dot is 55 ft: there and back in 4 s is 1.7 g
    ("localizer_dev_dots", 1.0),
    ("vertical_path_dev_dots", 1.0),
    ("gross_mass_kg", 2000.0),
    ("wind_speed_kt", 40.0),
    ("static_air_temp_c", 10.0),
];

/// Longest burst still called a spike; longer ones are levels of their own.
pub(super) const SPIKE_SAMPLES: usize = 3;

/// Close above the ground a radio altitude may leap by this much: trees, a road, a ditch.
pub(super) const RADIO_LOW_FT: f64 = 60.0;

/// Normal acceleration that leaves its neighbours by this much for three samples at most …
pub(super) const JOLT_G: f64 = 1.2;
/// … while all others within this time …
pub(super) const JOLT_CALM_S: f64 = 5.0;
/// … stay within this: the air is not rough enough for it.
pub(super) const JOLT_CALM_G: f64 = 0.6;
/// No wheel touches the ground within this time; a touchdown is never a spike.
pub(super) const JOLT_CLEAR_S: f64 = 8.0;
/// Where no switch is recorded, the ground is at least this far.
pub(super) const JOLT_AIR_FT: f64 = 200.0;

/// `(parameter, leap, change a second)`: a stretch of equal values that is entered and left by more
/// than the leap, in a channel that meanwhile went on by no more than its change, is no reading.
///
/// One leap of that size within a sample is rare; two, with perfect rest between them, do not occur.
#[rustfmt::skip]
pub(super) const EXCURSION: &[(&str, f64, f64)] = &[
    ("radio_altitude_ft", 60.0, 60.0),
    ("cas_kt", 8.0, 3.0),
    ("tas_kt", 8.0, 3.0),
    ("ground_speed_kt", 8.0, 3.0),
    ("vertical_speed_fpm", 300.0, 200.0),
    ("pitch_deg", 4.0, 2.0),
    ("roll_deg", 8.0, 5.0),
    ("heading_true_deg", 10.0, 3.0),
    ("track_true_deg", 10.0, 3.0),
    ("flap_angle_deg", 4.0, 3.0),
    ("slat_angle_deg", 4.0, 3.0),
    ("n1_1_pct", 8.0, 8.0),
    ("n1_2_pct", 8.0, 8.0),
    ("n1_3_pct", 8.0, 8.0),
    ("n1_4_pct", 8.0, 8.0),
    ("glide_path_dev_dots", 0.35, 0.2),
    ("localizer_dev_dots", 0.35, 0.2),
    ("vertical_path_dev_dots", 0.35, 0.2),
    ("normal_accel_g", 0.4, 0.0),
    ("gross_mass_kg", 1000.0, 10.0),
    ("wind_speed_kt", 15.0, 1.0),
    ("static_air_temp_c", 4.0, 0.2),
    ("vref_kt", 5.0, 0.0),           // entered once, changed with the landing flap, never back
    ("vapp_kt", 5.0, 0.0),
];
/// Shorter ones are spikes.
pub(super) const EXCURSION_S: f64 = 4.0;
/// Longer ones may be a state of their own.
pub(super) const EXCURSION_LONGEST_S: f64 = 120.0;
/// Higher up the ground below is wilder: radio altitude leaps by this share of itself too.
pub(super) const RADIO_LEAP_SHARE: f64 = 0.3;
/// Clocks in binary fractions miss whole seconds by less.
pub(super) const SLACK_S: f64 = 1e-6;

/// Altitude cannot change faster: 10,000 ft/min, an emergency descent and more.
pub(super) const ALTITUDE_RATE_FT_S: f64 = 10_000.0 / 60.0;
/// On top of the rate: static-source errors at rotation and flare.
pub(super) const ALTITUDE_SLACK_FT: f64 = 150.0;
/// A level more than this off the airfield while the wheels are on the ground is a stale one.
pub(super) const GROUND_LEVEL_FT: f64 = 1_500.0;

/// Position cannot move faster: 700 kt over ground, and a tenth more.
pub(super) const POSITION_SPEED_KT: f64 = 1.1 * 700.0;
/// On top of the rate: a navigation update shifts the position by a fraction of a mile.
pub(super) const POSITION_SLACK_NM: f64 = 0.3;

/// A value repeated for this long may be a receiver repeating its last message.
pub(super) const HOLD_S: f64 = 3.0;
/// After a real level-off altitude starts moving slowly; a repeated one jumps by this at least.
pub(super) const HOLD_JUMP_FT: f64 = 40.0;

/// `(parameter, held for s, leap a second)`: a channel that repeats itself and then leaps by what it
/// missed was stuck. Smaller leaps follow a real rest too: in a real recorder flight airspeed leaves
/// eight seconds of rest by 0.1 kt, ground speed by 1 kt, roll by 1.4°.
#[rustfmt::skip]
pub(super) const HELD: &[(&str, f64, f64)] = &[
    ("cas_kt", 8.0, 3.0),
    ("tas_kt", 8.0, 3.0),
    ("ground_speed_kt", 10.0, 4.0),
    ("vertical_speed_fpm", 8.0, 400.0), // 0.2 g within a second, after rest
    ("radio_altitude_ft", 4.0, 40.0),
    ("pitch_deg", 8.0, 3.0),
    ("roll_deg", 8.0, 12.0),            // a steady turn is left at up to 10 degrees a second
    ("heading_true_deg", 8.0, 6.0),
    ("track_true_deg", 8.0, 6.0),
    ("flap_angle_deg", 4.0, 3.1),       // surfaces move at 1 to 3 degrees a second
    ("slat_angle_deg", 4.0, 3.1),
    ("n1_1_pct", 8.0, 18.0),            // held at a limit and cut back: 15 a second (tests/data/flown-model)
    ("n1_2_pct", 8.0, 18.0),
    ("n1_3_pct", 8.0, 18.0),
    ("n1_4_pct", 8.0, 18.0),
    ("glide_path_dev_dots", 4.0, 0.35),
    ("localizer_dev_dots", 4.0, 0.35),
    ("vertical_path_dev_dots", 4.0, 0.35),
];
/// A coarse recorder leaves a rest by a step or two, never by this many.
pub(super) const HELD_STEPS: f64 = 4.0;
/// Altitude enters a level at most this fast: 6,000 ft/min, from one sample to the next.
pub(super) const LEVEL_ENTRY_FT: f64 = 100.0;
/// A radio altitude this low rests with the aircraft.
pub(super) const HELD_GROUND_FT: f64 = 10.0;
/// Needles and radio altimeters that stand for longer rest, having nothing to say.
pub(super) const HELD_REST_S: f64 = 180.0;

/// Moving faster than this, no two true positions are alike.
pub(super) const MOVING_KT: f64 = 30.0;
/// Altitude that changes by this during a frozen position shows that the aircraft flew on.
pub(super) const MOVING_FT: f64 = 75.0;

/// Ground speed in a steady cruise repeats for minutes: it is stuck only when, for this long at
/// least, the positions tell a different speed.
pub(super) const SPEED_STUCK_S: f64 = 20.0;
/// Positions repeat for seconds too: their speed over a short stretch is known to this share.
pub(super) const SPEED_SHARE: f64 = 0.35;
/// And not better than this.
pub(super) const SPEED_SLACK_KT: f64 = 25.0;

/// `(parameter, constant for s, while this one, moves by)`: stuck.
///
/// Airspeed held by autothrust repeats for 12 s in real cruise and more with a coarse recorder,
/// hence a minute and a change of ground speed that no wind makes at one level and on one course.
#[rustfmt::skip]
pub(super) const STUCK: &[(&str, f64, &str, f64)] = &[
    ("cas_kt", 60.0, "ground_speed_kt", 40.0),
    ("normal_accel_g", 60.0, "roll_deg", 25.0),       // 25 degrees of bank are 0.1 g
    ("radio_altitude_ft", 4.0, "pressure_altitude_ft", 60.0), // no ground falls as the aircraft does
];

/// A turn of this much lets the wind change ground speed alone.
pub(super) const COURSE_DEG: f64 = 15.0;
/// Radio altimeters are coarse high up: pressure altitude has to move by this many of their steps.
pub(super) const RADIO_STEPS: f64 = 8.0;

/// Altitude that stands for this long …
pub(super) const LEVEL_STUCK_S: f64 = 8.0;
/// … while a vertical speed that is alive makes this much of it, is stuck.
pub(super) const LEVEL_STUCK_FT: f64 = 100.0;

/// Vertical speed that stands for this long …
pub(super) const SINK_STUCK_S: f64 = 8.0;
/// … is stuck where altitude has gone elsewhere by this much …
pub(super) const SINK_STUCK_FT: f64 = 80.0;
/// … and this share: true and pressure heights differ by a tenth on cold and warm days, and vertical
/// speed lags.
pub(super) const SINK_SHARE: f64 = 0.25;
/// It is stuck too where altitude bends away from the line between its ends by this much.
pub(super) const BEND_FT: f64 = 20.0;

/// An engine that stands for this long …
pub(super) const SPOOL_S: f64 = 8.0;
/// … while another spools by this much, is stuck; …
pub(super) const SPOOL_PCT: f64 = 6.0;
/// … spooling goes through this many values: a leap is the other's fault.
pub(super) const SPOOL_VALUES: usize = 4;
/// Or it leaves its rest by this much in one step, …
pub(super) const SPOOL_LEAP_PCT: f64 = 4.0;
/// … while no other engine moves by more than this share of it.
pub(super) const SPOOL_SHARE: f64 = 0.5;

/// A speed that stands for this long …
pub(super) const SPEED_HELD_S: f64 = 8.0;
/// … is stuck where the other sides of the wind triangle say that it moved: an airspeed by this …
pub(super) const WIND_AIR_KT: f64 = 6.0;
/// … a ground speed by this: gusts shake the airspeed that it is judged by.
pub(super) const WIND_GROUND_KT: f64 = 25.0;
/// True and calibrated airspeed drift apart with altitude, and the recorded wind follows slowly.
pub(super) const SPEED_DRIFT_KT_S: f64 = 0.1;

/// Roll that stands for this long …
pub(super) const TURN_S: f64 = 8.0;
/// … is stuck where heading has turned this far from what it makes …
pub(super) const TURN_DEG: f64 = 12.0;
/// … and this share: speed and sideslip are known roughly.
pub(super) const TURN_SHARE: f64 = 0.3;

/// Channels that never rest in flight. Needles are none: on a quiet beam they stand for half a minute.
pub(super) const LIVELY: &[&str] = &["normal_accel_g"];
/// Faster than this the aircraft flies, or rolls roughly, kt.
pub(super) const LIVELY_KT: f64 = 80.0;
/// One that stands for this long …
pub(super) const LIVELY_S: f64 = 12.0;
/// … and this many times longer than any stretch …
pub(super) const LIVELY_TIMES: f64 = 8.0;
/// … within this time of it, is stuck …
pub(super) const LIVELY_AROUND_S: f64 = 90.0;
/// … where so many samples show what it does when it is not.
pub(super) const LIVELY_KNOWN: usize = 40;

/// On the ground radio altitude reads no more than this.
pub(super) const ROLLING_RADIO_FT: f64 = 40.0;
/// Switch and altitude have to agree for this long before and after …
pub(super) const ROLLING_S: f64 = 2.0;
/// … that the aircraft did not leave.
pub(super) const ROLLING_FT: f64 = 40.0;

/// Surfaces rest this near to the angle of their position.
pub(super) const DETENT_DEG: f64 = 0.6;
/// Surfaces this far beyond the lever's position were sent there.
pub(super) const BEYOND_DEG: f64 = 1.5;
/// A lever moves at most this long before the surfaces do.
pub(super) const LEVER_LEAD_S: f64 = 3.0;
/// On the way back they move by this much …
pub(super) const RETRACT_DEG: f64 = 0.5;
/// … within this time.
pub(super) const RETRACT_LAG_S: f64 = 4.0;
/// A lever taken to another position and back within this time sends the surfaces there.
pub(super) const LEVER_FLIP_S: f64 = 60.0;

/// A lever that was moved this long ago …
pub(super) const SURFACE_LATE_S: f64 = 8.0;
/// … to a position this far off has moved the surfaces; …
pub(super) const SURFACE_OFF_DEG: f64 = 4.0;
/// … where they then go there in one step, this many times as large as any other of the flight, they
/// had gone before.
pub(super) const SURFACE_STEP: f64 = 1.3;

/// No gear comes down and goes up again, or the other way round, within this.
pub(super) const GEAR_FLIP_S: f64 = 10.0;
/// Gear takes up to this long.
pub(super) const GEAR_TRANSIT_S: f64 = 25.0;
/// Locked down later than this, the switch spoke late: when is not known.
pub(super) const GEAR_LATE_S: f64 = 35.0;

/// A needle that stands for this long …
pub(super) const NEEDLE_S: f64 = 10.0;
/// … while the aircraft moves this far in its beam, is stuck.
pub(super) const NEEDLE_DOTS: f64 = 0.5;
/// Only well inside of its scale: receivers differ in where that ends.
pub(super) const NEEDLE_SCALE_DOTS: f64 = 1.5;
