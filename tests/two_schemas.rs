//! The same flights in two schemas: names, units, signs, states, forms of time and shapes of file are the
//! recorder's affair, and no result rests on them.

mod coarser;
mod compare;
mod names;
pub(crate) mod rewrite;
mod tolerance;

use std::path::Path;

use compare::{assert_rows_alike, forgive_a_sample, same_bytes};
use rewrite::{Flight, flights, write_second};
use tempfile::TempDir;

use crate::fleet::{Review, glidetally, planted_rules, stderr};
use crate::table::Row;

const SHARED: [&str; 4] = ["rates", "trend_monthly", "hotspots", "coverage"];
/// By judgement: some ten for each rule and each recorder. The proving fleet has half as many again.
const LEAST_EVENTS: usize = 100;
const LEAST_SHOWN_RATES: usize = 100;

/// A fleet with deviations on both sides of every limit, in both schemas.
fn both(folder: &Path, change: impl Fn(&mut Flight)) -> (Review, Review, Vec<Flight>) {
    let (first, second) = (folder.join("first"), folder.join("second"));
    let output = glidetally(&[
        "demo",
        "write",
        first.to_str().unwrap(),
        "--profile",
        "proving",
        "--flights",
        "400",
        "--months",
        "3",
        "--seed",
        "11",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let recorded = flights(&first);
    let mut changed = flights(&first);
    changed.iter_mut().for_each(change);
    write_second(&changed, &first, &second);
    let reviewed = Review::run(&first, &["--rules", planted_rules()]);
    assert_eq!(reviewed.exit(), Some(0), "{}", stderr(&reviewed.output));
    let other = Review::run(&second, &["--rules", planted_rules()]);
    assert_eq!(other.exit(), Some(0), "{}", stderr(&other.output));
    (reviewed, other, recorded)
}

/// That there is something to compare: events of every rule and of every recorder, and shown rates.
fn assert_enough(review: &Review, flights: &[Flight]) {
    let events = review.restricted("events");
    assert!(events.len() >= LEAST_EVENTS, "{} events", events.len());
    let count = |of: &dyn Fn(&Row) -> bool| events.iter().filter(|row| of(row)).count();
    for rule in review.restricted("measurements").iter().map(|m| &m["rule"]) {
        assert!(count(&|row| &row["rule"] == rule) > 0, "no event of {rule}");
    }
    for kind in ["corvan-c20", "tarn-t7", "brae-r3"] {
        let of_kind = |row: &Row| {
            let found = flights.iter().find(|f| f.id == row["flight_id"]);
            found.is_some_and(|flight| flight.kind == kind)
        };
        assert!(count(&of_kind) >= 10, "{kind}: {} events", count(&of_kind));
    }
    let rates = review.shared("rates");
    let shown = rates.iter().filter(|row| row["suppressed"].is_empty());
    assert!(shown.count() >= LEAST_SHOWN_RATES);
}

#[test]
fn another_schema_changes_nothing() {
    let folder = TempDir::new().unwrap();
    let (first, second, recorded) = both(folder.path(), |_| {});
    assert_enough(&first, &recorded);
    for table in [
        "approaches",
        "events",
        "measurements",
        "gates",
        "checkpoints",
        "lever_moves",
        "losses",
        "suspect",
        "headers",
        "quality",
    ] {
        let (a, mut b) = (first.restricted(table), second.restricted(table));
        if table == "approaches" {
            // Seconds above a limit are counted: the last digit of a converted value decides about one of them.
            let moved = forgive_a_sample(&a, &mut b);
            assert!(moved * 20 < a.len(), "{moved} of {} approaches", a.len());
        }
        assert_rows_alike(table, &a, &b, 0.0);
    }
    // Counts of whole events do not round: the shared tables are the same to the byte.
    for table in SHARED {
        assert!(
            same_bytes(first.out.path(), second.out.path(), table),
            "{table} differs"
        );
    }
}
