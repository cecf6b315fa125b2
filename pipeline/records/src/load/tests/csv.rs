//! Tables of text: the same flights as from Parquet, and clear words for what is no table.

use std::fs::File;

use super::*;

/// A fleet folder with one record of text.
fn folder(toml: &str, text: impl AsRef<[u8]>) -> TempDir {
    let folder = tempfile::tempdir().expect("temporary folder");
    std::fs::write(folder.path().join("fleet.toml"), toml).expect("written");
    std::fs::create_dir(folder.path().join("records")).expect("made");
    std::fs::write(folder.path().join("records/f1.csv"), text).expect("written");
    folder
}

fn load_csv(folder: &TempDir) -> Result<RawFlight, QuarantineRow> {
    let fleet = open(folder.path()).expect("good folder");
    let path = folder.path().join("records/f1.csv");
    let relative = "records/f1.csv";
    one_flight(
        &Source {
            path: &path,
            relative,
        },
        &fleet,
    )
}

fn detail(text: impl AsRef<[u8]>) -> String {
    let row = load_csv(&folder("", text)).expect_err("refused");
    format!("{}: {}", row.reason, row.detail)
}

#[test]
fn csv_cells_convert_as_parquet_cells_do() {
    let toml = r#"
[[map]]
time_s = { column = "T", unit = "ms" }
cas_kt = { column = "IAS, m/s", unit = "m/s", missing = [-999, "n/a"] }
flap_lever = { column = "LEVER", values = { "0" = 0, "5" = 1, "UP" = 0 }, missing = [99] }
gear_down = { column = "GEAR_UP", invert = true }
"#;
    let text = "\u{feff}T,\"IAS, m/s\",LEVER,GEAR_UP,\r\n\
                0,72,UP,true,x\r\n\
                500, -999 ,5.0,TRUE,\r\n\
                1000,n/a,99,false,\r\n\
                1500,,7,0,\r\n";
    let flight = load_csv(&folder(toml, text)).expect("loads");
    close(values(&flight, "cas_kt"), &[72.0 * 3600.0 / 1852.0]);
    close(values(&flight, "flap_lever"), &[0.0, 1.0]);
    close(values(&flight, "gear_down"), &[0.0, 0.0, 1.0, 1.0]);
    close(&flight.channels["gear_down"].time_s, &[0.0, 0.5, 1.0, 1.5]);
    // The lever of 7 is in no table; the sentinel of 99 is no fault.
    let action = &flight.quality[0].action;
    assert!(action.starts_with("1 entries"), "{action}");
    assert_eq!(flight.header.flight_id, "f1");
}

#[test]
fn semicolons_and_tabs_separate_too() {
    for separator in [";", "\t"] {
        let text = "time_s,cas_kt\n0,140.5\n1,141\n".replace(',', separator);
        let flight = load_csv(&folder("", text)).expect("loads");
        close(values(&flight, "cas_kt"), &[140.5, 141.0]);
    }
    let comma = detail("time_s;cas_kt\n0;140,5\n1;141\n");
    assert_eq!(
        comma,
        "unreadable file: line 2, column `cas_kt`: `140,5` has a decimal comma; write numbers \
         with a decimal point"
    );
}

#[test]
fn faults_of_a_table_name_line_and_column() {
    assert_eq!(
        detail("time_s,cas_kt\r\n0,140\r\n1,141\r\n2\r\n"),
        "unreadable file: line 4: 1 columns, expected 2 as in the header; the line may be cut \
         off, or a separator stands in a text that is not in quotes"
    );
    assert_eq!(
        detail(b"time_s,cas_kt\n0,140\n1,\xff\xfe\n"),
        "unreadable file: line 3, column `cas_kt`: the text is not UTF-8; save the file as UTF-8"
    );
    assert_eq!(
        detail(b"time_s,temp_\xb0C\n0,140\n"),
        "unreadable file: line 1, column 2: the name is not UTF-8; save the file as UTF-8"
    );
    assert_eq!(
        detail("time_s,cas_kt,cas_kt\n0,1,2\n"),
        "unreadable file: line 1: columns 2 and 3 are both called `cas_kt`; rename one of them"
    );
    assert!(detail("time_s,cas_kt\n").starts_with("empty file"));
    let ids = folder("", "flight_id,time_s,cas_kt\nf1,0,140\n,1,141\n");
    let row = load_csv(&ids).expect_err("refused");
    assert!(row.detail.contains("row 2 has no flight id"), "{row:?}");
}

#[test]
fn what_is_no_table_of_text_is_refused_in_words() {
    let refusals: [(&[u8], &str); 5] = [
        (b"", "the file is empty"),
        (b"PAR1 and more", "this is a Parquet file; name it .parquet"),
        (b"\x1f\x8b\x08\x00\x00", "the file is packed; unpack it"),
        (b"\xff\xfet\x00i\x00", "this is UTF-16; save it as UTF-8"),
        (b"time_s,\x00\n0,1\n", "byte 8 is zero; copy the file again"),
    ];
    for (bytes, expected) in refusals {
        let found = detail(bytes);
        let start = "unreadable file: not a table of text: ";
        assert!(
            found.starts_with(start) && found.contains(expected),
            "{found}"
        );
    }
    let mut late = b"time_s,cas_kt\n".to_vec();
    late.extend(b"0,140\n".repeat(50_000));
    late.push(0);
    assert!(
        detail(&late).contains("byte 300015 is zero"),
        "{}",
        detail(&late)
    );
}

#[test]
fn a_row_without_an_end_is_not_read_into_memory() {
    let long_header = "a".repeat(3 << 20);
    assert!(detail(&long_header).contains("a row is longer than 1048576 bytes"));
    let open_quote = format!("time_s,cas_kt\n0,\"140\n{}", "1,141\n".repeat(600_000));
    assert!(detail(&open_quote).contains("a quote may not be closed"));
}

/// Three gigabytes that take no room on the disk; reading them all would show in the time.
#[test]
fn huge_files_of_zeros_are_refused_at_once() {
    let root = folder("", "");
    let records = root.path().join("records");
    for (name, expected) in [
        ("f1.csv", "not a table of text: byte 1 is zero"),
        ("f1.parquet", "not a Parquet file"),
    ] {
        let path = records.join(name);
        let file = File::create(&path).expect("made");
        file.set_len(3 << 30).expect("a sparse file");
        let start = std::time::Instant::now();
        let Err(fault) = table_file::open(&path) else {
            panic!("{name} was opened");
        };
        assert!(fault.starts_with(expected), "{fault}");
        assert!(start.elapsed().as_millis() < 500, "{:?}", start.elapsed());
    }
}

#[test]
fn a_long_table_comes_in_many_batches_and_its_rows_are_counted() {
    let rows = 40_000;
    let mut text = "time_s,cas_kt\n".to_owned();
    for i in 0..rows {
        text.push_str(&format!("{i},{}\n", 100 + i % 50));
    }
    let flight = load_csv(&folder("", text)).expect("loads");
    let cas = &flight.channels["cas_kt"];
    assert_eq!((cas.time_s.len(), cas.value[39_999]), (rows, 149.0));
}
