//! Effects on the fleet: found, claimed wrongly, withheld, or not asked by any table.

use demo::Score;
use demo::score::{EffectScore, Verdict};

use crate::cases;
use crate::world::{Month, Place, Rate, World};

const PLANTED: &str = r#"{ "seed": 1, "effects": [
    { "name": "high_arrivals", "kind": "place", "real": true, "airport": "ZENA", "rules": ["high", "steep"] },
    { "name": "by_chance", "kind": "place", "real": false, "airport": "ZFEW", "rules": ["high"] },
    { "name": "new_procedure", "kind": "month", "real": true, "month": "2025-10", "rules": ["high"] },
    { "name": "narrow", "kind": "type", "real": true, "aircraft_type": "three", "rules": ["high"] },
    { "name": "rise", "kind": "trend", "real": true, "from_share": 0.1, "to_share": 0.2, "rules": ["high"] },
    { "name": "windy", "kind": "season", "real": false, "months_of_year": [11, 12], "rules": ["high"] }
] }"#;

fn place(airport: &str, rule: &str, class: Option<&str>) -> Place {
    Place {
        airport: airport.into(),
        runway: None,
        rule: rule.into(),
        class: class.map(str::to_owned),
    }
}

fn month(month: &str, signal: Option<&str>, why: Option<&str>) -> Month {
    Month {
        rule: "high".into(),
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
        rule: "high".into(),
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
    for name in ["new_procedure", "rise", "windy"] {
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
