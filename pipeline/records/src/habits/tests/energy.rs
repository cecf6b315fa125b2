use super::*;

/// 100 samples from 12 NM to 2.1 NM, 400 ft above the planned height but for the last 40.
fn high() -> Vec<(&'static str, Vec<f64>)> {
    vec![
        ("distance_to_threshold_nm", inwards(100, 12.0)),
        (
            "height_geometric_ft",
            in_samples(100, 0..60, 3_400.0, 3_100.0),
        ),
        ("speedbrake", in_samples(100, 0..25, 0.0, 0.5)),
        ("planning_height_ft", steady(100, 3_000.0)),
        ("gear_down", steady(100, 0.0)),
        ("flap_lever", steady(100, 0.0)),
        ("cas_kt", steady(100, 230.0)),
    ]
}

fn row_of(columns_of: &[(&'static str, Vec<f64>)]) -> ApproachRow {
    let borrowed: Vec<(&str, &[f64])> = columns_of.iter().map(|c| (c.0, c.1.as_slice())).collect();
    filled(&columns(&borrowed))
}

fn with(name: &'static str, values: Vec<f64>) -> Vec<(&'static str, Vec<f64>)> {
    let mut all = high();
    all.retain(|c| c.0 != name);
    all.push((name, values));
    all
}

#[test]
fn high_with_the_speedbrake_stowed_is_counted_while_both_are_so() {
    let row = row_of(&high());
    close(row.high_stowed_s, 25.0);
    close(row.high_stowed_max_ft, 400.0);
    // The speedbrake rests a little off zero.
    close(
        row_of(&with("speedbrake", steady(100, 0.1))).high_stowed_s,
        60.0,
    );
    // Outside 20 NM and inside 3 NM nothing is counted: 3 NM is the 91st sample.
    let near = with(
        "height_geometric_ft",
        in_samples(100, 85..100, 3_400.0, 3_000.0),
    );
    let mut near_stowed = near;
    near_stowed.retain(|c| c.0 != "speedbrake");
    near_stowed.push(("speedbrake", steady(100, 0.0)));
    close(row_of(&near_stowed).high_stowed_s, 5.0 + 1.0);
}

#[test]
fn none_is_zero_and_unknown_is_nothing() {
    let never = row_of(&with("speedbrake", steady(100, 0.5)));
    close(never.high_stowed_s, 0.0);
    close(never.high_stowed_max_ft, 0.0);
    // Unknown for a fifth of the window, where the height alone does not settle it.
    let hole = row_of(&with("speedbrake", in_samples(100, 0..20, f64::NAN, 0.5)));
    assert_eq!(hole.high_stowed_s, None);
    assert_eq!(hole.high_stowed_max_ft, None);
    // For a twentieth: too little to lose a count, but enough that none is not known to be none.
    let hole = row_of(&with("speedbrake", in_samples(100, 0..4, f64::NAN, 0.5)));
    assert_eq!(hole.high_stowed_s, None);
    let mut brake = in_samples(100, 0..4, f64::NAN, 0.5);
    brake[10..30].fill(0.0);
    close(row_of(&with("speedbrake", brake)).high_stowed_s, 20.0);
    // Not high there: whatever the speedbrake did.
    let settled = row_of(&with("speedbrake", in_samples(100, 60..90, f64::NAN, 0.5)));
    close(settled.high_stowed_s, 0.0);
    let unplaced = row_of(&with("distance_to_threshold_nm", steady(100, f64::NAN)));
    assert_eq!(unplaced.high_stowed_s, None);
}

/// 220 kt up by 1 kt a sample from the 31st to the 50th: 20 kt, of which the mean over the eleven
/// samples that are there at the ends shows all.
#[test]
fn speed_gained_above_the_path_is_the_largest_rise() {
    let rising: Vec<f64> = (0..100_u32)
        .map(|k| 220.0 + f64::from(k.clamp(30, 50) - 30))
        .collect();
    let mut flown = with("speedbrake", steady(100, 0.0));
    flown.retain(|c| c.0 != "cas_kt");
    flown.push(("cas_kt", rising));
    close(row_of(&flown).speed_for_drag_kt, 20.0);
    // With the speedbrake out it is no speed instead of drag.
    let mut braked = flown.clone();
    braked.retain(|c| c.0 != "speedbrake");
    braked.push(("speedbrake", steady(100, 0.5)));
    close(row_of(&braked).speed_for_drag_kt, 0.0);
    // Nor with the gear down.
    flown.retain(|c| c.0 != "gear_down");
    flown.push(("gear_down", steady(100, 1.0)));
    close(row_of(&flown).speed_for_drag_kt, 0.0);
}

#[test]
fn speed_that_is_lost_is_none_gained() {
    let falling: Vec<f64> = (0..100).map(|k| 240.0 - 0.5 * f64::from(k)).collect();
    close(row_of(&with("cas_kt", falling)).speed_for_drag_kt, 0.0);
    assert_eq!(
        row_of(&with("cas_kt", steady(100, f64::NAN))).speed_for_drag_kt,
        None
    );
}

#[test]
fn steep_counts_above_the_planned_speed_and_clean() {
    let mut flown = with("speedbrake", steady(100, 0.0));
    flown.push(("sink_rate_fpm", in_samples(100, 10..40, 1_200.0, 1_000.0)));
    flown.push(("over_target_kt", in_samples(100, 20..90, 12.0, 0.0)));
    // Steep and fast from the 21st to the 40th sample; 1,000 ft/min is not more than 1,000 ft/min.
    close(row_of(&flown).steep_fast_clean_s, 20.0);
    flown.retain(|c| c.0 != "flap_lever");
    flown.push(("flap_lever", in_samples(100, 30..100, 1.0, 0.0)));
    close(row_of(&flown).steep_fast_clean_s, 10.0);
    flown.retain(|c| c.0 != "over_target_kt");
    assert_eq!(row_of(&flown).steep_fast_clean_s, None);
}
