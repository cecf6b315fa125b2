//! Effects on the fleet: found, claimed wrongly, withheld, or not asked by any table.

use demo::Score;
use demo::score::{EffectScore, Verdict};

use crate::cases;
use crate::world::{Change, Month, Place, Rate, Recovery, Slope, World};

const PLANTED: &str = r#"{ "seed": 1, "effects": [
    { "name": "high_arrivals", "kind": "place", "real": true, "airport": "ZENA", "rules": ["high", "steep"] },
    { "name": "by_chance", "kind": "place", "real": false, "airport": "ZFEW", "rules": ["high"] },
    { "name": "new_procedure", "kind": "month", "real": true, "month": "2025-10", "rules": ["high"] },
    { "name": "narrow", "kind": "type", "real": true, "aircraft_type": "three", "rules": ["high"] },
    { "name": "rise", "kind": "trend", "real": true, "from_share": 0.1, "to_share": 0.2, "rules": ["high"] },
    { "name": "windy", "kind": "season", "real": false, "months_of_year": [11, 12], "rules": ["high"] },
    { "name": "leaflet", "kind": "intervention", "real": false, "month": "2025-09", "aircraft_type": "one",
      "rules": ["high", "steep"] },
    { "name": "lost", "kind": "recovery", "real": true, "month": "2025-07", "aircraft_type": "one", "lost_share": 0.3 }
] }"#;

fn place(airport: &str, rule: &str, class: Option<&str>) -> Place {
    Place {
        airport: airport.into(),
        runway: None,
        rule: Some(rule.into()),
        class: class.map(str::to_owned),
    }
}

fn month(month: &str, signal: Option<&str>, why: Option<&str>) -> Month {
    Month {
        rule: Some("high".into()),
        at_least_level: "low".into(),
        month: month.into(),
        group_kind: "fleet".into(),
        signal: signal.map(str::to_owned),
        why_no_signal: why.map(str::to_owned),
        suppressed: None,
    }
}

fn rate(kind: &str, group: &str, rate: f64, low: f64) -> Rate {
    Rate {
        rule: Some("high".into()),
        at_least_level: "low".into(),
        group_kind: kind.into(),
        group: group.into(),
        rate_per_1000: Some(rate),
        ci_low: Some(low),
        ci_high: Some(2.0 * rate),
    }
}

fn planted() -> World {
    let mut world = cases();
    world.effects = Some(PLANTED);
    world.places = vec![
        place("ZENA", "high", Some("not elevated")),
        place("ZENA", "steep", Some("watch")),
        place("ZFEW", "high", Some("insufficient data")),
        place("ZFEW", "steep", Some("hot spot")),
        place("ZOTH", "high", Some("not elevated")),
        place("ZOTH", "steep", None),
        Place {
            runway: Some("09".into()),
            ..place("ZOTH", "high", Some("hot spot"))
        },
    ];
    world.months = vec![month("2025-09", None, None), month("2025-10", None, None)];
    world.rates = vec![
        rate("fleet", "fleet", 20.0, 18.0),
        rate("aircraft_type", "three", 40.0, 25.0),
        rate("aircraft_type", "one", 15.0, 12.0),
    ];
    world
}

fn effect<'a>(score: &'a Score, name: &str) -> &'a EffectScore {
    let effects = &score.effects.as_ref().unwrap().effects;
    effects.iter().find(|one| one.name == name).unwrap()
}

#[test]
fn effects_are_looked_up_where_a_table_answers() {
    let score = planted().score().unwrap();
    let verdict = |name: &str| effect(&score, name).verdict;
    assert_eq!(verdict("high_arrivals"), Verdict::Found);
    assert_eq!(
        effect(&score, "high_arrivals").why,
        "high: not elevated; steep: watch"
    );
    assert_eq!(verdict("by_chance"), Verdict::NotClaimed);
    assert_eq!(verdict("narrow"), Verdict::Found);
    assert_eq!(
        effect(&score, "narrow").why,
        "high: 25.0–80.0 per 1,000 against 20.0"
    );
    for name in ["new_procedure", "rise", "windy", "leaflet", "lost"] {
        assert_eq!(verdict(name), Verdict::NotComputed, "{name}");
        assert!(!effect(&score, name).why.is_empty());
    }
    let others = &score.effects.as_ref().unwrap().other_places;
    assert_eq!((others.judged, others.hot_spots, others.watched), (2, 1, 0));
    assert_eq!(others.examples[0].airport, "ZFEW");
    let json = serde_json::to_value(&score).unwrap();
    assert_eq!(json["effects"]["effects"][2]["verdict"], "not_computed");
}

#[test]
fn claims_against_what_is_there_are_told_apart() {
    let mut world = planted();
    world.places[1].class = Some("insufficient data".into());
    world.places[2].class = Some("hot spot".into());
    world.months[0].why_no_signal = Some("too few months before".into());
    world.months[1].why_no_signal = Some("within chance".into());
    world.rates[1].ci_low = Some(19.0);
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "high_arrivals").verdict, Verdict::NotFound);
    assert_eq!(effect(&score, "by_chance").verdict, Verdict::FalseClaim);
    assert_eq!(effect(&score, "new_procedure").verdict, Verdict::NotFound);
    assert_eq!(effect(&score, "new_procedure").why, "high: within chance");
    assert_eq!(effect(&score, "narrow").verdict, Verdict::NotFound);
    world.months[1] = month("2025-10", Some("higher"), None);
    assert_eq!(
        effect(&world.score().unwrap(), "new_procedure").verdict,
        Verdict::Found
    );
    world.months[1] = month("2025-10", Some("lower"), None);
    assert_eq!(
        effect(&world.score().unwrap(), "new_procedure").verdict,
        Verdict::NotFound
    );
}

fn slope(call: Option<&str>, why: Option<&str>) -> Slope {
    Slope {
        rule: Some("high".into()),
        at_least_level: "low".into(),
        group_kind: "fleet".into(),
        call: call.map(str::to_owned),
        why_no_call: why.map(str::to_owned),
        suppressed: None,
    }
}

/// Rows of whole families are other rows: they answer for no rule.
#[test]
fn rows_of_families_answer_for_no_rule() {
    let mut world = planted();
    world.places.push(Place {
        rule: None,
        ..place("ZFEW", "high", Some("hot spot"))
    });
    world.months.push(Month {
        rule: None,
        ..month("2025-10", Some("higher"), None)
    });
    world.slopes = vec![
        slope(None, Some("not significant")),
        Slope {
            rule: None,
            ..slope(Some("rising"), None)
        },
    ];
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "by_chance").verdict, Verdict::NotClaimed);
    assert_eq!(effect(&score, "rise").verdict, Verdict::NotFound);
}

#[test]
fn trends_and_seasons_are_looked_up_in_the_slopes() {
    let mut world = planted();
    world.months = vec![month("2025-11", None, Some("not significant"))];
    world.slopes = vec![slope(Some("rising"), None)];
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "rise").verdict, Verdict::Found);
    assert_eq!(effect(&score, "rise").why, "high: rising");
    assert_eq!(effect(&score, "windy").verdict, Verdict::FalseClaim);
    world.slopes = vec![slope(None, Some("too few months"))];
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "rise").verdict, Verdict::NotFound);
    assert_eq!(effect(&score, "windy").verdict, Verdict::NotClaimed);
    assert_eq!(
        effect(&score, "windy").why,
        "high: too few months, no such month higher"
    );
    world.months = vec![
        month("2025-11", Some("higher"), None),
        month("2025-10", Some("higher"), None),
    ];
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "windy").verdict, Verdict::FalseClaim);
    assert_eq!(
        effect(&score, "windy").why,
        "high: too few months, 2025-11 higher"
    );
    world.slopes = vec![slope(Some("falling"), None)];
    assert_eq!(
        effect(&world.score().unwrap(), "rise").verdict,
        Verdict::NotFound
    );
    world.slopes[0].suppressed = Some("too few flights".into());
    assert_eq!(
        effect(&world.score().unwrap(), "rise").verdict,
        Verdict::Withheld
    );
}

#[test]
fn changes_and_lost_records_are_looked_up_where_they_are_told() {
    let change = |rule: &str, signal: Option<&str>| Change {
        month: "2025-09".into(),
        aircraft_type: Some("one".into()),
        rule: Some(rule.into()),
        signal: signal.map(str::to_owned),
        why_no_signal: signal.is_none().then(|| "not significant".into()),
        suppressed: None,
    };
    let month = |month: &str, share| Recovery {
        group_kind: "aircraft_type".into(),
        group: "one".into(),
        month: month.into(),
        share,
        suppressed: None,
    };
    let mut world = planted();
    world.changes = vec![change("high", None), change("steep", None)];
    world.recovery = vec![month("2025-06", Some(0.7)), month("2025-07", Some(0.83))];
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "leaflet").verdict, Verdict::NotClaimed);
    assert_eq!(effect(&score, "lost").verdict, Verdict::Found);
    assert_eq!(effect(&score, "lost").why, "0.830 came in");
    world.changes[1] = change("steep", Some("lower"));
    world.recovery[1].share = Some(0.88);
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "leaflet").verdict, Verdict::FalseClaim);
    assert_eq!(effect(&score, "lost").verdict, Verdict::NotFound);
    world.changes[0].suppressed = Some("too few flights".into());
    world.changes[1].suppressed = Some("too few flights".into());
    world.recovery[1] = Recovery {
        suppressed: Some("too few flights".into()),
        ..month("2025-07", None)
    };
    let score = world.score().unwrap();
    assert_eq!(effect(&score, "leaflet").verdict, Verdict::Withheld);
    assert_eq!(effect(&score, "lost").verdict, Verdict::Withheld);
}

#[test]
fn withheld_cells_are_no_answer() {
    let mut world = planted();
    world.places[0].class = None;
    world.places[1].class = None;
    world.months[0].signal = Some("higher".into());
    world.months[1].suppressed = Some("too few flights".into());
    (world.rates[1].ci_low, world.rates[1].ci_high) = (None, None);
    let score = world.score().unwrap();
    for name in ["high_arrivals", "new_procedure", "narrow"] {
        assert_eq!(effect(&score, name).verdict, Verdict::Withheld, "{name}");
    }
    // Where no place at all has a class, none was computed.
    world.places.iter_mut().for_each(|place| place.class = None);
    let score = world.score().unwrap();
    assert_eq!(
        effect(&score, "high_arrivals").verdict,
        Verdict::NotComputed
    );
}

#[test]
fn effects_of_another_form_are_left_out_and_said_so() {
    let mut world = cases();
    let score = world.score().unwrap();
    assert_eq!(score.effects, None);
    assert!(
        score
            .notes
            .iter()
            .any(|note| note.contains("effects.json` is missing"))
    );
    world.effects = Some(r#"{ "seed": 1, "high_energy_airport": {} }"#);
    let score = world.score().unwrap();
    assert_eq!(score.effects, None);
    assert!(
        score
            .notes
            .iter()
            .any(|note| note.contains("no list `effects`"))
    );
    world.effects = Some("{ broken");
    assert!(
        world
            .score()
            .unwrap_err()
            .to_string()
            .contains("effects.json")
    );
}
