use proptest::prelude::*;

use super::*;

const N: usize = 120;

/// What the habits read, with plausible and wild values.
const INPUTS: [(&str, f64, f64); 14] = [
    ("height_geometric_ft", 0.0, 9_000.0),
    ("planning_height_ft", 0.0, 9_000.0),
    ("height_over_profile_ft", -900.0, 900.0),
    ("height_aal_ft", 0.0, 9_000.0),
    ("speedbrake", 0.0, 1.0),
    ("gear_down", 0.0, 1.0),
    ("flap_lever", 0.0, 4.0),
    ("landing_flap_set", 0.0, 1.0),
    ("cas_kt", 110.0, 290.0),
    ("over_target_kt", -30.0, 60.0),
    ("sink_rate_fpm", -800.0, 2_500.0),
    ("thrust_pct", 25.0, 95.0),
    ("thrust_over_min_pct", -20.0, 50.0),
    ("energy_excess_ft", -1_500.0, 3_000.0),
];

/// Steps of a value that holds for a while, unknown now and then.
fn held(low: f64, high: f64) -> impl Strategy<Value = Vec<f64>> {
    let value = prop_oneof![
        1 => Just(f64::NAN),
        3 => Just(low),
        3 => Just(high),
        6 => low..high,
    ];
    let runs = prop::collection::vec((value, 1..40_usize), N);
    runs.prop_map(|runs| {
        let values = runs.into_iter().flat_map(|(v, n)| vec![v; n]);
        values.take(N).collect()
    })
}

fn any() -> impl Strategy<Value = Columns> {
    let values: Vec<_> = INPUTS
        .iter()
        .map(|&(_, low, high)| held(low, high))
        .collect();
    let near = prop_oneof![Just(2.0), 4.0..35.0];
    (values, near, 0..=N).prop_map(|(values, from_nm, landed)| {
        let distance = inwards(N, from_nm);
        let mut all: Vec<(&str, &[f64])> = vec![("distance_to_threshold_nm", &distance)];
        all.extend(INPUTS.iter().zip(&values).map(|(i, v)| (i.0, v.as_slice())));
        let mut columns = columns(&all);
        columns.segment[landed..].fill(Segment::Roll);
        columns
    })
}

fn numbers(row: &ApproachRow) -> Vec<(&'static str, Option<f64>)> {
    vec![
        ("high_stowed_s", row.high_stowed_s),
        ("high_stowed_max_ft", row.high_stowed_max_ft),
        ("speed_for_drag_kt", row.speed_for_drag_kt),
        ("steep_fast_clean_s", row.steep_fast_clean_s),
        (
            "speedbrake_against_thrust_s",
            row.speedbrake_against_thrust_s,
        ),
        ("level_before_flap_nm", row.level_before_flap_nm),
        ("drag_late_nm", row.drag_late_nm),
    ]
}

proptest! {
    /// The store holds no NaN and no infinity, and none of these can be below nothing.
    #[test]
    fn whatever_is_known_measures_are_numbers_or_nothing(columns in any()) {
        let row = filled(&columns);
        for (name, value) in numbers(&row) {
            prop_assert!(value.is_none_or(|v| v.is_finite() && v >= 0.0), "{name}: {value:?}");
        }
        let places = [row.first_flap_nm, row.gear_down_nm, row.drag_called_nm];
        prop_assert!(places.into_iter().flatten().all(f64::is_finite));
        // Counted time and its greatest height are there or not there together.
        prop_assert_eq!(row.high_stowed_s.is_some(), row.high_stowed_max_ft.is_some());
        if let (Some(s), Some(ft)) = (row.high_stowed_s, row.high_stowed_max_ft) {
            prop_assert_eq!(s > 0.0, ft > 0.0);
        }
        if let (Some(called), Some(late)) = (row.drag_called_nm, row.drag_late_nm) {
            prop_assert!((3.0..=20.0).contains(&called) && late <= called + 12.0);
        }
    }

    /// Making an input unknown for good never makes a measure of it known, nor a zero of something.
    #[test]
    fn what_becomes_unknown_never_becomes_none(columns in any(), lost in 0..INPUTS.len()) {
        let before = filled(&columns);
        let mut poorer = columns;
        poorer.columns.remove(INPUTS[lost].0);
        let after = filled(&poorer);
        for ((name, before), (_, after)) in numbers(&before).into_iter().zip(numbers(&after)) {
            // The thrust above the type's minimum only adds to the other; the gear's absence is unknown.
            let adds = INPUTS[lost].0 == "thrust_over_min_pct";
            if let (Some(after), false) = (after, adds) {
                prop_assert_eq!(Some(after), before, "{} without {}", name, INPUTS[lost].0);
            }
        }
    }
}
