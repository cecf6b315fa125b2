//! What is new, gone or changed since the review that was given, and why.

use crate::input::{
    Against, AgainstCause, AgainstKind, AgainstLine, AgainstMark, AgainstSide, Level, SettingChange,
};
use crate::words;
use serde::Serialize;

/// The section.
#[derive(Debug, Serialize)]
pub(crate) struct AgainstView<'a> {
    before: String,
    unchanged: String,
    rows: Vec<AgainstRow<'a>>,
    settings: &'a [SettingChange],
}

#[derive(Debug, Serialize)]
struct AgainstRow<'a> {
    mark: &'static str,
    kind: &'static str,
    title: String,
    group: &'a str,
    before: String,
    now: String,
    causes: String,
}

/// Builds the section: what is new first, then what changed, then what is gone.
pub(crate) fn build(input: &Against) -> AgainstView<'_> {
    let marks = [AgainstMark::New, AgainstMark::Changed, AgainstMark::Gone];
    let rows = marks
        .into_iter()
        .flat_map(|mark| input.lines.iter().filter(move |line| line.mark == mark));
    AgainstView {
        before: match &input.month {
            Some(month) => format!("the review of {month} (run {})", input.run),
            None => format!("the review of run {}", input.run),
        },
        unchanged: match input.unchanged {
            0 => "No flag is as it was.".to_owned(),
            1 => "One flag is as it was.".to_owned(),
            some => format!("{} flags are as they were.", words::count(some)),
        },
        rows: rows.map(row).collect(),
        settings: &input.settings,
    }
}

fn row(line: &AgainstLine) -> AgainstRow<'_> {
    let level = match line.level {
        None | Some(Level::Low) => "",
        Some(Level::Medium) => ", medium or high",
        Some(Level::High) => ", high",
    };
    AgainstRow {
        mark: match line.mark {
            AgainstMark::New => "new",
            AgainstMark::Changed => "changed",
            AgainstMark::Gone => "gone",
        },
        kind: match line.kind {
            AgainstKind::Month => "latest month",
            AgainstKind::Slope => "trend",
            AgainstKind::Place => "place",
            AgainstKind::Topic => "topic",
            AgainstKind::Intervention => "before and after a change",
        },
        title: format!("{}{level}", line.title),
        group: &line.group,
        before: side(&line.before),
        now: side(&line.now),
        causes: causes(&line.causes),
    }
}

/// "higher (61.9)", or why there is no flag.
fn side(side: &AgainstSide) -> String {
    let said = match (&side.flag, &side.why_not) {
        (Some(flag), _) => flag.clone(),
        (None, Some(why)) => format!("no flag: {why}"),
        (None, None) => "no flag".to_owned(),
    };
    let figure = match (side.slope_pct_per_month, side.rate_per_1000) {
        (Some(slope), _) => Some(format!("{} % a month", words::decimals(slope, 1))),
        (None, rate) => rate.map(words::rate),
    };
    figure.map_or_else(|| said.clone(), |figure| format!("{said} ({figure})"))
}

fn causes(causes: &[AgainstCause]) -> String {
    if causes.is_empty() {
        return words::NOT_KNOWN.to_owned();
    }
    let word = |cause: &AgainstCause| match cause {
        AgainstCause::Data => "data",
        AgainstCause::Rules => "rules",
        AgainstCause::Flying => "flying",
        AgainstCause::Program => "program",
    };
    causes.iter().map(word).collect::<Vec<_>>().join(", ")
}
