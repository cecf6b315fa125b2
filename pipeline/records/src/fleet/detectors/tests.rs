use crate::fleet::open;
use crate::fleet::tests::{fault, folder, help};

const BRAKE: &str = "[[parameter]]\nname = \"brake_temp_c\"\nunit = \"degC\"\n\
                     kind = \"continuous\"\nlow = -60\nhigh = 900\n";

fn said(toml: &str) -> (String, String) {
    (fault(&[("fleet.toml", toml)]), help(toml))
}

fn load_hash(toml: &str) -> String {
    let folder = folder(&[("fleet.toml", toml)]);
    open(folder.path()).expect("opens").load_hash()
}

#[test]
fn faults_of_limits_name_the_place_and_what_can_be_set() {
    let (message, _) = said("[quality.cas_kts]\nspike = 12\n");
    let expected = "fleet.toml:1:10: no parameter `cas_kts` in the catalogue; did you mean cas_kt";
    assert!(message.starts_with(expected), "{message}");

    let (message, help) = said("[quality.cas_kt]\nheld_s = 5\nspke = 12\n");
    assert_eq!(
        message,
        "fleet.toml:3:1: no detector reads `spke` of `cas_kt`; did you mean spike?"
    );
    assert_eq!(
        help,
        "can be set for `cas_kt`: spike, leap, drift_per_s, held_s, held_rate_per_s"
    );

    // Known keys of other parameters.
    let (message, _) = said("[quality.cas_kt]\nslack_nm = 1\n");
    assert!(
        message.starts_with("fleet.toml:2:1: no detector reads `slack_nm`"),
        "{message}"
    );
    let (message, help) = said("[quality.normal_accel_g]\nspike = 1\n");
    assert!(
        message.contains("no detector reads `spike` of `normal_accel_g`"),
        "{message}"
    );
    assert!(
        help.starts_with("can be set for `normal_accel_g`: leap"),
        "{help}"
    );
    let (_, help) = said("[quality.latitude_deg]\nspike = 1\n");
    assert!(help.contains("[quality.position]"), "{help}");
    let (_, help) = said("[quality.gear_down]\nspike = 1\n");
    assert_eq!(help, "`gear_down` is a state: nothing can be set for it");
}

#[test]
fn a_limit_is_a_finite_number_above_zero() {
    for (value, shown) in [("-1", "-1"), ("0", "0"), ("inf", "inf"), ("nan", "NaN")] {
        let (message, help) = said(&format!("[quality.cas_kt]\nspike = {value}\n"));
        assert_eq!(
            message,
            format!("fleet.toml:2:9: spike of `cas_kt` is {shown}")
        );
        assert_eq!(help, "expected a finite number above 0");
    }
    let (message, _) = said("[quality.cas_kt]\nspike = \"12\"\n");
    assert!(
        message.starts_with("fleet.toml:2:9: invalid type"),
        "{message}"
    );
    let (_, help) = said("[quality.position]\nslack_nm = -0.1\n");
    assert_eq!(help, "expected a finite number of 0 or more");
    load_hash("[quality.position]\nslack_nm = 0\n");
}

#[test]
fn half_a_limit_of_a_parameter_that_has_none_is_a_fault() {
    let (message, help) = said(&format!("{BRAKE}[quality.brake_temp_c]\nheld_s = 30\n"));
    assert_eq!(
        message,
        "fleet.toml:8:1: held_s of `brake_temp_c` says nothing without held_rate_per_s"
    );
    assert_eq!(
        help,
        "set held_rate_per_s too: `brake_temp_c` has none of its own"
    );
    load_hash(&format!(
        "{BRAKE}[quality.brake_temp_c]\nheld_s = 30\nheld_rate_per_s = 20\n"
    ));
    load_hash("[quality.cas_kt]\nheld_s = 30\n");
}

#[test]
fn a_changed_limit_loads_again_and_the_programs_own_does_not() {
    let plain = load_hash("");
    assert_eq!(plain, load_hash("[quality.cas_kt]\nspike = 20\n"));
    assert_ne!(plain, load_hash("[quality.cas_kt]\nspike = 21\n"));
    assert_ne!(plain, load_hash("[quality.position]\nspeed_kt = 600\n"));
}
