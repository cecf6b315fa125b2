//! The approach as a whole: how it came in, what was done with energy, how it ended.

use super::{joined, over_by};
use crate::retrace::measures::Measures;
use crate::words::decimals;

pub(super) fn sentences(of: &Measures) -> Vec<String> {
    let mut lines = Vec::new();
    lines.extend(arrival(of));
    lines.extend(held_speed(of));
    lines.extend(of.path_captured.as_deref().map(|how| {
        let how = match how {
            "above" => "from above",
            "level" => "from below, level",
            _ => "from below, descending",
        };
        format!("The glide path was met {how}.")
    }));
    lines.extend(drag(of));
    habits(of, &mut lines);
    lines.extend(threshold(of));
    lines.extend(touchdown(of));
    lines.extend(go_around(of));
    lines
}

fn arrival(of: &Measures) -> Option<String> {
    let from = of.from_direction.as_deref()?.replace('_', "-");
    let track = of.track_nm.map_or_else(
        || "an unknown distance".to_owned(),
        |nm| format!("{} NM", decimals(nm, 1)),
    );
    Some(format!(
        "It came within 20 NM from the {from}, with {track} left to fly along its track."
    ))
}

fn held_speed(of: &Measures) -> Option<String> {
    let (nm, kt) = (of.held_speed_nm?, of.held_speed_kt?);
    Some(format!(
        "The longest stretch at one airspeed between 20 and 5 NM was {} NM, at {} kt.",
        decimals(nm, 1),
        decimals(kt, 0)
    ))
}

fn drag(of: &Measures) -> Option<String> {
    let called = decimals(of.drag_called_nm?, 1);
    Some(match of.drag_late_nm {
        None => format!("Energy called for drag at {called} NM; when it came is not known."),
        Some(0.0) => format!("Energy called for drag at {called} NM, where drag was in use."),
        Some(late) => format!(
            "Energy called for drag at {called} NM; drag or the end of the approach came {} NM later.",
            decimals(late, 1)
        ),
    })
}

/// What there was, then in one sentence each what there was not and what is not known.
fn habits(of: &Measures, lines: &mut Vec<String>) {
    let most = of.high_stowed_max_ft.unwrap_or(f64::NAN);
    let named: [(Option<f64>, usize, &str, &str, String); 5] = [
        (
            of.high_stowed_s,
            0,
            " s",
            "time high with the speedbrake stowed",
            format!(
                "more than 300 ft above the planned height with the speedbrake stowed, by {} ft at most",
                decimals(most, 0)
            ),
        ),
        (
            of.speed_for_drag_kt,
            1,
            " kt",
            "airspeed gained instead of drag",
            "of airspeed gained while high, with speedbrake stowed and gear up".to_owned(),
        ),
        (
            of.steep_fast_clean_s,
            0,
            " s",
            "time steep above the planned speed",
            "of more than 1,000 ft/min above the planned speed, clean".to_owned(),
        ),
        (
            of.speedbrake_against_thrust_s,
            0,
            " s",
            "speedbrake against thrust",
            "with the speedbrake out against thrust".to_owned(),
        ),
        (
            of.level_before_flap_nm,
            1,
            " NM",
            "level segment before the first flap",
            "flown level before the first flap".to_owned(),
        ),
    ];
    let (mut none, mut unknown) = (Vec::new(), Vec::new());
    for (value, places, unit, name, words) in named {
        match value {
            None => unknown.push(name.to_owned()),
            Some(0.0) => none.push(name.to_owned()),
            Some(value) => lines.push(format!("{}{unit} {words}.", decimals(value, places))),
        }
    }
    lines.extend(joined(&none).map(|all| format!("There was none of: {all}.")));
    lines.extend(joined(&unknown).map(|all| format!("Not known, or not flown: {all}.")));
}

fn threshold(of: &Measures) -> Option<String> {
    let height = decimals(of.threshold_height_ft?, 0);
    let speed = of.threshold_cas_kt.map_or_else(
        || "at an unknown airspeed".to_owned(),
        |kt| format!("at {} kt", decimals(kt, 0)),
    );
    Some(format!(
        "The wheels crossed the threshold at {height} ft, {speed}."
    ))
}

fn touchdown(of: &Measures) -> Option<String> {
    let distance = of.touchdown_distance_ft?;
    let side = if distance < 0.0 { "before" } else { "beyond" };
    let open = of.touchdown_uncertainty_ft.map_or_else(String::new, |ft| {
        format!(", give or take {} ft", decimals(ft, 0))
    });
    let parts: Vec<String> = [
        of.touchdown_g.map(|g| format!("{} g", decimals(g, 2))),
        of.touchdown_sink_fpm
            .map(|fpm| format!("{} ft/min", decimals(fpm, 0))),
        of.bounces.map(|bounces| match bounces {
            0 => "no bounce".to_owned(),
            1 => "one bounce".to_owned(),
            more => format!("{more} bounces"),
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    let with = joined(&parts).map_or_else(String::new, |parts| format!(": {parts}"));
    Some(format!(
        "Touchdown was {} ft {side} the threshold{open}{with}.",
        decimals(distance.abs(), 0)
    ))
}

fn go_around(of: &Measures) -> Option<String> {
    let height = decimals(of.go_around_height_ft?, 0);
    let energy = of.go_around_energy_excess_ft.map_or_else(
        || "energy there is not known".to_owned(),
        |ft| format!("energy there was {} the plan", over_by(ft, "ft")),
    );
    Some(format!("The go-around began at {height} ft; {energy}."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_and_unknown_are_told_apart() {
        let measures = Measures {
            from_direction: Some("north_east".into()),
            track_nm: Some(24.34),
            drag_called_nm: Some(20.0),
            drag_late_nm: Some(8.4),
            high_stowed_s: Some(157.0),
            high_stowed_max_ft: Some(740.4),
            speed_for_drag_kt: Some(0.0),
            go_around_height_ft: Some(817.0),
            go_around_energy_excess_ft: Some(-108.0),
            ..Measures::default()
        };
        assert_eq!(
            sentences(&measures),
            [
                "It came within 20 NM from the north-east, with 24.3 NM left to fly along its track.",
                "Energy called for drag at 20.0 NM; drag or the end of the approach came 8.4 NM later.",
                "157 s more than 300 ft above the planned height with the speedbrake stowed, by 740 ft at most.",
                "There was none of: airspeed gained instead of drag.",
                "Not known, or not flown: time steep above the planned speed, speedbrake against thrust and level \
                 segment before the first flap.",
                "The go-around began at 817 ft; energy there was 108 ft below the plan.",
            ]
        );
    }

    #[test]
    fn an_end_on_the_runway_is_told_with_what_is_known_of_it() {
        let measures = Measures {
            threshold_height_ft: Some(43.2),
            touchdown_distance_ft: Some(1310.0),
            touchdown_uncertainty_ft: Some(60.0),
            touchdown_g: Some(1.324),
            bounces: Some(1),
            ..Measures::default()
        };
        let lines = sentences(&measures);
        let end = "Touchdown was 1,310 ft beyond the threshold, give or take 60 ft: 1.32 g and one bounce.";
        let over = "The wheels crossed the threshold at 43 ft, at an unknown airspeed.";
        assert_eq!(lines[lines.len() - 2..], [over, end]);
    }
}
