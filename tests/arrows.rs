//! Which crate may know which; see `docs/architecture.md`.

use std::collections::BTreeSet;

use crate::fleet::top;

fn edges() -> BTreeSet<(String, String)> {
    let mut edges = BTreeSet::new();
    let crates: Vec<String> = std::fs::read_dir(top().join("pipeline"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    for own in &crates {
        let path = top().join("pipeline").join(own).join("Cargo.toml");
        let manifest: toml::Table = std::fs::read_to_string(path).unwrap().parse().unwrap();
        let dependencies = manifest["dependencies"].as_table().unwrap();
        for other in dependencies.keys().filter(|name| crates.contains(name)) {
            edges.insert((own.clone(), other.clone()));
        }
    }
    edges
}

#[test]
fn arrows_point_one_way() {
    let allowed = [
        ("cli", "demo"),
        ("cli", "records"),
        ("cli", "report"),
        ("cli", "rules"),
        ("rules", "records"),
        ("rules", "stats"),
    ];
    let allowed: BTreeSet<(String, String)> =
        allowed.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    assert_eq!(edges(), allowed);
}

#[test]
fn only_rules_knows_the_query_engine() {
    for own in ["demo", "records", "report", "stats", "cli"] {
        let path = top().join("pipeline").join(own).join("Cargo.toml");
        let manifest: toml::Table = std::fs::read_to_string(path).unwrap().parse().unwrap();
        let dependencies = manifest["dependencies"].as_table().unwrap();
        assert!(!dependencies.contains_key("datafusion"), "{own} depends on datafusion");
        assert!(!dependencies.contains_key("tokio"), "{own} depends on tokio");
    }
}
