//! The rule pack that comes with the program: the one list of its files.

macro_rules! rule_files {
    ($($id:literal),* $(,)?) => {
        &[$(($id, include_str!(concat!("../../../../rules/", $id, ".toml")))),*]
    };
}

/// Id and text of every rule in `rules/`, sorted; a test compares it with the folder.
pub const BUILTIN: &[(&str, &str)] = rule_files![
    "energy_excess_10nm",
    "energy_excess_20nm",
    "flap_limit_exceeded",
    "flap_selection_margin",
    "high_at_15nm",
    "unstable_1000",
    "unstable_500",
    "unstable_and_landed",
];
