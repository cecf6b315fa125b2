//! Time columns from file to flight.

use super::*;

fn texts(texts: &[&str]) -> ArrayRef {
    Arc::new(StringArray::from(texts.to_vec()))
}

fn load(toml: &str, time: ArrayRef) -> Result<RawFlight, QuarantineRow> {
    let cas = seconds(time.len());
    Folder::new(toml, vec![("time_s", time), ("cas_kt", cas)]).load()
}

#[test]
fn dates_and_times_of_day_are_not_kept() {
    let moments = texts(&["2025-03-09T23:59:59.5Z", "2025-03-10T00:00:00.5Z"]);
    let clock = texts(&["23:59:59.5", "00:00:00.5"]);
    for time in [moments, clock] {
        let flight = load("", time).expect("loads");
        close(&flight.channels["cas_kt"].time_s, &[0.0, 1.0]);
    }
}

#[test]
fn numbers_as_text_take_the_unit_of_the_map() {
    let toml = "[[map]]\ntime_s = { column = \"time_s\", unit = \"us\" }\n\
                cas_kt = { column = \"cas_kt\" }\n";
    let flight = load(toml, texts(&["1500000", "2500000"])).expect("loads");
    close(&flight.channels["cas_kt"].time_s, &[1.5, 2.5]);
    let row = load(toml, texts(&["00:00:01", "00:00:02"])).expect_err("refused");
    assert_eq!(row.reason, "wrong column type");
    assert!(
        row.detail
            .starts_with("column `time_s`: `00:00:01` is a date or")
    );
}

#[test]
fn epoch_numbers_in_every_unit_start_from_zero() {
    for (unit, scale) in [("s", 1.0), ("ms", 1e3), ("us", 1e6), ("ns", 1e9)] {
        let toml = format!(
            "[[map]]\ntime_s = {{ column = \"time_s\", unit = \"{unit}\" }}\n\
             cas_kt = {{ column = \"cas_kt\" }}\n"
        );
        let time = [1.741e9, 1.741e9 + 1.0].map(|t| t * scale);
        let flight = load(&toml, floats(&time)).expect("loads");
        close(&flight.channels["cas_kt"].time_s, &[0.0, 1.0]);
    }
}

#[test]
fn a_row_whose_time_cannot_be_read_is_dropped_and_counted() {
    let mut clock: Vec<String> = (0..60).map(|s| format!("10:00:{s:02}")).collect();
    clock[30] = "--:--:--".to_owned();
    let clock: Vec<&str> = clock.iter().map(String::as_str).collect();
    let flight = load("", texts(&clock)).expect("loads");
    assert_eq!(values(&flight, "cas_kt").len(), 59);
    assert!(
        flight.quality[0]
            .action
            .starts_with("1 rows with missing time")
    );
}

#[test]
fn times_that_cannot_be_read_are_shown_with_what_is_expected() {
    let row = load("", texts(&["", "10h00m01", "10h00m02"])).expect_err("refused");
    assert_eq!(
        (row.stage.as_str(), row.reason.as_str()),
        ("time", "no usable time")
    );
    assert_eq!(
        row.detail,
        "no row has a time; check the time column; column `time_s` holds `10h00m01`, expected a \
         number, a date and time such as 2025-03-09T14:05:06.25Z, or a time of day such as \
         14:05:06.25, and one form in all rows"
    );
}
