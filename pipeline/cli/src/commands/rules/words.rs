//! A rule in words: what it asks, on which approaches, and what it reads.

use rules::rule_file::{Asks, CheckedRule, Direction, Segment, Shape, Status};

/// `core` or `trial`.
pub(super) fn status(rule: &CheckedRule) -> &'static str {
    match rule.status {
        Status::Core => "core",
        Status::Trial => "trial",
    }
}

/// What makes an event, in a few lines of name and text.
pub(super) fn asks(rule: &CheckedRule) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    let mut line = |name: &str, text: String| lines.push((name.to_owned(), text));
    match &rule.shape {
        Shape::Episode {
            within,
            when,
            release,
            hold_s,
            bridge_s,
        } => {
            line("window", within.sql.clone());
            line("condition", when.sql.clone());
            if let Some(release) = release {
                line("ends only where", release.sql.clone());
            }
            line("held for at least", format!("{hold_s} s"));
            line("breaks bridged up to", format!("{bridge_s} s"));
        }
        Shape::Gate {
            column,
            level,
            to,
            asks,
            criteria,
        } => {
            line(
                "gate",
                format!("last downward crossing of {column} = {level}"),
            );
            if let Some(to) = to {
                let event = match asks {
                    Asks::At => "followed from there to",
                    Asks::Held => "an event is what was not held from there to",
                };
                line(event, format!("{to}"));
            }
            for criterion in criteria {
                let mut text = criterion.value.sql.clone();
                let bounds = [
                    (&criterion.lower, "at least"),
                    (&criterion.upper, "at most"),
                ];
                for (bound, words) in bounds {
                    if let Some(bound) = bound {
                        text = format!("{text}, {words} {}", bound.sql);
                    }
                }
                if criterion.grace_s > 0.0 {
                    text = format!(
                        "{text}, forgiven below the gate for {} s",
                        criterion.grace_s
                    );
                }
                if let Some(applies) = &criterion.applies {
                    text = format!("{text}; only where {}", applies.sql);
                }
                line(&format!("criterion {}", criterion.name), text);
            }
        }
        Shape::Change {
            of,
            direction,
            before_s,
        } => {
            let which = match direction {
                Direction::Up => "to a higher number",
                Direction::Down => "to a lower number",
                Direction::Any => "to another number",
            };
            line("change", format!("{of} {which}"));
            line("unknown before it for at most", format!("{before_s} s"));
        }
        Shape::Outcome { when, value, level } => {
            line("condition", when.sql.clone());
            if let Some(value) = value {
                line("value", value.sql.clone());
            }
            if rule.levels.is_empty() {
                line("level", level.name().to_owned());
            }
        }
    }
    for measure in &rule.measures {
        line(
            &format!("measure {}", measure.name),
            measure.expression.sql.clone(),
        );
    }
    for level in &rule.levels {
        line(
            &format!("level {}", level.name.name()),
            level.when.sql.clone(),
        );
    }
    lines
}

/// The approaches a rate of the rule divides by.
pub(super) fn denominator(rule: &CheckedRule) -> String {
    let share = format!("{} %", (rule.coverage * 100.0).round());
    let segment = match rule.segment {
        Segment::Approach => "",
        Segment::Roll => " of the landing roll",
        Segment::Missed => " of the missed approach",
    };
    let all = match &rule.shape {
        Shape::Episode { within, .. } => format!(
            "approaches with at least one sample{segment} in the window `{}` and the inputs known on {share} of it",
            within.sql
        ),
        Shape::Gate {
            column,
            level,
            asks,
            ..
        } => {
            let known = match asks {
                Asks::At => "known there",
                Asks::Held => "known there and all the way below",
            };
            format!(
                "approaches that cross {column} = {level}{segment} with every applicable criterion {known}, at least \
                 one of which applies"
            )
        }
        Shape::Change { of, .. } => format!(
            "approaches with such a change of {of}{segment}, the state known on {share} of it and `worst` known at \
             {share} of the changes"
        ),
        Shape::Outcome { .. } => {
            "approaches on which the condition and all rules it reads are known".to_owned()
        }
    };
    match &rule.among {
        Some(among) => format!("{all}, and only those with an event of `{among}`"),
        None => all,
    }
}

/// `speed_kt = 20 (sink_fpm = 1300 for airport ZSTP: Steep approach)`.
pub(super) fn limits(rule: &CheckedRule) -> Vec<(String, String)> {
    let numbers = rule
        .limits
        .iter()
        .map(|(name, number)| (format!("limit {name}"), number.to_string()));
    let overrides = rule.overrides.iter().flat_map(|one| {
        let keys = [
            ("type", &one.aircraft_type),
            ("airport", &one.airport),
            ("runway", &one.runway),
        ];
        let place: Vec<String> = keys
            .into_iter()
            .filter_map(|(word, key)| Some(format!("{word} {}", key.as_ref()?)))
            .collect();
        let place = place.join(", ");
        one.limits.iter().map(move |(name, number)| {
            (
                format!("limit {name}, {place}"),
                format!("{number}: {}", one.why),
            )
        })
    });
    numbers.chain(overrides).collect()
}
