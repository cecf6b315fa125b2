//! Damaged flights: refused, noted or silent, the events it cost, and flights that add up.

use demo::Score;
use demo::score::{DamageGroup, DamageScore};

use crate::rule;
use crate::world::Says::Known;
use crate::world::{Gate, Listed, Quality, Refusal, World};

fn damage<'a>(score: &'a Score, kind: &str) -> &'a DamageScore {
    let damages = score.damages.as_ref().unwrap();
    damages.iter().find(|one| one.kind == kind).unwrap()
}

/// Twenty undamaged flights, each with a hole in the beam, as real ones have.
fn sound() -> World {
    let mut world = World::default();
    for number in 0..20 {
        let flight = format!("sound-{number:02}");
        fly(&mut world, &flight);
        world.quality.push(World::sound(&flight, "cas_kt"));
        world.quality.push(Quality {
            gaps: 1,
            coverage: 0.4,
            ..World::sound(&flight, "localizer_dev_dots")
        });
    }
    world.damages = Some(Vec::new());
    world
}

/// An approach without event.
fn fly(world: &mut World, flight: &str) {
    world.fly(flight, 1);
    world.know(flight, 1, "high", Known(50.0, 100.0, 5.0));
    world.judge(flight, 1, "high", "clear", Some(50.0));
    world.listed.get_or_insert_default().push(Listed {
        flight_id: flight.into(),
        aircraft_type: "one".into(),
    });
}

#[test]
fn a_note_is_what_stands_out_from_sound_flights() {
    let mut world = sound();
    for (flight, parameter, quality) in [
        (
            "gap",
            "cas_kt",
            Quality {
                gaps: 1,
                ..World::sound("gap", "cas_kt")
            },
        ),
        // No more than any other flight has.
        (
            "usual",
            "localizer_dev_dots",
            Quality {
                gaps: 1,
                coverage: 0.4,
                ..World::sound("usual", "localizer_dev_dots")
            },
        ),
        (
            "more",
            "localizer_dev_dots",
            Quality {
                gaps: 2,
                coverage: 0.4,
                ..World::sound("more", "localizer_dev_dots")
            },
        ),
        // The note stands at another parameter.
        (
            "elsewhere",
            "cas_kt",
            Quality {
                gaps: 1,
                ..World::sound("elsewhere", "pitch_deg")
            },
        ),
    ] {
        fly(&mut world, flight);
        world.quality.push(quality);
        world.damage(flight, "gap", Some(parameter), "records/one.parquet");
    }
    let score = world.score().unwrap();
    let gap = damage(&score, "gap");
    assert_eq!(
        (gap.flights, gap.refused, gap.noted, gap.silent),
        (4, 0, 2, 2)
    );
    assert_eq!(gap.notes, [("gaps".to_owned(), 2)].into());
    let group = |of: &str, flight: &str| DamageGroup {
        of: Some(of.into()),
        count: 1,
        flight_ids: vec![flight.into()],
    };
    let silent = [
        group("cas_kt", "elsewhere"),
        group("localizer_dev_dots", "usual"),
    ];
    assert_eq!(gap.silent_of, silent);
    assert_eq!(
        score.findings(),
        ["damage `gap` passed in silence on 2 of 4 flights"]
    );
}

#[test]
fn a_flight_with_two_damages_of_a_kind_is_noted_when_both_are() {
    let mut world = sound();
    fly(&mut world, "twice");
    world.quality.push(Quality {
        spikes: 3,
        ..World::sound("twice", "cas_kt")
    });
    world.damage("twice", "spike", Some("cas_kt"), "a.parquet");
    assert_eq!(damage(&world.score().unwrap(), "spike").noted, 1);
    world.damage("twice", "spike", Some("pitch_deg"), "a.parquet");
    let score = world.score().unwrap();
    let spike = damage(&score, "spike");
    assert_eq!((spike.flights, spike.noted, spike.silent), (1, 0, 1));
}

#[test]
fn each_kind_has_a_note_of_its_own() {
    let mut world = sound();
    for flight in [
        "rows", "whole", "channel", "short", "late", "later", "qnh", "qnh-used",
    ] {
        fly(&mut world, flight);
        world.quality.push(World::sound(flight, "cas_kt"));
    }
    world.damage("rows", "duplicate_rows", None, "a.parquet");
    world.quality.push(Quality {
        action: "12 rows with repeated, backward or missing time dropped".into(),
        ..World::sound("rows", "time_s")
    });
    // A hole in the whole record: half of its parameters say so.
    world.damage("whole", "gap", None, "a.parquet");
    world.quality.push(Quality {
        gaps: 1,
        ..World::sound("whole", "pitch_deg")
    });
    world.damage(
        "channel",
        "missing_channel",
        Some("normal_accel_g"),
        "a.parquet",
    );
    named(&mut world, "channel").missing_columns = "ils_tuned,normal_accel_g_max".into();
    world.damage("short", "short_record", None, "a.parquet");
    named(&mut world, "short").outcome = "incomplete".into();
    world.damage("late", "short_record", None, "a.parquet");
    world.damage("later", "short_record", None, "a.parquet");
    world.know("later", 1, "far", Known(50.0, 100.0, 5.0));
    world.judge("later", 1, "far", "not_evaluable", None);
    for flight in ["qnh", "qnh-used"] {
        world.damage(flight, "wrong_qnh", Some("qnh_hpa"), "flights.parquet");
    }
    named(&mut world, "qnh-used").height_source = "qnh".into();
    let score = world.score().unwrap();
    for (kind, noted, silent, note) in [
        ("duplicate_rows", 1, 0, "action of time_s"),
        ("gap", 1, 0, "gaps"),
        ("missing_channel", 1, 0, "missing_columns"),
        ("wrong_qnh", 1, 1, "height_source"),
    ] {
        let of = damage(&score, kind);
        assert_eq!((of.noted, of.silent), (noted, silent), "{of:?}");
        assert_eq!(of.notes, [(note.to_owned(), 1)].into(), "{kind}");
    }
    let short = damage(&score, "short_record");
    assert_eq!((short.noted, short.silent), (2, 1), "{short:?}");
    let notes = ["outcome", "rules not evaluable"].map(|note| (note.to_owned(), 1));
    assert_eq!(short.notes, notes.into());
    // A column that sound flights lack as well says nothing.
    for found in &mut world.found {
        found.missing_columns = "normal_accel_g_max".into();
    }
    assert_eq!(damage(&world.score().unwrap(), "missing_channel").silent, 1);
}

fn named<'a>(world: &'a mut World, flight: &str) -> &'a mut crate::world::Found {
    world
        .found
        .iter_mut()
        .find(|found| found.flight_id == flight)
        .unwrap()
}

#[test]
fn refused_flights_add_up_with_the_loaded_ones() {
    let mut world = sound();
    // Refused by its id, by the file it was alone in, and by the name of its file.
    for (flight, id, file) in [
        ("by-id", Some("by-id"), "records/month.parquet"),
        ("by-file", None, "records/cut.parquet"),
        ("by-name", None, "records/single/by-name.parquet"),
    ] {
        world.fly_only(flight, 1);
        world.know(flight, 1, "high", Known(130.0, 100.0, 5.0));
        world.listed.as_mut().unwrap().push(Listed {
            flight_id: flight.into(),
            aircraft_type: "one".into(),
        });
        world.quarantine.push(Refusal {
            file: file.into(),
            flight_id: id.map(str::to_owned),
            reason: "unreadable file".into(),
        });
        world.damage(flight, "truncated_file", None, file);
    }
    // Loaded once, and refused when it came again.
    fly(&mut world, "again");
    world.quality.push(World::sound("again", "cas_kt"));
    world.damage("again", "duplicate_flight", None, "records/again.parquet");
    world.quarantine.push(Refusal {
        file: "records/again.parquet".into(),
        flight_id: Some("again".into()),
        reason: "duplicate flight".into(),
    });
    // Listed, but nowhere.
    world.listed.as_mut().unwrap().push(Listed {
        flight_id: "lost".into(),
        aircraft_type: "one".into(),
    });
    world.quarantine.push(Refusal {
        file: "records/notes.parquet".into(),
        flight_id: None,
        reason: "no known columns".into(),
    });
    let score = world.score().unwrap();
    let flights = score.flights.as_ref().unwrap();
    assert_eq!(
        (flights.listed, flights.loaded, flights.refused),
        (25, 21, 3)
    );
    assert_eq!((flights.unaccounted, flights.loaded_and_refused), (1, 1));
    assert_eq!(flights.unaccounted_examples, ["lost"]);
    assert_eq!((flights.loaded_unlisted, flights.refused_unlisted), (0, 1));
    let cut = damage(&score, "truncated_file");
    assert_eq!((cut.flights, cut.refused, cut.silent), (3, 3, 0));
    assert_eq!(cut.reasons, [("unreadable file".to_owned(), 3)].into());
    assert_eq!(cut.events_lost_not_found, 3);
    assert_eq!(damage(&score, "duplicate_flight").refused, 1);
    let of_damaged = score.approaches_of_damaged.as_ref().unwrap();
    assert_eq!(
        (of_damaged.missed_as_refused, of_damaged.examples.len()),
        (3, 0)
    );
    assert_eq!(
        (of_damaged.flown, of_damaged.found, of_damaged.missed),
        (4, 1, 3)
    );
    assert_eq!((score.approaches.flown, score.approaches.missed), (20, 0));
}

#[test]
fn events_of_one_side_only_are_the_doing_of_the_damage() {
    let mut world = sound();
    for (flight, worst, status) in [
        ("caused", 50.0, "event"),
        ("hidden", 130.0, "clear"),
        ("unjudged", 130.0, "not_evaluable"),
        ("kept", 130.0, "event"),
        ("blurred", 98.0, "event"),
    ] {
        world.fly(flight, 1);
        world.know(flight, 1, "high", Known(worst, 100.0, 5.0));
        world.judge(flight, 1, "high", status, Some(f64::from(worst)));
        world.quality.push(Quality {
            spikes: 1,
            ..World::sound(flight, "cas_kt")
        });
        world.damage(flight, "spike", Some("cas_kt"), "a.parquet");
    }
    // A criterion that fails is part of its gate's verdict, and no event of its own.
    world.know("caused", 1, "gate.speed", Known(5.0, 20.0, 1.0));
    world.gates.push(Gate {
        flight_id: "caused".into(),
        approach_no: 1,
        rule: "gate".into(),
        criterion: "speed".into(),
        value: Some(25.0),
        passed: Some(false),
    });
    let score = world.score().unwrap();
    let spike = damage(&score, "spike");
    assert_eq!((spike.noted, spike.silent), (5, 0));
    assert_eq!((spike.events_caused, spike.events_lost_as_clear), (1, 1));
    assert_eq!(
        (spike.events_lost_unjudged, spike.events_lost_not_found),
        (1, 0)
    );
    assert_eq!(spike.caused_by_rule.len(), 1);
    assert_eq!(spike.caused_by_rule[0].flight_ids, ["caused"]);
    assert_eq!(spike.caused_by_rule[0].of.as_deref(), Some("high"));
    // None of this counts among the undamaged.
    let high = rule(&score, "high");
    assert_eq!((high.undamaged.events, high.undamaged.false_events), (0, 0));
    assert_eq!((high.damaged.events, high.damaged.found), (3, 1));
    assert_eq!((high.damaged.false_events, high.damaged.in_band), (1, 1));
    assert_eq!(
        score.findings(),
        ["damage `spike`: 1 events that did not happen"]
    );
}

#[test]
fn a_fleet_that_tells_of_no_damage_says_so() {
    let mut world = sound();
    world.damages = None;
    let score = world.score().unwrap();
    assert_eq!(score.damages, None);
    assert_eq!(score.approaches_of_damaged, None);
    assert!(
        score.notes[0].contains("no truth/damages.parquet"),
        "{:?}",
        score.notes
    );
}
