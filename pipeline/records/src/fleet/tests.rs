use std::path::PathBuf;

use super::*;

pub(super) fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("temporary folder");
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().expect("in the folder")).expect("made");
        std::fs::write(path, text).expect("written");
    }
    folder
}

/// What the user reads, the temporary folder's name taken off.
pub(super) fn fault(files: &[(&str, &str)]) -> String {
    let folder = folder(files);
    let error = open(folder.path()).expect_err("a fault").to_string();
    error.replace(&format!("{}/", folder.path().display()), "")
}

pub(super) fn help(toml: &str) -> String {
    let folder = folder(&[("fleet.toml", toml)]);
    let error = open(folder.path()).expect_err("a fault");
    miette::Diagnostic::help(&error)
        .map(|help| help.to_string())
        .unwrap_or_default()
}

#[test]
fn faults_of_fleet_toml_name_the_place_and_the_neighbour() {
    let misspelt = "[records]\nrate_hz = 1\npaht = \"records\"\n";
    let message = fault(&[("fleet.toml", misspelt)]);
    assert!(
        message.starts_with("fleet.toml:3:1: unknown field `paht`"),
        "{message}"
    );
    assert_eq!(help(misspelt), "did you mean path, parts?");

    let parameter = "[[map]]\ncas_kt = { column = \"A\" }\nflap_leaver = { column = \"B\" }\n";
    assert_eq!(
        fault(&[("fleet.toml", parameter)]),
        "fleet.toml:3:1: no parameter `flap_leaver` in the catalogue; did you mean flap_lever, \
         flap_angle_deg?"
    );

    let unit = "[[map]]\ncas_kt = { column = \"A\", unit = \"ft\" }\n";
    assert_eq!(
        fault(&[("fleet.toml", unit)]),
        "fleet.toml:2:33: column `A`: unit `ft` cannot become kt"
    );
    assert_eq!(help(unit), "expected one of kt, m/s, km/h, mph");

    let rate = "[records]\nrate_hz = 3\n";
    assert_eq!(
        fault(&[("fleet.toml", rate)]),
        "fleet.toml:2:11: rate_hz is 3"
    );
    let sign = "[[map]]\nlocalizer_dev_dots = { column = \"A\", positive = \"above\" }\n";
    assert_eq!(
        fault(&[("fleet.toml", sign)]),
        "fleet.toml:2:49: positive is `above`"
    );
    let runways = "[fleet]\nrunways = \"fields.csv\"\n";
    assert!(
        fault(&[("fleet.toml", runways)]).starts_with("fleet.toml:2:11: `fields.csv` does not")
    );
}

#[test]
fn faults_of_tables_name_row_and_column() {
    assert_eq!(
        fault(&[("flights.csv", "flightid,month\na,2025-03\n")]),
        "flights.csv:1: no column `flight_id`; did you mean flightid?"
    );
    assert_eq!(
        fault(&[("flights.csv", "flight_id,month,month\na,2025-03,2025-03\n")]),
        "flights.csv:1: two columns are called `month`, expected one"
    );
    let header = "airport_ident,le_ident,le_latitude,le_longitude_deg";
    assert_eq!(
        fault(&[("runways.csv", header)]),
        "runways.csv:1: no column `le_latitude_deg`; did you mean le_latitude, le_longitude_deg?"
    );
}

#[test]
fn a_type_file_must_fit_together() {
    let good = include_str!("../../../../rules/aircraft/corvan-c20.toml");
    let folder = folder(&[("aircraft/corvan-c20.toml", good)]);
    let fleet = open(folder.path()).expect("good");
    assert_eq!(fleet.aircraft["corvan-c20"].levers.len(), 5);

    let message = |text: String| fault(&[("aircraft/corvan-c20.toml", &text)]);
    assert_eq!(
        message(good.replace("vref_kt = [118, 130, 140]", "vref_kt = [118, 130]")),
        "aircraft/corvan-c20.toml: speeds.vref_kt has 2 speeds, expected one for each of the 3 masses"
    );
    let landing = "target_cas_kt = 175";
    assert_eq!(
        message(good.replace(landing, "target_cas_kt = 175\nvref_kt = [125, 137, 147]")),
        "aircraft/corvan-c20.toml: [[lever]] \"2\" has vref_kt, expected only where landing = true"
    );
    assert_eq!(
        message(good.replace("vref_kt = [123, 135, 145]", "vref_kt = [123]")),
        "aircraft/corvan-c20.toml: [[lever]] \"3\": vref_kt has 1 speeds, expected one for each of the 3 masses"
    );
    assert!(
        message(good.replace("allowance = \"fixed\"", "allowance = \"none\""))
            .contains("`fixed` or `speed`")
    );
    assert!(
        message(good.replace("[30, 20, 15, 10, 7]", "[7, 10, 15, 20, 30]")).contains("descend")
    );
    assert!(message(good.replace("vmo_kt", "vmo")).contains("unknown field `vmo`"));
    assert!(
        message(good.replace("\"corvan-c20\"", "\"c20\"")).contains("expected the file's name")
    );
}

#[test]
fn an_empty_folder_opens_and_says_what_is_unknown() {
    let fleet = open(folder(&[]).path()).expect("opens");
    for word in [
        "fleet.toml",
        "records folder",
        "flights.parquet",
        "runways.csv",
        "aircraft",
    ] {
        assert!(fleet.notes.iter().any(|note| note.contains(word)), "{word}");
    }
}

/// Open data: OurAirports runway ends (public domain), original columns. LFPB 07 and 25 have
/// displaced thresholds of 985 and 2,953 ft; the pavement is 9,843 ft long.
#[test]
fn the_open_runway_layout_is_read_as_it_is() {
    let table = "id,airport_ref,airport_ident,length_ft,width_ft,surface,lighted,closed,le_ident,\
le_latitude_deg,le_longitude_deg,le_elevation_ft,le_heading_degT,le_displaced_threshold_ft,he_ident,\
he_latitude_deg,he_longitude_deg,he_elevation_ft,he_heading_degT,he_displaced_threshold_ft
235906,4183,LFPB,9843,148,PEM,1,0,07,48.963799,2.42029,148,69,985,25,48.973999,2.45825,186,249,2953
608470,4185,LFPG,1444,99,GRASS,0,0,08H,49.015769,2.558572,,85,,26H,49.016089,2.564603,,265,
1,1,LSGG,2700,98,GRASS,0,1,04L,46.24,6.11,1400,45,,22R,46.245,6.12,1400,225,
2,2,ZTST,9843,148,PEM,1,0,07,48.963799,2.42029,148,69,,25,48.9839,2.45825,186,249,
";
    let folder = folder(&[("runways.csv", table)]);
    let fleet = open(folder.path()).expect("opens");
    let ends: Vec<&RunwayEnd> = fleet.runways.at("LFPB").collect();
    let [low, high] = ends[..] else {
        panic!("two ends, not {}", ends.len())
    };
    assert_eq!((low.ident.as_str(), high.ident.as_str()), ("07", "25"));
    assert!((low.bearing_deg - 69.0).abs() < 2.0 && (high.bearing_deg - 249.0).abs() < 2.0);
    assert!(
        (low.length_ft + 985.0 - 9_843.0).abs() < 100.0,
        "{}",
        low.length_ft
    );
    // A tenth of the way up from 148 to 186 ft; three tenths down from 186.
    assert!(
        (low.elevation_ft - 151.8).abs() < 0.1,
        "{}",
        low.elevation_ft
    );
    assert!(
        (high.elevation_ft - 174.6).abs() < 0.1,
        "{}",
        high.elevation_ft
    );
    assert!(low.latitude_deg > 48.963_799 && low.longitude_deg > 2.420_29);
    assert_eq!((low.glide_path_deg, low.crossing_height_ft), (3.0, 50.0));
    assert_eq!(
        fleet.runways.at("LFPG").count() + fleet.runways.at("LSGG").count(),
        0
    );
    assert!(
        fleet
            .notes
            .iter()
            .any(|n| n.contains("08H of LFPG left out")),
        "{:?}",
        fleet.notes
    );
    assert!(
        fleet
            .notes
            .iter()
            .any(|n| n.contains("07 of ZTST: ends lie")),
        "{:?}",
        fleet.notes
    );
}

#[test]
fn an_operators_parameter_can_be_mapped() {
    let toml = "[[parameter]]\nname = \"brake_temp_c\"\nunit = \"degC\"\nkind = \"continuous\"\n\
                low = -60\nhigh = 900\n[[map]]\nbrake_temp_c = { column = \"BT\", unit = \"K\" }\n";
    let fleet = open(folder(&[("fleet.toml", toml)]).path()).expect("opens");
    assert_eq!(fleet.maps[0].entries["brake_temp_c"].summand, -273.15);
    assert!(fleet.catalogue.column("brake_temp_c").is_some());
    assert_eq!(
        fleet.records,
        PathBuf::from(&fleet.root),
        "no records folder in it"
    );
}

#[test]
fn an_operator_adds_columns_that_look_back() {
    let toml = "[derived]\nsink_mean_10s = { column = \"sink_rate_fpm\", take = \"mean\", seconds = 10 }\n\
                sink_swing = { column = \"sink_mean_10s\", take = \"change\", seconds = 5 }\n";
    let fleet = open(folder(&[("fleet.toml", toml)]).path()).expect("opens");
    let column = fleet.catalogue.column("sink_swing").expect("added");
    assert_eq!(column.unit, "ft/min");
    assert_eq!(column.meaning, "change of sink_mean_10s over the last 5 s");
    assert_eq!(fleet.catalogue.windows().len(), 2);

    let wrong = toml.replace("\"sink_rate_fpm\"", "\"sink_rate\"");
    let message = fault(&[("fleet.toml", &wrong)]);
    let expected =
        "fleet.toml:2:28: no column `sink_rate` to look back over; did you mean sink_rate_fpm";
    assert!(message.starts_with(expected), "{message}");
    let taken = toml.replace("sink_swing =", "cas_kt =");
    assert_eq!(
        fault(&[("fleet.toml", &taken)]),
        "fleet.toml:3:1: `cas_kt` exists already"
    );
}

#[test]
fn a_map_or_parameter_that_asks_who_flew_is_a_fault_unless_allowed() {
    let map = "[[map]]\ncas_kt = { column = \"IAS\" }\nflap_lever = { column = \"CAPT_NAME\" }\n";
    assert_eq!(
        fault(&[("fleet.toml", map)]),
        "fleet.toml:3:14: column `CAPT_NAME` identifies a person"
    );
    assert!(help(map).contains("identifying = \"allow\""));
    let parameter = "[[parameter]]\nname = \"crew_id\"\nunit = \"1\"\nkind = \"discrete\"\n\
                     low = 0\nhigh = 9\n";
    assert_eq!(
        fault(&[("fleet.toml", parameter)]),
        "fleet.toml:2:8: parameter `crew_id` identifies a person"
    );
    let with = |word: &str| format!("[privacy]\nidentifying = \"{word}\"\n{map}");
    assert!(fault(&[("fleet.toml", &with("refuse"))]).contains("`CAPT_NAME` identifies"));
    let allowed = open(folder(&[("fleet.toml", &with("allow"))]).path()).expect("allowed");
    assert_eq!(allowed.maps[0].entries["flap_lever"].column, "CAPT_NAME");
    assert_eq!(
        fault(&[("fleet.toml", &with("perhaps"))]),
        "fleet.toml:2:15: identifying is `perhaps`"
    );
    // Time and id of the flight may stand in such columns: neither is stored as it is.
    let id = "[[map]]\nflight_id = { column = \"FLT_NO\" }\ntime_s = { column = \"DATE_TIME\" }\n\
              cas_kt = { column = \"IAS\" }\n";
    open(folder(&[("fleet.toml", id)]).path()).expect("opens");
}

/// What fuzzing kept for one kind of file, as texts.
fn kept(kind: &str) -> Vec<String> {
    let top = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..");
    let folder = std::fs::read_dir(top.join("tests/fuzz/corpus").join(kind)).expect("a corpus");
    let texts = folder.filter_map(|entry| {
        let bytes = std::fs::read(entry.expect("a file").path()).expect("read");
        String::from_utf8(bytes).ok()
    });
    texts.collect()
}

#[test]
fn maps_and_aircraft_files_that_fuzzing_kept_are_read_or_refused_without_a_panic() {
    for (kind, file) in [("map", "fleet.toml"), ("aircraft", "aircraft/a-type.toml")] {
        let texts = kept(kind);
        assert!(texts.len() >= 50, "{kind}: {}", texts.len());
        for text in texts {
            let mut files = vec![(file, text.as_str())];
            if kind == "aircraft" {
                files.push(("fleet.toml", "[fleet]\ntitle = \"f\"\n"));
            }
            let folder = folder(&files);
            std::fs::create_dir_all(folder.path().join("records")).expect("made");
            match open(folder.path()) {
                Ok(fleet) => drop(crate::knowable::knowable(&fleet)),
                Err(error) => assert!(!error.to_string().is_empty(), "{text}"),
            }
        }
    }
}
