use std::collections::{BTreeMap, BTreeSet};

use super::{FleetFacts, warnings};
use crate::rule_file::{RuleContext, RuleText, check_pack};

const HEAD: &str = "version = 1\ntitle = \"t\"\nfamily = \"data\"\nwhy = \"w\"\nsource = \"s\"\n";

fn context() -> RuleContext {
    RuleContext::of(&records::catalogue::Catalogue::default())
}

fn text(id: &str, rest: &str) -> RuleText {
    RuleText {
        path: format!("{id}.toml"),
        stem: id.to_owned(),
        text: format!("id = \"{id}\"\n{HEAD}{rest}"),
    }
}

/// Messages, after a check that the rules have no fault.
fn warned(files: Vec<RuleText>, fleet: Option<&FleetFacts>) -> Vec<String> {
    check_pack(files.clone(), &context()).unwrap();
    let found = warnings(files, &context(), fleet);
    assert!(
        found
            .iter()
            .all(|fault| fault.is_warning && fault.help.is_some())
    );
    found.into_iter().map(|fault| fault.message).collect()
}

fn episode(within: &str, when: &str) -> Vec<RuleText> {
    vec![text(
        "a",
        &format!("[episode]\nwithin = '{within}'\nwhen = '{when}'\n"),
    )]
}

#[test]
fn a_rule_that_cannot_fire_is_named() {
    for (within, when) in [
        ("height_aal_ft < 1000", "height_aal_ft > 1000"),
        (
            "height_aal_ft < 1000",
            "height_aal_ft >= 1000 and cas_kt > 100",
        ),
        ("cas_kt > 50", "cas_kt > 460"),
        ("cas_kt > 50", "gear_down > 1"),
        ("cas_kt > 50", "false"),
    ] {
        let found = warned(episode(within, when), None);
        assert_eq!(found.len(), 1, "{within} / {when}: {found:?}");
        assert!(found[0].starts_with("the rule can never fire"), "{found:?}");
    }
}

#[test]
fn a_rule_that_may_fire_is_left_alone() {
    for (within, when) in [
        ("height_aal_ft < 1000", "height_aal_ft > 999"),
        ("height_aal_ft <= 1000", "height_aal_ft >= 1000"),
        (
            "height_aal_ft < 1000",
            "height_aal_ft > 1000 or cas_kt > 100",
        ),
        ("height_aal_ft < 1000", "not (height_aal_ft < 500)"),
        ("cas_kt > 50", "cas_kt >= 450"),
        ("cas_kt > 50", "gear_down = 1"),
    ] {
        assert_eq!(
            warned(episode(within, when), None),
            Vec::<String>::new(),
            "{within} / {when}"
        );
    }
}

#[test]
fn a_criterion_that_cannot_fail_and_a_level_that_asks_for_too_many_are_named() {
    let gate = "[gate]\nat = 'height_aal_ft = 500'\n[[criterion]]\nname = \"gear\"\nvalue = 'gear_down'\nlower = 0\n\
                [[levels]]\nname = \"high\"\nwhen = 'failed >= 2'\n[[levels]]\nname = \"low\"\nwhen = 'failed >= 1'\n";
    let found = warned(vec![text("g", gate)], None);
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found[0].contains("criterion `gear` can never fail"),
        "{found:?}"
    );
    assert!(
        found[1].contains("asks for 2 criteria, the gate has 1"),
        "{found:?}"
    );
}

const SPEEDS: &str = "[limits]\nover_kt = 5.0\n[[override]]\nairport = \"ZSTP\"\nlimits.over_kt = 30.0\nwhy = \"w\"\n\
    [episode]\nwithin = 'height_aal_ft < 1000'\nwhen = 'cas_kt > 100'\n[measures]\nworst = 'max(cas_kt - 100)'\n\
    [[levels]]\nname = \"high\"\nwhen = 'worst > 20'\n[[levels]]\nname = \"low\"\nwhen = 'worst > limits.over_kt'\n";

#[test]
fn a_level_that_an_override_puts_out_of_reach_is_named_and_only_there() {
    let found = warned(vec![text("s", SPEEDS)], None);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("`low` can never be reached for airport ZSTP"),
        "{found:?}"
    );
    let mild = SPEEDS.replace("30.0", "10.0");
    assert_eq!(warned(vec![text("s", &mild)], None), Vec::<String>::new());
}

fn fleet() -> FleetFacts {
    let known = |names: &str| {
        names
            .split(' ')
            .map(str::to_owned)
            .collect::<BTreeSet<String>>()
    };
    FleetFacts {
        aircraft_types: known("brae-r3"),
        runways: BTreeMap::from([("ZSTP".to_owned(), known("08 26"))]),
        knowable: vec![
            ("map 1".to_owned(), known("height_aal_ft cas_kt")),
            ("map 2".to_owned(), known("height_aal_ft gear_down")),
        ],
    }
}

#[test]
fn an_override_that_matches_nothing_of_the_fleet_is_named_with_what_there_is() {
    let mild = SPEEDS.replace("30.0", "10.0");
    assert_eq!(
        warned(vec![text("s", &mild)], Some(&fleet())),
        Vec::<String>::new()
    );
    for (from, to, said) in [
        (
            "airport = \"ZSTP\"",
            "airport = \"ZZZZ\"",
            "no airport ZZZZ",
        ),
        (
            "airport = \"ZSTP\"",
            "airport = \"ZSTP\"\nrunway = \"09\"",
            "no runway ZSTP 09",
        ),
        (
            "airport = \"ZSTP\"",
            "aircraft_type = \"corvan\"",
            "no aircraft type corvan",
        ),
    ] {
        let found = warned(vec![text("s", &mild.replace(from, to))], Some(&fleet()));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains(said), "{found:?}");
    }
}

#[test]
fn a_rule_that_no_record_can_answer_is_named_with_those_that_read_it() {
    let reads =
        |when: &str| format!("[episode]\nwithin = 'height_aal_ft < 1000'\nwhen = '{when}'\n");
    let files = vec![
        text("asks_both", &reads("cas_kt > 100 and gear_down = 1")),
        text("asks_one", &reads("cas_kt > 100")),
        text(
            "asks_where_known",
            &reads("coalesce(gear_down, 0) = 1 or cas_kt > 100"),
        ),
        text("reads_it", "[outcome]\nwhen = 'asks_both'\n"),
    ];
    let found = warned(files, Some(&fleet()));
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found[0].contains("map 1 tells nothing of gear_down"),
        "{found:?}"
    );
    assert!(
        found[1].contains("it reads `asks_both`, which never can"),
        "{found:?}"
    );
}
