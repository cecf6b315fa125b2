//! Each kind does what it says, and nothing else.

#![allow(clippy::unwrap_used)] // a step that fails is a test that fails

use super::channel::{numbers, times_s};
use super::columns::{column, parameters};
use super::sizes::{SENTINEL_VALUES, SPIKES};
use super::*;
use crate::Options;
use crate::flight::Flight;
use crate::recorder::fleet_toml;
use crate::world::types::TYPE_COUNT;
use arrow::compute::{concat_batches, sort_to_indices, take_record_batch};
use std::collections::BTreeSet;

/// Recorded flights of all recorders, undamaged.
fn flights() -> Vec<(Flight, Facts)> {
    let options = Options {
        damaged: Some(0.0),
        ..Options::default()
    };
    (0..12)
        .map(|number| {
            let flight = Flight::make(&options, number, |_| true).unwrap();
            let facts = Facts {
                type_index: flight.type_index,
                approaches_s: flight
                    .approaches
                    .iter()
                    .map(|row| (row.start_s, row.end_s))
                    .collect(),
                landed: true,
                qnh_known: true,
            };
            (flight, facts)
        })
        .collect()
}

/// Damages every flight in a few ways; `check` sees samples before and after, and the rows.
fn each(kind: Kind, mut check: impl FnMut(&RecordBatch, &RecordBatch, &[DamageRow], &Facts)) {
    let mut hit = 0;
    for (number, (flight, facts)) in (0..).zip(flights()) {
        for draw in 0..6 {
            let dice = &mut Dice::new(draw, number, "damage");
            let (after, rows) = apply(kind, flight.samples.clone(), &facts, dice).unwrap();
            assert!(rows.iter().all(|row| row.kind == kind.as_str()));
            hit += usize::from(!rows.is_empty());
            check(&flight.samples, &after, &rows, &facts);
        }
    }
    assert!(hit > 50, "{} hit {hit} flights of 72", kind.as_str());
}

/// Columns that differ, with the rows in which they do; the records have the same rows.
fn differences(before: &RecordBatch, after: &RecordBatch) -> Vec<(String, Vec<usize>)> {
    assert_eq!(before.num_rows(), after.num_rows());
    let mut found = Vec::new();
    for (index, field) in before.schema().fields().iter().enumerate() {
        if before.column(index) != after.column(index) {
            let (one, two) = (
                numbers(before.column(index)).unwrap(),
                numbers(after.column(index)).unwrap(),
            );
            let rows = (0..one.len()).filter(|&row| one[row] != two[row]).collect();
            found.push((field.name().clone(), rows));
        }
    }
    found
}

fn values(samples: &RecordBatch, facts: &Facts, parameter: &str) -> (Vec<Option<f64>>, f64) {
    let (name, scale) = column(facts.type_index, parameter).unwrap();
    (numbers(&samples[name]).unwrap(), scale)
}

/// Rows of a damage, by its times.
fn inside(row: &DamageRow, time_s: &[f64]) -> Vec<usize> {
    let range = row.start_s.unwrap()..=row.end_s.unwrap();
    (0..time_s.len())
        .filter(|&i| range.contains(&time_s[i]))
        .collect()
}

#[test]
fn every_column_of_every_recorder_has_its_name_in_the_catalogue() {
    for type_index in 0..TYPE_COUNT {
        let names = parameters(type_index);
        // The fleet's own map of this recorder names each, and the loader knows no other names.
        let text = fleet_toml(false);
        let map = text.split("\n[[map]]\n").nth(type_index + 1).unwrap();
        let mapped = |name: &&&str| map.lines().any(|line| line.split(' ').next() == Some(name));
        let unknown: Vec<_> = names.iter().filter(|name| !mapped(name)).collect();
        assert!(unknown.is_empty(), "recorder {type_index}: {unknown:?}");
        assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
    }
}

#[test]
fn a_gap_takes_values_or_rows_away() {
    each(Kind::Gap, |before, after, rows, facts| {
        let time_s = times_s(before).unwrap();
        if rows.iter().all(|row| row.parameter.is_none()) {
            let left = times_s(after).unwrap();
            for row in rows {
                let range = row.start_s.unwrap()..=row.end_s.unwrap();
                assert!(left.iter().all(|t| !range.contains(t)));
                assert!((4.0..=61.0).contains(&(range.end() - range.start())));
            }
            assert!(left.len() < time_s.len());
            return;
        }
        for row in rows {
            let (after, _) = values(after, facts, row.parameter.as_ref().unwrap());
            assert!(inside(row, &time_s).iter().all(|&i| after[i].is_none()));
        }
        assert_eq!(differences(before, after).len(), rows.len());
    });
}

#[test]
fn a_stuck_channel_repeats_the_value_before() {
    let mut parameters = BTreeSet::new();
    each(Kind::Stuck, |before, after, rows, facts| {
        let time_s = times_s(before).unwrap();
        for row in rows {
            let parameter = row.parameter.as_ref().unwrap();
            let (was, _) = values(before, facts, parameter);
            let (is, _) = values(after, facts, parameter);
            let stretch = inside(row, &time_s);
            let held = was[..stretch[0]].iter().rev().flatten().next();
            let known: Vec<usize> = stretch.into_iter().filter(|&i| was[i].is_some()).collect();
            assert!(known.iter().all(|&i| is[i].as_ref() == held));
            assert_eq!(known.len() as i64, row.samples);
            parameters.insert(parameter.clone());
        }
        // A value may have stood anyway.
        assert!(differences(before, after).len() <= rows.len());
    });
    assert!(parameters.len() > 8, "{parameters:?}");
}

#[test]
fn a_spike_is_short_and_far_off() {
    each(Kind::Spike, |before, after, rows, facts| {
        let changed = differences(before, after);
        assert_eq!(changed.len(), usize::from(!rows.is_empty()));
        let Some((_, samples)) = changed.first() else {
            return;
        };
        let parameter = rows[0].parameter.as_ref().unwrap();
        let spike = SPIKES.iter().find(|spike| spike.0 == parameter).unwrap();
        let (was, scale) = values(before, facts, parameter);
        let (is, _) = values(after, facts, parameter);
        assert!(rows.iter().all(|row| (1..=3).contains(&row.samples)));
        assert!(samples.len() as i64 <= rows.iter().map(|row| row.samples).sum());
        if rows.len() == 1 && parameter != "heading_true_deg" {
            for &i in samples {
                let size = ((is[i].unwrap() - was[i].unwrap()) / scale).abs();
                // 32-bit columns round.
                let (low, high) = (spike.2.0 * 0.89, spike.2.1 * 1.11);
                assert!((low..=high).contains(&size), "{parameter}: {size}");
            }
        }
    });
}

#[test]
fn a_sentinel_stands_in_place_of_the_reading() {
    let mut seen = BTreeSet::new();
    each(Kind::Sentinel, |before, after, rows, facts| {
        let time_s = times_s(before).unwrap();
        for row in rows {
            let parameter = row.parameter.as_ref().unwrap();
            let (was, _) = values(before, facts, parameter);
            let (is, _) = values(after, facts, parameter);
            for i in inside(row, &time_s) {
                let Some(value) = is[i] else {
                    assert!(was[i].is_none());
                    continue;
                };
                let known = |known: &f64| (known.trunc() - value.trunc()).abs() < 1e-3;
                assert!(SENTINEL_VALUES.iter().any(known), "{parameter}: {value}");
                seen.insert(value as i64);
            }
            assert!((0.0..=30.0).contains(&(row.end_s.unwrap() - row.start_s.unwrap())));
        }
    });
    assert!(seen.len() > 5, "{seen:?}");
}

#[test]
fn a_missing_channel_is_absent_or_empty() {
    let (mut absent, mut empty) = (0, 0);
    each(Kind::MissingChannel, |before, after, rows, facts| {
        let parameter = rows[0].parameter.as_ref().unwrap();
        assert_ne!(parameter, "pressure_altitude_ft");
        let (name, _) = column(facts.type_index, parameter).unwrap();
        match after.column_by_name(name) {
            None => {
                absent += 1;
                assert_eq!(after.num_columns() + 1, before.num_columns());
            }
            Some(column) => {
                empty += 1;
                assert_eq!(column.null_count(), after.num_rows());
                assert_eq!(differences(before, after).len(), 1);
            }
        }
    });
    assert!(absent > 10 && empty > 10, "{absent} absent, {empty} empty");
}

/// A record sorted by time, each time once.
fn sorted(samples: &RecordBatch) -> RecordBatch {
    let index =
        usize::from(samples.schema().field(0).data_type() == &arrow::datatypes::DataType::Utf8);
    let order = sort_to_indices(samples.column(index), None, None).unwrap();
    let samples = take_record_batch(samples, &order).unwrap();
    let time_s = times_s(&samples).unwrap();
    let single: Vec<RecordBatch> = (0..time_s.len())
        .filter(|&i| i == 0 || time_s[i] != time_s[i - 1])
        .map(|i| samples.slice(i, 1))
        .collect();
    concat_batches(&samples.schema(), &single).unwrap()
}

#[test]
fn rows_that_come_twice_or_out_of_order_are_all_there() {
    each(Kind::DuplicateRows, |before, after, rows, _| {
        let twice: i64 = rows.iter().map(|row| row.samples).sum();
        assert_eq!(after.num_rows() as i64, before.num_rows() as i64 + twice);
        assert_eq!(&sorted(after), before);
    });
    each(Kind::ShuffledRows, |before, after, _, _| {
        assert_ne!(after, before);
        assert_eq!(&sorted(after), before);
    });
}

#[test]
fn a_short_record_lacks_its_begin_or_its_end() {
    let (mut late, mut early) = (0, 0);
    each(Kind::ShortRecord, |before, after, rows, _| {
        let left = after.num_rows();
        assert_eq!(left as i64 + rows[0].samples, before.num_rows() as i64);
        if &before.slice(0, left) == after {
            early += 1;
        } else {
            late += 1;
            assert_eq!(&before.slice(before.num_rows() - left, left), after);
        }
    });
    assert!(
        late > 10 && early > 10,
        "{late} start late, {early} end early"
    );
}

#[test]
fn a_wrong_setting_is_preferred_where_nothing_else_tells_the_height() {
    let facts = |landed| Facts {
        type_index: 0,
        approaches_s: vec![(0.0, 600.0)],
        landed,
        qnh_known: true,
    };
    let wrong = |landed| {
        (0..400)
            .filter_map(|number| choose(0.5, &facts(landed), &mut Dice::new(7, number, "damage")))
            .partition::<Vec<_>, _>(|kind| *kind == Kind::WrongQnh)
    };
    let (setting, other) = wrong(false);
    assert!(setting.len() > other.len());
    let (setting, other) = wrong(true);
    assert!(setting.len() * 10 < other.len());
    assert!((150..250).contains(&(setting.len() + other.len())));

    let (flight, facts) = flights().swap_remove(0);
    let mut off = Vec::new();
    for number in 0..2_000 {
        let mut qnh_hpa = Some(1_013.0);
        let dice = &mut Dice::new(7, number, "damage");
        let samples = flight.samples.clone();
        let (after, damage) = inflict(0.5, &facts, samples, &mut qnh_hpa, dice).unwrap();
        if damage.is_some_and(|damage| damage.kind == Kind::WrongQnh) {
            assert_eq!(after, flight.samples);
            off.push((qnh_hpa.unwrap() - 1_013.0).abs());
        } else {
            assert_eq!(qnh_hpa, Some(1_013.0));
        }
    }
    assert!(off.len() > 5 && off.iter().all(|hpa| (5.0..=25.0).contains(hpa)));
}
