//! Why a rule had no say: because nothing happened that it is about, or because nobody can know.
//!
//! Both are "not evaluable" and in no rate. Only the second says that data are missing.

use records::rows::ApproachRow;

/// Beginnings of the reasons which say that the situation did not occur.
const NOT_OCCURRED: [&str; 6] = [
    "window not reached",
    "gate not reached",
    "no criterion applies",
    "no such change of ",
    "no event of ",
    // The rule's own `case` leaves the approach out: all it reads is known.
    "not settled by: ",
];
/// Beginning of the reason which names columns that hold nothing on the approach.
const NO_DATA: &str = "no data: ";
/// Beginning of the reason which names other rules.
const OTHERS: &str = "not evaluable: ";

/// Whether a reason for "not evaluable" means that the rule does not apply to this approach. `reason_of`
/// gives the reason of another rule on the same approach.
#[must_use]
pub fn is_out_of_scope<'a>(
    row: &ApproachRow,
    reason: &'a str,
    reason_of: &dyn Fn(&str) -> Option<&'a str>,
) -> bool {
    within(row, reason, reason_of, 4)
}

/// Whether a measure of an approach is null because what it measures did not occur.
fn did_not_occur(row: &ApproachRow, column: &str) -> bool {
    match column {
        // Judged in the same window as the time above plan, which is known: so it was looked, and never called.
        "drag_called_nm" | "drag_late_nm" => {
            row.drag_called_nm.is_none() && row.high_stowed_s.is_some()
        }
        "go_around_height_ft" | "go_around_energy_excess_ft" => {
            !row.outcome.starts_with("go_around")
        }
        "touchdown_distance_ft" | "touchdown_g" | "touchdown_sink_fpm" | "bounces" => {
            row.outcome == "go_around"
        }
        _ => false,
    }
}

/// Rules that read rules that read rules: deeper than `depth` nobody looks, and data count as missing.
fn within<'a>(
    row: &ApproachRow,
    reason: &'a str,
    reason_of: &dyn Fn(&str) -> Option<&'a str>,
    depth: usize,
) -> bool {
    if let Some(columns) = reason.strip_prefix(NO_DATA) {
        return columns.split(", ").all(|column| did_not_occur(row, column));
    }
    match reason.strip_prefix(OTHERS) {
        Some(rules) => {
            let applies_not = |rule: &str| {
                reason_of(rule).is_some_and(|reason| within(row, reason, reason_of, depth - 1))
            };
            depth > 0 && rules.split(", ").all(applies_not)
        }
        None => NOT_OCCURRED.iter().any(|start| reason.starts_with(start)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_did_not_occur_is_out_of_scope_and_what_is_not_known_is_not() {
        let nobody = |_: &str| None;
        // Every reason of the guide for rule authors is one or the other.
        let guide = include_str!("../../../../docs/rules.md");
        let table = guide
            .split("| reason | meaning |")
            .nth(1)
            .unwrap_or_default();
        let listed: Vec<&str> = table
            .lines()
            .skip(2)
            .take_while(|line| line.starts_with("| `"))
            .flat_map(|line| line.split('|').nth(1).unwrap_or_default().split("`, `"))
            .map(|reason| reason.trim_matches([' ', '`']))
            .collect();
        let out: Vec<&str> = listed
            .iter()
            .filter(|reason| is_out_of_scope(&ApproachRow::default(), reason, &nobody))
            .copied()
            .collect();
        assert_eq!(
            out,
            [
                "window not reached",
                "gate not reached",
                "no criterion applies",
                "no such change of …",
                "no event of …",
                "not settled by: …"
            ]
        );
        assert_eq!(listed.len(), 17, "{listed:?}");
    }

    #[test]
    fn a_rule_that_reads_others_is_out_of_scope_where_they_all_are() {
        let others = |rule: &str| match rule {
            "high" => Some("gate not reached"),
            "low" => Some("no data: cas_kt"),
            "both" => Some("not evaluable: high"),
            "round" => Some("not evaluable: round"),
            _ => None,
        };
        let out = |reason| is_out_of_scope(&ApproachRow::default(), reason, &others);
        assert!(out("not evaluable: high"));
        assert!(out("not evaluable: both"));
        assert!(!out("not evaluable: high, low"));
        assert!(!out("not evaluable: elsewhere"));
        assert!(!out("not evaluable: round"));
    }

    #[test]
    fn a_measure_of_what_did_not_occur_is_out_of_scope() {
        let nobody = |_: &str| None;
        let mut row = ApproachRow {
            outcome: "landing".to_owned(),
            ..ApproachRow::default()
        };
        let out = |row: &ApproachRow, reason| is_out_of_scope(row, reason, &nobody);
        assert!(out(&row, "no data: go_around_height_ft"));
        assert!(!out(&row, "no data: touchdown_g"));
        assert!(!out(&row, "no data: drag_late_nm"), "nobody could look");
        row.high_stowed_s = Some(0.0);
        assert!(
            out(&row, "no data: drag_late_nm"),
            "looked, and never called"
        );
        assert!(!out(&row, "no data: cas_kt, drag_late_nm"));
        row.drag_called_nm = Some(12.0);
        assert!(
            !out(&row, "no data: drag_late_nm"),
            "called, and not known how late"
        );
        row.outcome = "go_around".to_owned();
        assert!(out(&row, "no data: touchdown_g"));
        assert!(!out(&row, "no data: go_around_height_ft"));
    }
}
