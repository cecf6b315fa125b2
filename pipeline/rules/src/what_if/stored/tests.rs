use records::catalogue::Catalogue;

use super::*;
use crate::detect::{Engine, EngineOptions};
use crate::rule_file::{RuleContext, builtin_pack};

fn rule(id: &str) -> CheckedRule {
    let pack = builtin_pack(&RuleContext::of(&Catalogue::default())).unwrap();
    pack.into_iter().find(|rule| rule.id == id).unwrap()
}

fn measured(rule: &str, status: &str, worst: Option<f64>) -> MeasurementRow {
    MeasurementRow {
        approach_key: 1,
        flight_id: "f".to_owned(),
        approach_no: 1,
        rule: rule.to_owned(),
        rule_version: 1,
        status: status.to_owned(),
        reason: None,
        level: None,
        events: 0,
        worst,
        worst_s: None,
        stabilised: None,
        stabilised_from: None,
        limits_hash: String::new(),
    }
}

fn said(rule: &CheckedRule, status: &str, worst: Option<f64>) -> (String, Option<String>) {
    let engine = Engine::new(EngineOptions::default()).unwrap();
    let row = ApproachRow {
        airport: Some("ZSTP".to_owned()),
        ..ApproachRow::default()
    };
    let stored = measured(&rule.id, status, worst);
    let rows = BTreeMap::from([(1, &row)]);
    let (mut measured, events) = judge_stored(rule, &[&stored], &rows, &engine.state()).unwrap();
    let measured = measured.remove(0);
    assert_eq!(events.len(), usize::from(measured.status == "event"));
    (measured.status, measured.level)
}

#[test]
fn a_bound_itself_is_inside_and_the_next_number_is_not() {
    let rule = rule("high_at_15nm");
    let clear = ("clear".to_owned(), None);
    let event = |level: &str| ("event".to_owned(), Some(level.to_owned()));
    let above = f64::from(1000.0_f32.next_up());
    assert_eq!(said(&rule, "event", Some(1000.0)), clear);
    assert_eq!(said(&rule, "clear", Some(above)), event("low"));
    assert_eq!(said(&rule, "clear", Some(1751.0)), event("medium"));
    // What could not be judged stays so, and what has no number is no event.
    assert_eq!(said(&rule, "partial", Some(9000.0)).0, "partial");
    assert_eq!(said(&rule, "not_evaluable", None).0, "not_evaluable");
    assert_eq!(said(&rule, "clear", None), clear);
}

#[test]
fn overrides_hold_at_their_place() {
    let rule = rule("sink_high_at_500");
    assert_eq!(
        said(&rule, "event", Some(1250.0)).0,
        "clear",
        "1,300 at that airport"
    );
    assert_eq!(said(&rule, "clear", Some(1350.0)).1.as_deref(), Some("low"));
}

#[test]
fn changes_are_judged_by_the_worst_of_them() {
    let rule = rule("flap_selection_margin");
    assert_eq!(said(&rule, "clear", Some(5.0)).0, "clear");
    assert_eq!(said(&rule, "clear", Some(4.9)).1.as_deref(), Some("low"));
    assert_eq!(said(&rule, "clear", Some(-0.1)).1.as_deref(), Some("high"));
}

#[test]
fn only_what_is_sure_is_claimed() {
    let claims = |id: &str, limit: &str| why_not(&rule(id), limit).is_none();
    assert!(claims("high_at_15nm", "above_ft"));
    assert!(claims("flap_selection_margin", "margin_kt"));
    assert!(claims("drag_late", "late_nm"));
    assert!(!claims("unstable_500", "sink_fpm"), "several criteria");
    assert!(!claims("unstable_below_500", "sink_fpm"), "held");
    assert!(!claims("fast_inside_10nm", "over_kt"), "an episode");
}
