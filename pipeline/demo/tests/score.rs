//! `score` on tables put down by hand, against numbers counted by hand.

#![allow(clippy::unwrap_used)] // a step that fails is a test that fails

#[path = "score/damage.rs"]
mod damage;
#[path = "score/effects.rs"]
mod effects;
#[path = "score/errors.rs"]
mod errors;
#[path = "score/world.rs"]
mod world;

use demo::Score;
use demo::score::RuleScore;

use world::Says::{Known, Unknown};
use world::{Gate, World};

fn rule<'a>(score: &'a Score, name: &str) -> &'a RuleScore {
    score.rules.iter().find(|rule| rule.rule == name).unwrap()
}

/// Ten approaches, one of each case.
fn cases() -> World {
    let mut world = World::default();
    let cases: [(&str, world::Says, &str); 10] = [
        ("found", Known(130.0, 100.0, 5.0), "event"),
        ("found-too", Known(150.0, 100.0, 5.0), "event"),
        ("missed", Known(120.0, 100.0, 5.0), "clear"),
        ("unjudged", Known(120.0, 100.0, 5.0), "not_evaluable"),
        ("partly", Known(120.0, 100.0, 5.0), "partial"),
        ("false", Known(80.0, 100.0, 5.0), "event"),
        ("quiet", Known(70.0, 100.0, 5.0), "clear"),
        // Exactly a band from the limit: still inside it.
        ("in-band", Known(105.0, 100.0, 5.0), "clear"),
        ("below-in-band", Known(97.0, 100.0, 5.0), "event"),
        ("unknown", Unknown, "event"),
    ];
    for (flight, says, status) in cases {
        world.fly(flight, 1);
        world.know(flight, 1, "high", says);
        let stated = match says {
            Known(worst, _, _) if status != "not_evaluable" => Some(f64::from(worst) + 2.0),
            _ => None,
        };
        world.judge(flight, 1, "high", status, stated);
    }
    world
}

#[test]
fn verdicts_are_counted_outside_the_band() {
    let score = cases().score().unwrap();
    let high = rule(&score, "high");
    let of = high.undamaged;
    assert_eq!(
        (of.approaches, of.evaluable, of.evaluable_in_review),
        (10, 9, 8)
    );
    // They differ on `unjudged`, `partly` and `unknown`.
    assert_eq!(of.evaluability_agrees, 7);
    assert_eq!((of.in_band, of.in_band_share), (2, Some(2.0 / 9.0)));
    assert_eq!((of.events, of.found, of.found_as_edge_only), (5, 2, 0));
    assert_eq!((of.missed_as_clear, of.missed_unjudged), (1, 2));
    assert_eq!((of.false_events, of.false_where_not_evaluable), (2, 1));
    assert_eq!(of.recall.unwrap().share, 2.0 / 5.0);
    assert_eq!(of.precision.unwrap().share, 2.0 / 4.0);
    // Clopper and Pearson for 2 of 4, from the closed form of the tail p⁴ + 4 p³ (1 − p).
    let low = of.precision.unwrap().high;
    assert!(
        ((1.0 - low).powi(4)
            + 4.0 * low * (1.0 - low).powi(3)
            + 6.0 * low.powi(2) * (1.0 - low).powi(2)
            - 0.025)
            .abs()
            < 1e-9
    );
    assert_eq!(high.damaged, demo::score::Verdicts::default());
    assert!(score.findings()[0].contains("recall 0.400 and precision 0.500"));
}

#[test]
fn nothing_of_nothing_is_null() {
    let mut world = World::default();
    world.fly("one", 1);
    world.know("one", 1, "high", Known(50.0, 100.0, 5.0));
    world.judge("one", 1, "high", "clear", None);
    let score = world.score().unwrap();
    let high = rule(&score, "high");
    assert_eq!(
        (high.undamaged.recall, high.undamaged.precision),
        (None, None)
    );
    assert_eq!(high.values, None);
    let json = serde_json::to_value(&score).unwrap();
    assert!(json["rules"][0]["undamaged"]["recall"].is_null());
    assert!(json["damages"].is_null() && json["flights"].is_null());
    assert!(score.findings().is_empty(), "{:?}", score.findings());
}

#[test]
fn a_rule_that_the_review_does_not_have_is_not_scored_as_missed() {
    let mut world = cases();
    world.know("found", 1, "steep", Known(130.0, 100.0, 5.0));
    let score = world.score().unwrap();
    let steep = rule(&score, "steep");
    assert!(!steep.in_review);
    assert_eq!(steep.undamaged.recall, None);
    assert!(
        score
            .findings()
            .contains(&"`steep` is not in the review at all".to_owned())
    );
}

#[test]
fn values_are_compared_where_both_sides_have_one() {
    let mut world = World::default();
    for (flight, difference) in [("a", 0.0), ("b", 1.0), ("c", -3.0), ("d", 8.0)] {
        world.fly(flight, 1);
        world.know(flight, 1, "high", Known(50.0, 100.0, 5.0));
        world.judge(flight, 1, "high", "clear", Some(50.0 + difference));
    }
    world.fly("e", 1);
    world.know("e", 1, "high", Known(50.0, 100.0, 5.0));
    world.judge("e", 1, "high", "not_evaluable", Some(9_999.0));
    let score = world.score().unwrap();
    let values = rule(&score, "high").values.clone().unwrap();
    assert_eq!(values.spread.compared, 4);
    assert_eq!(
        (values.spread.median, values.spread.p95, values.spread.max),
        (1.0, 8.0, 8.0)
    );
    assert_eq!(values.within_band, Some(0.75));
    // No event, so no row that states a unit.
    assert_eq!(values.unit, None);
}

#[test]
fn criteria_of_a_gate_are_read_from_the_gates() {
    let mut world = World::default();
    let gate = |flight: &str, criterion: &str, value, passed| Gate {
        flight_id: flight.into(),
        approach_no: 1,
        rule: "gate".into(),
        criterion: criterion.into(),
        value,
        passed,
    };
    for flight in ["a", "b", "c"] {
        world.fly(flight, 1);
        world.know(flight, 1, "gate", Known(4.0, 0.0, 1.0));
        world.know(flight, 1, "gate.thrust", Known(38.0, 40.0, 0.5));
        world.know(flight, 1, "gate.flap", Known(12.0, 0.0, 2.5));
        world.know(flight, 1, "gate.speed", Known(25.0, 20.0, 1.0));
        world.judge(flight, 1, "gate", "event", Some(2.0));
        // The review states how far thrust is above its minimum, and whether flap was set.
        world
            .gates
            .push(gate(flight, "thrust", Some(-1.75), Some(true)));
        world
            .gates
            .push(gate(flight, "flap", Some(0.0), Some(false)));
    }
    world
        .gates
        .push(gate("a", "speed", Some(25.5), Some(false)));
    world.gates.push(gate("b", "speed", None, None));
    // On `c` it says nothing of the speed.
    let score = world.score().unwrap();
    let names: Vec<&str> = score.rules.iter().map(|rule| rule.rule.as_str()).collect();
    assert_eq!(names, ["gate", "gate.thrust", "gate.flap", "gate.speed"]);
    assert_eq!(rule(&score, "gate").values, None);
    assert_eq!(rule(&score, "gate").undamaged.found, 3);
    let flap = rule(&score, "gate.flap");
    assert_eq!((flap.undamaged.found, flap.values.clone()), (3, None));
    // The margin of thrust is upside down here, as `know` takes more for worse: only the value counts.
    let thrust = rule(&score, "gate.thrust").values.clone().unwrap();
    assert_eq!(
        (thrust.unit.as_deref(), thrust.spread.median),
        (Some("%"), 0.25)
    );
    let speed = rule(&score, "gate.speed");
    assert_eq!(
        (speed.undamaged.found, speed.undamaged.missed_unjudged),
        (1, 2)
    );
    assert_eq!(speed.undamaged.found_as_edge_only, 0);
    assert_eq!(speed.values.clone().unwrap().unit.as_deref(), Some("kt"));
}

#[test]
fn events_that_no_rate_counts_are_told_apart() {
    let mut world = cases();
    let event = world
        .events
        .iter_mut()
        .find(|event| event.flight_id == "found");
    event.unwrap().edge = Some(true);
    let score = world.score().unwrap();
    let of = rule(&score, "high").undamaged;
    assert_eq!((of.found, of.found_as_edge_only), (2, 1));
    // A second event that counts makes up for it.
    let mut second = world.events[0].clone();
    second.edge = Some(false);
    world.events.push(second);
    let score = world.score().unwrap();
    assert_eq!(rule(&score, "high").undamaged.found_as_edge_only, 0);
}

#[test]
fn approaches_are_matched_by_time() {
    let mut world = World::default();
    // The review misses the first of two approaches, and calls the second its first.
    world.fly_only("two", 1);
    world.fly_only("two", 2);
    world.find_only("two", 1, 2);
    world.know("two", 1, "high", Known(130.0, 100.0, 5.0));
    world.know("two", 2, "high", Known(60.0, 100.0, 5.0));
    world.judge("two", 1, "high", "clear", Some(61.0));
    // One that nobody flew, with an event.
    world.fly("one", 1);
    world.find_only("one", 2, 7);
    world.know("one", 1, "high", Known(50.0, 100.0, 5.0));
    world.judge("one", 1, "high", "clear", Some(50.0));
    world.judge("one", 2, "high", "event", Some(130.0));
    // One that ended otherwise, on the other runway.
    world.fly("other", 1);
    let other = world.found.last_mut().unwrap();
    (other.outcome, other.runway) = ("go_around".into(), None);
    other.end_s += 28.0;
    let score = world.score().unwrap();
    let of = &score.approaches;
    assert_eq!((of.flown, of.found, of.missed, of.not_flown), (4, 3, 1, 1));
    assert_eq!(of.numbered_differently, 1);
    assert_eq!(
        (of.same_airport, of.same_runway, of.same_outcome),
        (3, 2, 2)
    );
    let end = of.end_error_s.unwrap();
    assert_eq!((end.median, end.max), (2.0, 30.0));
    let what: Vec<&str> = of.examples.iter().map(|one| one.what).collect();
    assert_eq!(what, ["missed", "runway", "outcome", "not flown"]);
    assert_eq!(of.examples[1].found.as_deref(), Some("unknown"));
    let high = rule(&score, "high").undamaged;
    assert_eq!((high.events, high.found, high.missed_as_clear), (1, 0, 0));
    assert_eq!(high.missed_unjudged, 1);
    assert_eq!((high.false_events, high.false_where_not_flown), (1, 1));
    // The value of the second approach is compared with the second one's.
    assert_eq!(rule(&score, "high").values.clone().unwrap().spread.max, 1.0);
}

#[test]
fn flights_that_the_fleet_does_not_have_are_not_scored() {
    let mut world = cases();
    world.find_only("stranger", 1, 1);
    world.judge("stranger", 1, "high", "event", Some(130.0));
    let score = world.score().unwrap();
    assert_eq!(score.approaches.not_flown, 0);
    assert_eq!(rule(&score, "high").undamaged.false_events, 2);
    assert!(
        score
            .notes
            .iter()
            .any(|note| note.starts_with("1 flights of the review are not in the fleet"))
    );
}

#[test]
fn approaches_later_than_the_review_are_left_out() {
    let mut world = cases();
    world.month = Some("2025-01");
    world.fly_only("later", 1);
    world.flown.last_mut().unwrap().month = "2025-02".into();
    world.know("later", 1, "high", Known(130.0, 100.0, 5.0));
    let score = world.score().unwrap();
    assert_eq!(score.approaches.flown, 10);
    assert_eq!(rule(&score, "high").undamaged.events, 5);
    assert!(
        score
            .notes
            .iter()
            .any(|note| note.starts_with("1 approaches are later"))
    );
}
