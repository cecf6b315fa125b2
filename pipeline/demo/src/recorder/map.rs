//! The fleet's `fleet.toml`: one parameter map for each recorder.

const FLEET_TOML: &str = include_str!("../text/fleet.toml");

/// The text of `fleet.toml`. An exact recorder has no lags, so its maps must not take any off.
pub(crate) fn fleet_toml(exact: bool) -> String {
    if !exact {
        return FLEET_TOML.to_owned();
    }
    let lines = FLEET_TOML.lines().filter_map(|line| {
        // A comment that explains lags has nothing to explain here.
        if line.starts_with('#') && line.contains("delay_s") {
            return None;
        }
        Some(match line.split_once(", delay_s = ") {
            Some((before, after)) => {
                let rest = after.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
                format!("{before}{rest}")
            }
            None => line.to_owned(),
        })
    });
    lines.map(|line| line + "\n").collect()
}
