use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;

use super::*;
use crate::atmosphere::{GRAVITY_M_S2, M_S_PER_KT, cas_kt};
use crate::fleet::{Entry, open, type_files};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The map of a proposal as the program itself reads it.
fn read(found: &Inspection) -> Vec<crate::fleet::ParameterMap> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("fleet.toml"), fleet_toml(found)).unwrap();
    open(folder.path()).unwrap().maps
}

fn same(a: &Entry, b: &Entry) -> bool {
    a.column == b.column
        && (a.factor - b.factor).abs() < 1e-4 * b.factor.abs()
        && (a.summand - b.summand).abs() < 1e-6
        && a.invert == b.invert
        && a.values == b.values
}

#[test]
fn the_invented_recorders_are_understood_and_nothing_sure_is_wrong() {
    let sample = top().join("sample-data");
    let types = type_files(&sample.join("aircraft")).unwrap();
    let found = inspect(std::slice::from_ref(&sample), &types).unwrap();
    let truth = open(&sample).unwrap().maps;
    let (mut right, mut all, mut missed) = (0, 0, Vec::new());
    for (map, kind) in read(&found).iter().zip(&found.kinds) {
        let known = truth
            .iter()
            .find(|known| known.time.column == map.time.column)
            .unwrap();
        assert!(same(&map.time, &known.time));
        let id = |m: &crate::fleet::ParameterMap| {
            m.flight_id.as_ref().map(|e| (e.column.clone(), e.optional))
        };
        assert_eq!(id(map), id(known));
        for (name, entry) in &known.entries {
            all += 1;
            match map.entries.get(name).filter(|e| same(e, entry)) {
                Some(_) => right += 1,
                None => missed.push(format!("{name} = {}", entry.column)),
            }
        }
        for proposal in kind
            .proposals
            .iter()
            .filter(|p| p.confidence == Confidence::High)
        {
            if let Some(entry) = map.entries.get(&proposal.parameter) {
                let known = known.entries.get(&proposal.parameter);
                assert!(
                    known.is_some_and(|known| same(entry, known)),
                    "{proposal:?}"
                );
            }
        }
        for name in map.entries.keys() {
            assert!(
                known.entries.contains_key(name),
                "{name} was never recorded"
            );
        }
    }
    assert_eq!(found.kinds.len(), 3);
    // Every one of them is right; one that is not may be missed with its reason, never be `high`.
    assert!(
        missed.is_empty() && right == all,
        "{right} of {all}: {missed:?}"
    );
    assert!(all > 80, "{all} entries compared");
}

#[test]
fn a_pitch_that_is_recorded_twofold_is_noticed() {
    let found = inspect(
        &[top().join("tests/data/real/recorder.parquet")],
        &BTreeMap::new(),
    )
    .unwrap();
    let maps = read(&found);
    let entry = |name: &str| {
        maps[0]
            .entries
            .get(name)
            .map(|e| (e.column.as_str(), e.factor))
    };
    assert_eq!(entry("pitch_deg"), Some(("pitch_deg_as_recorded", 0.5)));
    assert_eq!(entry("track_true_deg"), Some(("track_deg", 1.0)));
    assert_eq!(entry("gross_mass_kg"), Some(("weight_kg", 1.0)));
    assert_eq!(entry("roll_deg"), Some(("roll_deg", 1.0)));
    assert_eq!(maps[0].entries.len(), 8, "{:?}", maps[0].entries.keys());
}

/// A flight of an invented recorder with German names: height in metres, sink positive, bank positive to
/// the left, gear and air/ground the other way round.
fn german() -> String {
    let mut text = "Zeit [ms];Höhe [m];Radio-Höhe [m];Fahrt [km/h];Grundgeschw [m/s];Steigen [m/s];Breite;Länge;\
                    Steuerkurs rechtweisend;Querneigung;Fahrwerk oben;Luft;Klappen-Hebel;Zapfluft 3\n"
        .to_owned();
    let (mut latitude, mut longitude) = (50.0_f64, 9.0_f64);
    for second in 0..2060_u32 {
        let t = f64::from(second);
        let speed = match t {
            t if t < 900.0 => 340.0,
            t if t < 1300.0 => 340.0 - (t - 900.0) / 2.0,
            t if t < 2000.0 => 140.0,
            t => (140.0 - (t - 2000.0) * 5.0).max(20.0),
        };
        let height_ft = match t {
            t if t < 600.0 => 10_000.0,
            t if t < 1400.0 => 10_000.0 - (t - 600.0) * 2_570.0 / 800.0,
            t => ((2000.0 - t) * 743.0 / 60.0).max(0.0),
        };
        let climb_fpm = match t {
            t if t < 600.0 => 0.0,
            t if t < 1400.0 => -2_570.0 / 800.0 * 60.0,
            t if t < 2000.0 => -743.0,
            _ => 0.0,
        };
        let swing = t < 1400.0;
        let heading = if swing {
            90.0 + 60.0 * (TAU * t / 700.0).sin()
        } else {
            90.0
        };
        let turn = if swing {
            60.0 * TAU / 700.0 * (TAU * t / 700.0).cos()
        } else {
            0.0
        };
        let bank = (turn.to_radians() * speed * M_S_PER_KT / GRAVITY_M_S2).atan() * 180.0 / PI;
        latitude += speed / 3600.0 / 60.0 * heading.to_radians().cos();
        longitude +=
            speed / 3600.0 / 60.0 * heading.to_radians().sin() / latitude.to_radians().cos();
        let radio = if height_ft < 2_500.0 {
            format!("{:.2}", height_ft * 0.3048)
        } else {
            String::new()
        };
        let flaps = if t < 1300.0 {
            0
        } else if t < 1500.0 {
            12
        } else {
            33
        };
        writeln!(
            text,
            "{};{:.2};{radio};{:.2};{:.3};{:.3};{latitude:.6};{longitude:.6};{heading:.2};{:.2};{};{};{flaps};{}",
            second * 1000,
            height_ft * 0.3048,
            cas_kt(speed, height_ft, 0.0) * 1.852,
            speed * M_S_PER_KT,
            -climb_fpm * 0.3048 / 60.0,
            -bank,
            u8::from(t < 1500.0),
            u8::from(t < 2000.0),
            second % 7,
        )
        .unwrap();
    }
    text
}

#[test]
fn names_units_and_signs_of_another_language() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("flug.csv"), german()).unwrap();
    let found = inspect(&[folder.path().to_owned()], &BTreeMap::new()).unwrap();
    let maps = read(&found);
    let expected = [
        ("pressure_altitude_ft", "Höhe [m]", 1.0 / 0.3048, false),
        ("radio_altitude_ft", "Radio-Höhe [m]", 1.0 / 0.3048, false),
        ("cas_kt", "Fahrt [km/h]", 1.0 / 1.852, false),
        (
            "ground_speed_kt",
            "Grundgeschw [m/s]",
            3600.0 / 1852.0,
            false,
        ),
        ("vertical_speed_fpm", "Steigen [m/s]", -60.0 / 0.3048, false),
        ("latitude_deg", "Breite", 1.0, false),
        ("longitude_deg", "Länge", 1.0, false),
        ("heading_true_deg", "Steuerkurs rechtweisend", 1.0, false),
        ("roll_deg", "Querneigung", -1.0, false),
        ("gear_down", "Fahrwerk oben", 1.0, true),
        ("on_ground", "Luft", 1.0, true),
    ];
    assert_eq!(
        (maps[0].time.column.as_str(), maps[0].time.factor),
        ("Zeit [ms]", 1e-3)
    );
    for (name, column, factor, invert) in expected {
        let entry = maps[0].entries.get(name);
        let right = entry.is_some_and(|e| {
            e.column == column && (e.factor / factor - 1.0).abs() < 1e-6 && e.invert == invert
        });
        assert!(right, "{name}: {entry:?} of\n{}", fleet_toml(&found));
    }
    // The lever's angles are nobody's as long as no type is given.
    assert_eq!(maps[0].entries.len(), expected.len());
    let text = fleet_toml(&found);
    assert!(text.contains("# flap_lever = { column = \"Klappen-Hebel\", values = { \"0\" = 0, \"12\" = 1, \"33\" = 2 } }"), "{text}");
    assert!(text.contains("# not mapped: Zapfluft 3"), "{text}");
}

#[test]
fn what_cannot_be_read_is_told_and_what_is_no_record_gets_no_map() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.parquet"), "nothing").unwrap();
    std::fs::write(folder.path().join("b.csv"), "name,place\nx,y\nz,w\n").unwrap();
    let found = inspect(&[folder.path().to_owned()], &BTreeMap::new()).unwrap();
    assert_eq!(found.refused.len(), 1);
    assert!(found.kinds[0].proposals.is_empty());
    assert!(read(&found).is_empty());
    let nothing = tempfile::tempdir().unwrap();
    assert!(inspect(&[nothing.path().to_owned()], &BTreeMap::new()).is_err());
}
