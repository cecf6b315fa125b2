//! Approaches flown by an independent flight dynamics library; `tests/data/flown-model/README.md`.
//!
//! The truth beside them was computed from the library's own history at its own rate, by other code.

mod flown;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::sync::OnceLock;

use tempfile::TempDir;

use crate::fleet::{Review, stderr, top};
use crate::table::{Row, number};
use crate::truth::{head, key};
use flown::{Flown, flown};

/// Feet in a nautical mile: 1,852 m of 0.3048 m.
const FT_PER_NM: f64 = 1852.0 / 0.3048;

/// Columns that are read at every crossing.
const READ: [&str; 11] = [
    "height_aal_ft",
    "height_geometric_ft",
    "energy_height_ft",
    "energy_loss_ft_per_nm",
    "distance_to_threshold_nm",
    "cas_kt",
    "tas_kt",
    "ground_speed_kt",
    "sink_rate_fpm",
    "glide_path_dev_dots",
    "localizer_dev_dots",
];

/// A rule that never fires and shows what was read where a column crossed a number.
fn crossing(folder: &TempDir, id: &str, at: &str) {
    let mut rule = format!(
        "id = \"{id}\"\nversion = 1\ntitle = \"Values at {at}\"\nfamily = \"data\"\n\
         why = \"Shows what was read.\"\nsource = \"None: limits far outside.\"\n\
         topics = [\"data quality\"]\n\n[gate]\nat = '{at}'\n"
    );
    for name in READ {
        write!(
            rule,
            "\n[[criterion]]\nname = \"c_{name}\"\nvalue = '{name}'\nupper = 99999\n"
        )
        .unwrap();
    }
    fs::write(folder.path().join(format!("{id}.toml")), rule).unwrap();
}

/// One review with the built-in rules, one with crossings; every test reads them.
struct Reviews {
    built_in: Review,
    crossings: Review,
}

fn reviews() -> &'static Reviews {
    static REVIEWS: OnceLock<Reviews> = OnceLock::new();
    REVIEWS.get_or_init(|| {
        let fleet = top().join("tests/data/flown-model/fleet");
        let rules = TempDir::new().unwrap();
        for nm in [10, 7, 5, 4, 3] {
            let at = format!("distance_to_threshold_nm = {nm}");
            crossing(&rules, &format!("at_{nm}nm"), &at);
        }
        for ft in [1000, 500] {
            crossing(
                &rules,
                &format!("at_{ft}ft"),
                &format!("height_aal_ft = {ft}"),
            );
        }
        let built_in = Review::run(&fleet, &[]);
        let crossings = Review::run(&fleet, &["--rules", rules.path().to_str().unwrap()]);
        for review in [&built_in, &crossings] {
            assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
        }
        Reviews {
            built_in,
            crossings,
        }
    })
}

/// What a crossing read, or a fault.
fn read(gates: &[Row], flown: &Flown, rule: &str, column: &str) -> (f64, f64) {
    let row = gates
        .iter()
        .find(|row| {
            key(row) == flown.key()
                && row["rule"] == rule
                && row["criterion"] == format!("c_{column}")
        })
        .unwrap_or_else(|| panic!("{:?} {rule} {column}: no row", flown.key()));
    let value = number(row, "value");
    (
        number(row, "gate_s").unwrap(),
        value.unwrap_or_else(|| panic!("{:?} {rule} {column}: unknown", flown.key())),
    )
}

/// What was compared, the largest difference of each kind, and the differences beyond their tolerance.
#[derive(Default)]
struct Faults {
    worst: BTreeMap<String, f64>,
    found: Vec<String>,
}

impl Faults {
    fn compare(&mut self, what: &str, of: &str, is: f64, flown: f64, tolerance: f64) {
        self.compare_within(what, of, is, flown, (tolerance, tolerance));
    }

    /// `sides`: how much less, and how much more, it may be.
    fn compare_within(&mut self, what: &str, of: &str, is: f64, flown: f64, sides: (f64, f64)) {
        let worst = self.worst.entry(what.to_owned()).or_default();
        *worst = worst.max((is - flown).abs());
        // What is no number lies in no range.
        if !(-sides.0..=sides.1).contains(&(is - flown)) {
            let range = format!("-{} to +{}", sides.0, sides.1);
            self.found
                .push(format!("{of} {what}: {is} is not {flown} {range}"));
        }
    }

    fn none(&self) {
        println!("largest differences: {:?}", self.worst);
        assert!(self.found.is_empty(), "{}", head(&self.found));
    }
}

#[test]
fn every_approach_is_found_with_its_runway_and_its_outcome() {
    let review = &reviews().built_in;
    assert!(review.restricted("quarantine").is_empty());
    let rows = review.restricted("approaches");
    let flown = flown();
    assert_eq!(rows.len(), flown.len());
    for flown in &flown {
        let row = rows.iter().find(|row| key(row) == flown.key()).unwrap();
        assert_eq!(row["airport"], flown.airport, "{row:?}");
        assert_eq!(row["runway"], flown.runway, "{row:?}");
        assert_eq!(row["outcome"], flown.outcome, "{row:?}");
        assert_eq!(row["approach_kind"], "ils", "{row:?}");
        assert_eq!(row["temperature_corrected"], "true", "{row:?}");
    }
}

#[test]
fn touchdown_is_where_the_wheels_met_the_runway() {
    let rows = reviews().built_in.restricted("approaches");
    let mut faults = Faults::default();
    for flown in flown() {
        let Some(touchdown) = &flown.touchdown else {
            continue;
        };
        let of = format!("{:?}", flown.key());
        let row = rows.iter().find(|row| key(row) == flown.key()).unwrap();
        let at = |column: &str| number(row, column).unwrap_or_else(|| panic!("{of} {column}"));
        let uncertainty_ft = at("touchdown_uncertainty_ft");
        // No more than the way flown in the second between two samples, and no larger than it says.
        assert!(uncertainty_ft <= 260.0, "{of}: {uncertainty_ft} ft");
        let distance_ft = at("touchdown_distance_ft");
        let known_ft = touchdown.beyond_threshold_ft;
        let once_a_second = row["touchdown_g"].is_empty();
        // A switch that is looked at now and then speaks late, never early.
        let (ft, s) = if once_a_second {
            (uncertainty_ft, 1.0)
        } else {
            (35.0, 0.15)
        };
        let kind = |what: &str| format!("{what}{}", if once_a_second { " at 1 Hz" } else { "" });
        faults.compare_within(&kind("touchdown ft"), &of, distance_ft, known_ft, (5.0, ft));
        let known_s = touchdown.time_s;
        faults.compare_within(&kind("touchdown s"), &of, at("end_s"), known_s, (0.05, s));
        if !once_a_second {
            // Eight samples a second miss some of the peak and invent none.
            let highest_g = at("touchdown_g");
            assert!(
                highest_g <= touchdown.highest_g + 1e-3,
                "{of}: {highest_g} g"
            );
            faults.compare("touchdown g", &of, highest_g, touchdown.highest_g, 0.35);
        }
    }
    faults.none();
}

#[test]
fn the_go_around_begins_where_thrust_was_set() {
    let rows = reviews().built_in.restricted("approaches");
    let mut faults = Faults::default();
    for flown in flown() {
        let Some(go_around) = &flown.go_around else {
            continue;
        };
        let of = format!("{:?}", flown.key());
        let row = rows.iter().find(|row| key(row) == flown.key()).unwrap();
        let at = |column: &str| number(row, column).unwrap_or_else(|| panic!("{of} {column}"));
        assert_eq!(row["go_around_from_low_point"], "false", "{of}");
        // N1 is recorded once a second: the last sample before it rises is early. It is late where that sample has
        // risen by a little already, no more than steady thrust does.
        let (is_s, is_ft) = (at("end_s"), at("go_around_height_ft"));
        faults.compare_within("go-around s", &of, is_s, go_around.time_s, (1.0, 0.5));
        // Low as the heights of the whole approach, and high as it begins early.
        let low_ft = flown.tolerance(2.0, 20.0, 2.0);
        faults.compare_within(
            "go-around ft",
            &of,
            is_ft,
            go_around.height_ft,
            (low_ft, 15.0),
        );
    }
    assert_eq!(faults.worst.len(), 2, "no go-around was compared");
    faults.none();
}

#[test]
fn gate_values_are_those_flown() {
    let gates = reviews().crossings.restricted("gates");
    let mut faults = Faults::default();
    for flown in flown() {
        // Between samples a second apart, turbulence does what no interpolation knows.
        let by = |calm: f64, touched: f64, rough: f64| flown.tolerance(calm, touched, rough);
        let has_vertical_speed = !flown.lacks_rates();
        let lowest_ft = flown.go_around.as_ref().map_or(0.0, |it| it.height_ft);
        let reached = [1_000.0, 500.0].iter().filter(|gate| **gate > lowest_ft);
        assert_eq!(flown.gates.len(), reached.count());
        for gate in &flown.gates {
            let rule = format!("at_{}ft", gate.height_ft);
            let of = format!("{:?} {rule}", flown.key());
            let value = |column: &str| read(&gates, &flown, &rule, column).1;
            let time_s = read(&gates, &flown, &rule, "cas_kt").0;
            let mut is = |what: &str, is: f64, known: f64, tolerance: f64| {
                let what = format!("{what}{}", flown.class());
                faults.compare(&what, &of, is, known, tolerance);
            };
            is("s", time_s, gate.time_s, by(0.05, 1.6, 0.1));
            is("cas", value("cas_kt"), gate.cas_kt, by(0.2, 0.5, 3.0));
            is("tas", value("tas_kt"), gate.tas_kt, by(0.3, 0.5, 3.0));
            is(
                "gs",
                value("ground_speed_kt"),
                gate.ground_speed_kt,
                by(0.2, 0.5, 1.0),
            );
            let sink_fpm = if has_vertical_speed {
                gate.sink_rate_fpm
            } else {
                gate.altimeter_sink_rate_fpm
            };
            is(
                "sink",
                value("sink_rate_fpm"),
                sink_fpm,
                by(10.0, 30.0, 30.0),
            );
            let (glide, localizer) = (value("glide_path_dev_dots"), value("localizer_dev_dots"));
            is("glide path", glide, gate.glide_path_dots, 0.01);
            is("localizer", localizer, gate.localizer_dots, 0.01);
            let distance_ft = value("distance_to_threshold_nm") * FT_PER_NM;
            is(
                "distance",
                distance_ft,
                gate.distance_nm * FT_PER_NM,
                by(10.0, 400.0, 10.0),
            );
            is(
                "energy",
                value("energy_height_ft"),
                gate.energy_height_ft,
                by(8.0, 20.0, 40.0),
            );
        }
    }
    faults.none();
}

#[test]
fn heights_and_energy_at_distances_are_those_flown() {
    let gates = reviews().crossings.restricted("gates");
    let mut faults = Faults::default();
    for flown in flown() {
        let by = |calm: f64, touched: f64, rough: f64| flown.tolerance(calm, touched, rough);
        assert_eq!(flown.checkpoints.len(), 5);
        for checkpoint in &flown.checkpoints {
            let rule = format!("at_{}nm", checkpoint.distance_nm);
            let of = format!("{:?} {rule}", flown.key());
            let value = |column: &str| read(&gates, &flown, &rule, column).1;
            let time_s = read(&gates, &flown, &rule, "cas_kt").0;
            let mut is = |what: &str, is: f64, known: f64, tolerance: f64| {
                let what = format!("{what}{}", flown.class());
                faults.compare(&what, &of, is, known, tolerance);
            };
            is("s", time_s, checkpoint.time_s, 0.1);
            is(
                "altimeter",
                value("height_aal_ft"),
                checkpoint.height_by_altimeter_ft,
                by(3.0, 20.0, 3.0),
            );
            is(
                "tape",
                value("height_geometric_ft"),
                checkpoint.height_by_tape_ft,
                by(8.0, 20.0, 8.0),
            );
            is("cas", value("cas_kt"), checkpoint.cas_kt, by(0.2, 0.2, 3.0));
            is("tas", value("tas_kt"), checkpoint.tas_kt, by(0.3, 0.3, 3.0));
            is(
                "energy",
                value("energy_height_ft"),
                checkpoint.energy_height_ft,
                by(10.0, 20.0, 60.0),
            );
        }
    }
    faults.none();
}

/// On a hot and on a cold day the altimeter is off by a tenth: the correction has something to do.
#[test]
fn the_days_are_as_hot_and_as_cold_as_they_should_be() {
    for flown in flown() {
        let first = &flown.checkpoints[0];
        let error_ft = first.height_by_altimeter_ft - first.height_by_tape_ft;
        match flown.flight_id.as_str() {
            "m06-hot" => assert!(error_ft < -200.0, "{error_ft}"),
            "m07-cold" => assert!(error_ft > 250.0, "{error_ft}"),
            _ => assert!(error_ft.abs() < 5.0, "{error_ft}"),
        }
    }
}

#[test]
fn calm_approaches_that_were_stable_are_stable() {
    let gates = reviews().built_in.restricted("gates");
    for flown in flown() {
        if flown.flight_id != "m01-plain" && flown.flight_id != "m05-meridian" {
            continue;
        }
        let mut judged = 0;
        for row in gates.iter().filter(|row| key(row) == flown.key()) {
            if row["rule"] == "unstable_1000" || row["rule"] == "unstable_500" {
                assert_ne!(row["passed"], "false", "{row:?}");
                judged += usize::from(row["passed"] == "true");
            }
        }
        assert!(judged >= 14, "{:?}: {judged} criteria judged", flown.key());
    }
}

/// What the program calls a loss of energy height is what drag, less thrust, does to the weight: it reads
/// heights and speeds, and the library knows the forces.
#[test]
fn energy_lost_per_air_mile_is_what_the_forces_took() {
    let gates = reviews().crossings.restricted("gates");
    let mut faults = Faults::default();
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    // A gust changes airspeed, and what it is worth, before any force has done so.
    for flown in flown().into_iter().filter(|flown| !flown.is_rough()) {
        for checkpoint in &flown.checkpoints {
            let rule = format!("at_{}nm", checkpoint.distance_nm);
            let (_, loss) = read(&gates, &flown, &rule, "energy_loss_ft_per_nm");
            let known = checkpoint.loss_ft_per_nm;
            let of = format!("{:?} {rule}", flown.key());
            faults.compare("loss", &of, loss, known, 5.0);
            (least, most) = (least.min(known), most.max(known));
        }
    }
    // From level flight under thrust to gear and flaps at idle: there was something to find.
    assert!(least < 100.0 && most > 400.0, "{least} to {most} ft/NM");
    faults.none();
}

#[test]
fn the_table_of_checkpoints_says_the_same() {
    let rows = reviews().built_in.restricted("checkpoints");
    let mut faults = Faults::default();
    for flown in flown() {
        let by = |calm: f64, touched: f64, rough: f64| flown.tolerance(calm, touched, rough);
        for known in &flown.checkpoints {
            let of = format!("{:?} {} NM", flown.key(), known.distance_nm);
            let name = format!("{}nm", known.distance_nm);
            let row = rows
                .iter()
                .find(|row| key(row) == flown.key() && row["checkpoint"] == name)
                .unwrap_or_else(|| panic!("{of}: no row"));
            let value =
                |column: &str| number(row, column).unwrap_or_else(|| panic!("{of} {column}"));
            let mut is = |what: &str, is: f64, flew: f64, tolerance: f64| {
                faults.compare(
                    &format!("{what}{}", flown.class()),
                    &of,
                    is,
                    flew,
                    tolerance,
                );
            };
            is("s", value("time_s"), known.time_s, 0.1);
            is(
                "direct",
                value("direct_nm") * FT_PER_NM,
                known.straight_nm * FT_PER_NM,
                15.0,
            );
            // Ground speed is that at the height flown, a foot or two a mile more than below.
            let detour_nm = known.distance_nm - known.straight_nm;
            is(
                "detour",
                value("detour_nm") * FT_PER_NM,
                detour_nm * FT_PER_NM,
                15.0,
            );
            let (altimeter_ft, tape_ft) = (known.height_by_altimeter_ft, known.height_by_tape_ft);
            is(
                "altimeter",
                value("height_aal_ft"),
                altimeter_ft,
                by(3.0, 20.0, 3.0),
            );
            is(
                "tape",
                value("height_geometric_ft"),
                tape_ft,
                by(8.0, 20.0, 8.0),
            );
            is("cas", value("cas_kt"), known.cas_kt, by(0.2, 0.2, 3.0));
            is("lever", value("flap_lever"), known.flap_lever, 0.0);
            is("gear", value("gear_down"), known.gear_down, 0.0);
        }
    }
    faults.none();
}

/// Nothing is wrong with these records. Only where a beam is left over its antenna, in a second, may a
/// sample be doubted, once an approach.
#[test]
fn what_was_recorded_is_believed() {
    let (rows, flown) = (reviews().built_in.restricted("quality"), flown());
    assert!(rows.len() > 150, "{} rows", rows.len());
    let mut doubted = Vec::new();
    for row in &rows {
        let count = |column: &str| number(row, column).unwrap();
        let beam = row["parameter"].ends_with("_dev_dots");
        let of_flight = |it: &&Flown| it.flight_id == row["flight_id"];
        let approaches = flown.iter().filter(of_flight).count();
        let spikes = if beam { approaches as f64 } else { 0.0 };
        let calm = count("spikes") <= spikes && count("stuck_s") == 0.0;
        if !calm || count("out_of_range") + count("stale") > 0.0 {
            doubted.push(format!("{row:?}"));
        }
    }
    assert!(doubted.is_empty(), "{}", head(&doubted));
}
