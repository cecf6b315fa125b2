//! One real recorder flight of a narrow-body jet; provenance in `tests/data/real/README.md`.

use crate::fleet::{RECORDER, Review, folder, planted_rules, real, top};
use crate::table::number;

#[test]
fn one_approach_that_ends_in_a_landing() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(
        review.exit(),
        Some(0),
        "{}",
        crate::fleet::stderr(&review.output)
    );
    let approaches = review.restricted("approaches");
    assert_eq!(approaches.len(), 1);
    let outcome = &approaches[0]["outcome"];
    assert!(
        outcome == "landing" || outcome == "landing_unseen",
        "{outcome}"
    );
    assert_eq!(approaches[0]["height_source"], "record_end");
    assert!(review.restricted("quarantine").is_empty());
}

/// Crossings above the last sample's altitude, computed independently with plain array code from
/// the same file; sink is the slope fitted over ±10 s.
#[test]
fn crossings_at_the_known_times_speeds_and_sink_rates() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let rules = top().join("tests/data/crossing-rules");
    let review = Review::run(fleet.path(), &["--rules", rules.to_str().unwrap()]);
    let gates = review.restricted("gates");
    let known = [
        ("crossing_1000", 11_719.86, 137.8, Some(155.0), 726.0),
        ("crossing_500", 11_759.29, 137.2, None, 768.0),
    ];
    for (rule, time_s, cas_kt, ground_speed_kt, sink_rate_fpm) in known {
        let value = |criterion: &str| {
            let row = gates
                .iter()
                .find(|row| row["rule"] == rule && row["criterion"] == criterion)
                .unwrap_or_else(|| panic!("{rule}.{criterion}"));
            (
                number(row, "gate_s").unwrap(),
                number(row, "value").unwrap(),
            )
        };
        let (at_s, cas) = value("cas");
        assert!((at_s - time_s).abs() <= 2.0, "{rule}: crossed at {at_s} s");
        assert!((cas - cas_kt).abs() <= 1.0, "{rule}: CAS {cas}");
        let (_, ground_speed) = value("ground_speed");
        if let Some(known) = ground_speed_kt {
            assert!(
                (ground_speed - known).abs() <= 1.0,
                "{rule}: ground speed {ground_speed}"
            );
        }
        let (_, sink) = value("sink");
        assert!((sink - sink_rate_fpm).abs() <= 60.0, "{rule}: sink {sink}");
    }
}

#[test]
fn what_was_not_recorded_is_not_evaluable_and_in_no_denominator() {
    let fleet = folder(RECORDER, &[real("recorder.parquet")]);
    let review = Review::run(fleet.path(), &["--rules", planted_rules()]);
    let measurements = review.restricted("measurements");
    let reason_has = [
        ("flap_limit_exceeded", "flap_lever"),
        ("flap_selection_margin", "flap_lever"),
        ("energy_excess_20nm", "distance_to_threshold_nm"),
        ("energy_excess_10nm", "distance_to_threshold_nm"),
        ("high_at_15nm", "distance_to_threshold_nm"),
        ("unstable_1000", "gear_down"),
        ("unstable_500", "gear_down"),
        ("unstable_and_landed", "unstable_500"),
    ];
    assert_eq!(measurements.len(), reason_has.len());
    for (rule, word) in reason_has {
        let row = measurements.iter().find(|row| row["rule"] == rule).unwrap();
        assert_eq!(row["status"], "not_evaluable", "{rule}: {row:?}");
        assert!(row["reason"].contains(word), "{rule}: {}", row["reason"]);
    }
    for row in review.shared("rates") {
        assert!(
            row["evaluable"].is_empty() || row["evaluable"] == "0",
            "{row:?}"
        );
        assert!(
            row["rate_per_1000"].is_empty(),
            "nothing evaluable has no rate: {row:?}"
        );
    }
    assert!(review.restricted("events").is_empty());
    let report = review.report();
    assert!(
        report.contains("flap_lever"),
        "the report says what is missing"
    );
}
