mod csv;
mod shapes;
mod times;

use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanArray, Float32Array, Float64Array, Int32Array, RecordBatch, StringArray,
    TimestampMillisecondArray,
};
use parquet::arrow::ArrowWriter;
use tempfile::TempDir;

use super::*;
use crate::fleet::open;

/// A fleet folder with one record file.
struct Folder(TempDir);

impl Folder {
    fn new(toml: &str, columns: Vec<(&str, ArrayRef)>) -> Self {
        let folder = tempfile::tempdir().expect("temporary folder");
        std::fs::write(folder.path().join("fleet.toml"), toml).expect("written");
        std::fs::create_dir(folder.path().join("records")).expect("made");
        let batch = RecordBatch::try_from_iter(columns).expect("equal lengths");
        let file = std::fs::File::create(folder.path().join("records/f1.parquet")).expect("made");
        let mut writer = ArrowWriter::try_new(file, batch.schema(), None).expect("schema");
        writer.write(&batch).expect("written");
        writer.close().expect("closed");
        Self(folder)
    }

    fn load(&self) -> Result<RawFlight, QuarantineRow> {
        let fleet = open(self.0.path()).expect("good folder");
        let path = self.0.path().join("records/f1.parquet");
        one_flight(
            &Source {
                path: &path,
                relative: "records/f1.parquet",
            },
            &fleet,
        )
    }
}

fn floats(values: &[f64]) -> ArrayRef {
    Arc::new(Float64Array::from(values.to_vec()))
}

fn seconds(n: usize) -> ArrayRef {
    floats(&(0..n).map(|i| i as f64).collect::<Vec<_>>())
}

fn values<'a>(flight: &'a RawFlight, name: &str) -> &'a [f64] {
    &flight.channels[name].value
}

fn close(actual: &[f64], expected: &[f64]) {
    let near = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-6;
    assert_eq!(actual.len(), expected.len());
    assert!(
        actual.iter().zip(expected).all(near),
        "{actual:?} is not {expected:?}"
    );
}

#[test]
fn a_map_converts_units_signs_words_and_sentinels() {
    let toml = r#"
[[map]]
time_s = { column = "T", unit = "ms" }
cas_kt = { column = "IAS", unit = "m/s", missing = [-999] }
pitch_deg = { column = "P", scale = 0.5 }
glide_path_dev_dots = { column = "GS", unit = "uA", positive = "below" }
track_true_deg = { column = "TRK" }
flap_lever = { column = "LEVER", values = { "UP" = 0, "1" = 1 }, missing = ["--"] }
gear_down = { column = "GEAR_UP", invert = true }
vref_kt = { column = "VREF", hold = "record" }
"#;
    let words: ArrayRef = Arc::new(StringArray::from(vec!["UP", "--", "1"]));
    let flight = Folder::new(
        toml,
        vec![
            (
                "T",
                Arc::new(Int32Array::from(vec![0, 500, 1000])) as ArrayRef,
            ),
            (
                "IAS",
                Arc::new(Float32Array::from(vec![72.0, -999.0, 1852.0 / 3600.0])),
            ),
            ("P", floats(&[10.0, 8.0, -4.0])),
            ("GS", floats(&[75.0, -37.5, 0.0])),
            ("TRK", floats(&[-90.0, 0.0, 179.0])),
            ("LEVER", words),
            (
                "GEAR_UP",
                Arc::new(BooleanArray::from(vec![true, true, false])),
            ),
            (
                "VREF",
                Arc::new(Float64Array::from(vec![None, None, Some(131.0)])),
            ),
        ],
    )
    .load()
    .expect("loads");
    close(&flight.channels["cas_kt"].time_s, &[0.0, 1.0]);
    close(values(&flight, "cas_kt"), &[72.0 * 3600.0 / 1852.0, 1.0]);
    close(values(&flight, "pitch_deg"), &[5.0, 4.0, -2.0]);
    close(values(&flight, "glide_path_dev_dots"), &[-1.0, 0.5, 0.0]);
    close(values(&flight, "track_true_deg"), &[270.0, 0.0, 179.0]);
    close(values(&flight, "flap_lever"), &[0.0, 1.0]);
    close(values(&flight, "gear_down"), &[0.0, 0.0, 1.0]);
    let vref = &flight.channels["vref_kt"];
    assert!(vref.holds && vref.time_s == [0.0] && vref.value == [131.0]);
    assert_eq!(flight.header.flight_id, "f1", "the file's stem");
}

#[test]
fn lever_angles_become_detents_and_others_are_counted() {
    let toml = "[[map]]\nflap_lever = { column = \"L\", values = { 0 = 0, 5 = 1, 15 = 2 } }\n";
    let columns = vec![
        ("time_s", seconds(4)),
        ("L", floats(&[0.0, 3.0, 5.0, 15.0])),
    ];
    let flight = Folder::new(toml, columns).load().expect("loads");
    close(values(&flight, "flap_lever"), &[0.0, 1.0, 2.0]);
    assert!(
        flight.quality[0].action.starts_with("1 entries"),
        "{:?}",
        flight.quality
    );
}

#[test]
fn clock_times_are_not_kept() {
    let clock: ArrayRef = Arc::new(TimestampMillisecondArray::from(vec![
        1_600_000_000_000,
        1_600_000_001_000,
    ]));
    let columns = vec![("time_s", clock), ("cas_kt", floats(&[140.0, 141.0]))];
    let flight = Folder::new("", columns).load().expect("loads");
    close(&flight.channels["cas_kt"].time_s, &[0.0, 1.0]);
}

#[test]
fn a_few_rows_without_a_place_are_dropped_and_counted_many_refuse_the_record() {
    let mut time: Vec<f64> = (0..100).map(f64::from).collect();
    time[50] = 49.0;
    time[51] = f64::NAN;
    let cas: Vec<f64> = (0..100).map(|i| 140.0 - f64::from(i)).collect();
    let columns = vec![("time_s", floats(&time)), ("cas_kt", floats(&cas))];
    let flight = Folder::new("", columns).load().expect("loads");
    assert_eq!(values(&flight, "cas_kt").len(), 98);
    assert_eq!(
        flight.quality[0].action,
        "2 rows with missing time, or other values for a moment that is there, dropped"
    );
    let again: Vec<f64> = (0..100).map(|i| f64::from(i % 50)).collect();
    let columns = vec![("time_s", floats(&again)), ("cas_kt", floats(&cas))];
    let row = Folder::new("", columns).load().expect_err("refused");
    assert_eq!(
        (row.stage.as_str(), row.reason.as_str()),
        ("time", "time does not increase")
    );
}

#[test]
fn a_parameter_without_a_value_is_told() {
    let toml = "[[map]]\ncas_kt = { column = \"IAS\" }\nroll_deg = { column = \"ROLL\" }\n\
                pitch_deg = { column = \"PITCH\", optional = true }\n";
    let columns = vec![
        ("time_s", seconds(2)),
        ("IAS", floats(&[140.0, 139.0])),
        ("ROLL", floats(&[f64::NAN, f64::NAN])),
    ];
    let flight = Folder::new(toml, columns).load().expect("loads");
    let told: Vec<(&str, f64, &str)> = flight
        .quality
        .iter()
        .map(|row| (row.parameter.as_str(), row.coverage, row.action.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            ("pitch_deg", 0.0, "its column is not in the file"),
            ("roll_deg", 0.0, "no value in the whole record"),
        ]
    );
}

#[test]
fn a_file_that_fits_no_map_says_which_column_is_missing() {
    let toml = "[[map]]\ncas_kt = { column = \"IAS\" }\n";
    let columns = vec![("time_s", seconds(2)), ("IAS_KT", floats(&[1.0, 2.0]))];
    let row = Folder::new(toml, columns).load().expect_err("refused");
    assert_eq!(row.reason, "no parameter map fits");
    assert_eq!(
        row.detail,
        "no [[map]] fits; the nearest, number 1, lacks `IAS`; did you mean IAS_KT?; correct the \
         column, or mark it optional = true"
    );
    assert_eq!(row.file, "records/f1.parquet");
}

#[test]
fn an_optional_id_column_leaves_the_files_name_as_the_id() {
    let toml = "[[map]]\nflight_id = { column = \"FLT\", optional = true }\n\
                cas_kt = { column = \"IAS\" }\n";
    let columns = vec![("time_s", seconds(2)), ("IAS", floats(&[140.0, 139.0]))];
    let flight = Folder::new(toml, columns).load().expect("loads");
    assert_eq!(flight.header.flight_id, "f1");
    assert_eq!(values(&flight, "cas_kt"), [140.0, 139.0]);
    let required = toml.replace(", optional = true", "");
    let columns = vec![("time_s", seconds(2)), ("IAS", floats(&[140.0, 139.0]))];
    let row = Folder::new(&required, columns).load().expect_err("refused");
    assert!(row.detail.contains("lacks `FLT`"), "{}", row.detail);
}

#[test]
fn a_truncated_or_foreign_file_is_refused_in_words() {
    let columns = vec![("time_s", seconds(500)), ("cas_kt", seconds(500))];
    let folder = Folder::new("", columns);
    let path = folder.0.path().join("records/f1.parquet");
    let bytes = std::fs::read(&path).expect("read");
    let attempt = |content: &[u8]| {
        std::fs::write(&path, content).expect("written");
        folder.load().expect_err("refused").detail
    };
    let cut = attempt(&bytes[..bytes.len() / 2]);
    assert_eq!(
        cut,
        "the file is cut off: it does not end with PAR1; copy it again"
    );
    assert!(attempt(b"time_s,cas_kt\n1,140\n2,141\n").starts_with("not a Parquet file"));
    assert!(attempt(b"").contains("too short"));
    let mut lying = bytes.clone();
    let length = lying.len();
    lying[length - 8..length - 4].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(attempt(&lying).contains("the footer claims"));
}

#[test]
fn what_the_flight_list_says_goes_with_the_flight() {
    let columns = vec![("time_s", seconds(2)), ("cas_kt", floats(&[140.0, 139.0]))];
    let folder = Folder::new("", columns);
    let list = "flight_id,aircraft_type,month,landing_mass_kg\nf1,corvan-c20,2025-03,55000\n";
    std::fs::write(folder.0.path().join("flights.csv"), list).expect("written");
    let header = folder.load().expect("loads").header;
    assert_eq!(header.landing_mass_kg, Some(55_000.0));
    assert_eq!(header.month.as_deref(), Some("2025-03"));
}

#[test]
fn a_record_with_a_column_that_identifies_is_taken_without_it_or_refused() {
    let names: ArrayRef = Arc::new(StringArray::from(vec!["a", "b"]));
    let load = |toml: &str| {
        let speeds = floats(&[140.0, 139.0]);
        let columns = vec![
            ("time_s", seconds(2)),
            ("cas_kt", speeds),
            ("CAPT_NAME", Arc::clone(&names)),
            ("tail_id", Arc::clone(&names)),
        ];
        Folder::new(toml, columns).load()
    };
    let dropped = load("").expect("loads");
    assert_eq!(dropped.channels.keys().collect::<Vec<_>>(), ["cas_kt"]);
    let refused = load("[privacy]\nidentifying = \"refuse\"\n").expect_err("refused");
    assert_eq!(
        (refused.stage.as_str(), refused.reason.as_str()),
        ("map", "identifying columns")
    );
    assert!(
        refused
            .detail
            .starts_with("columns that identify: `CAPT_NAME` (a person); take them out"),
        "{}",
        refused.detail
    );
    load("[privacy]\nidentifying = \"allow\"\n").expect("allowed");
}

#[test]
fn a_round_number_is_the_same_in_every_unit() {
    let toml = r#"
[[map]]
time_s = { column = "T" }
cas_kt = { column = "IAS", unit = "m/s" }
ground_speed_kt = { column = "GS", unit = "km/h" }
roll_deg = { column = "R", unit = "rad", scale = -1 }
static_air_temp_c = { column = "SAT", unit = "degF" }
gross_mass_kg = { column = "M", unit = "lb" }
latitude_deg = { column = "LAT", unit = "rad" }
"#;
    let round: Vec<f64> = (-150..=150).map(|n| f64::from(n) / 4.0).collect();
    let from = |convert: &dyn Fn(f64) -> f64| {
        floats(&round.iter().map(|&n| convert(n)).collect::<Vec<_>>())
    };
    let fast = |n: f64| 200.0 + n;
    let place: f64 = 47.123_456_789_012;
    let folder = Folder::new(
        toml,
        vec![
            ("T", seconds(round.len())),
            ("IAS", from(&|n| fast(n) * 1852.0 / 3600.0)),
            ("GS", from(&|n| fast(n) * 1.852)),
            ("R", from(&|n| -n.to_radians())),
            ("SAT", from(&|n| n * 1.8 + 32.0)),
            ("M", from(&|n| fast(n) * 1000.0 / 0.453_592_37)),
            ("LAT", from(&|_| place.to_radians())),
        ],
    );
    let flight = folder.load().expect("loads");
    let exactly = |name: &str, expected: &dyn Fn(f64) -> f64| {
        let expected: Vec<f64> = round.iter().map(|&n| expected(n)).collect();
        assert_eq!(values(&flight, name), expected, "{name}");
    };
    exactly("cas_kt", &fast);
    exactly("ground_speed_kt", &fast);
    exactly("roll_deg", &|n| n);
    exactly("static_air_temp_c", &|n| n);
    exactly("gross_mass_kg", &|n| fast(n) * 1000.0);
    // A tenth of a millimetre is not lost by it.
    let lat = values(&flight, "latitude_deg");
    assert!(lat.iter().all(|lat| (lat - place).abs() < 1e-9), "{lat:?}");
}
