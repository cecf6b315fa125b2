//! What one review tells of each rule, family, topic and change in each group: its flag, or why there is none.
//!
//! A withheld row tells nothing but that it is withheld, whatever is left in it.

use std::collections::BTreeMap;

use super::{FIRST_TOPICS, Tables};
use crate::summarise::{BeforeAfterRow, HotspotRow, SlopeRow, TopicRow, TrendRow};

/// What can be flagged, in the order of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Month,
    Slope,
    Place,
    Topic,
    Intervention,
}

impl Kind {
    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Month => "month",
            Self::Slope => "slope",
            Self::Place => "place",
            Self::Topic => "topic",
            Self::Intervention => "intervention",
        }
    }
}

/// What it is about; rules before families.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Subject {
    Rule(String),
    Family(String),
    Topic(String),
}

impl Subject {
    fn new(rule: Option<&String>, family: &str) -> Self {
        match rule {
            Some(rule) => Self::Rule(rule.clone()),
            None => Self::Family(family.to_owned()),
        }
    }
}

/// Least level of the events counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Level {
    Low,
    Medium,
    High,
}

impl Level {
    fn named(name: &str) -> Self {
        match name {
            "high" => Self::High,
            "medium" => Self::Medium,
            _ => Self::Low,
        }
    }

    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
        }
    }
}

/// Whose approaches, the largest groups first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Group {
    Fleet,
    Type(String),
    Airport(String),
    Runway(String),
    /// A change for a type at an airport: no group of the other tables.
    AirportAndType(String, String),
}

impl Group {
    fn named(kind: &str, name: &str) -> Self {
        match kind {
            "aircraft_type" => Self::Type(name.to_owned()),
            "airport" => Self::Airport(name.to_owned()),
            "runway" => Self::Runway(name.to_owned()),
            _ => Self::Fleet,
        }
    }

    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Fleet => "fleet",
            Self::Type(_) => "aircraft_type",
            Self::Airport(_) => "airport",
            Self::Runway(_) => "runway",
            Self::AirportAndType(..) => "airport and aircraft_type",
        }
    }

    pub(super) fn name(&self) -> String {
        match self {
            Self::Fleet => "fleet".to_owned(),
            Self::Type(name) | Self::Airport(name) | Self::Runway(name) => name.clone(),
            Self::AirportAndType(airport, kind) => format!("{airport}, {kind}"),
        }
    }

    /// The groups of `trend_monthly` that its approaches are in, by kind and name.
    pub(super) fn counted_as(&self) -> Vec<(&'static str, String)> {
        match self {
            Self::AirportAndType(airport, kind) => vec![
                ("airport", airport.clone()),
                ("aircraft_type", kind.clone()),
            ],
            _ => vec![(self.kind(), self.name())],
        }
    }
}

/// One thing that can be flagged; rows come in this order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key {
    pub(super) kind: Kind,
    /// Month and text of a change made on purpose.
    pub(super) change: Option<(String, String)>,
    pub(super) subject: Subject,
    pub(super) group: Group,
    pub(super) level: Option<Level>,
}

impl Key {
    /// Of events of any level, and of no change made on purpose.
    fn new(kind: Kind, subject: Subject, group: Group) -> Self {
        Self {
            kind,
            change: None,
            subject,
            group,
            level: None,
        }
    }

    fn at_least(self, level: &str) -> Self {
        Self {
            level: Some(Level::named(level)),
            ..self
        }
    }
}

/// What a review tells of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Told {
    pub(super) family: String,
    pub(super) flag: Option<String>,
    pub(super) why_not: Option<String>,
    /// Whether it was shown and could have been flagged.
    pub(super) is_tested: bool,
    pub(super) month: Option<String>,
    pub(super) evaluable: Option<i64>,
    pub(super) with_event: Option<i64>,
    pub(super) rate_per_1000: Option<f64>,
    pub(super) ratio: Option<f64>,
    pub(super) slope_pct_per_month: Option<f64>,
}

impl Told {
    /// As it stands, or that it is withheld and nothing else.
    fn unless(self, suppressed: Option<&String>) -> Self {
        match suppressed {
            None => self,
            Some(why) => Self {
                family: self.family,
                month: self.month,
                why_not: Some(why.clone()),
                ..Self::default()
            },
        }
    }
}

/// Everything that a review tells.
pub(super) fn told(tables: &Tables<'_>) -> BTreeMap<Key, Told> {
    let mut all = BTreeMap::new();
    if let Some(latest) = tables.latest_month() {
        let rows = tables.trend_monthly.iter();
        // A month on one runway is too little to be remembered.
        all.extend(
            rows.filter(|row| row.month == latest && row.group_kind != "runway")
                .map(month),
        );
    }
    all.extend(tables.trend_slope.iter().map(slope));
    all.extend(tables.hotspots.iter().map(place));
    all.extend(tables.training_topics.iter().map(topic));
    all.extend(tables.interventions.iter().map(intervention));
    all
}

fn month(row: &TrendRow) -> (Key, Told) {
    let subject = Subject::new(row.rule.as_ref(), &row.family);
    let group = Group::named(&row.group_kind, &row.group);
    let key = Key::new(Kind::Month, subject, group).at_least(&row.at_least_level);
    let told = Told {
        family: row.family.clone(),
        flag: row.signal.clone(),
        why_not: row.why_no_signal.clone(),
        is_tested: row.p.is_some(),
        month: Some(row.month.clone()),
        evaluable: row.evaluable,
        with_event: row.approaches_with_event,
        rate_per_1000: row.rate_per_1000,
        ratio: row.ratio,
        slope_pct_per_month: None,
    };
    (key, told.unless(row.suppressed.as_ref()))
}

fn slope(row: &SlopeRow) -> (Key, Told) {
    let subject = Subject::new(row.rule.as_ref(), &row.family);
    let group = Group::named(&row.group_kind, &row.group);
    let key = Key::new(Kind::Slope, subject, group).at_least(&row.at_least_level);
    let told = Told {
        family: row.family.clone(),
        flag: row.call.clone(),
        why_not: row.why_no_call.clone(),
        is_tested: row.slope_pct_per_month.is_some(),
        month: row.to_month.clone(),
        slope_pct_per_month: row.slope_pct_per_month,
        ..Told::default()
    };
    (key, told.unless(row.suppressed.as_ref()))
}

fn place(row: &HotspotRow) -> (Key, Told) {
    let group = match &row.runway {
        None => Group::Airport(row.airport.clone()),
        Some(runway) => Group::Runway(format!("{}/{runway}", row.airport)),
    };
    let subject = Subject::new(row.rule.as_ref(), &row.family);
    let key = Key::new(Kind::Place, subject, group);
    let class = row.class.as_deref();
    let is_called = matches!(class, Some("hot spot" | "watch"));
    let told = Told {
        family: row.family.clone(),
        flag: row.class.clone().filter(|_| is_called),
        why_not: row.why.clone(),
        is_tested: class.is_some_and(|class| class != "insufficient data"),
        month: row.to_month.clone(),
        evaluable: row.evaluable,
        with_event: row.approaches_with_event,
        rate_per_1000: row.rate_per_1000,
        ratio: row.standardised_ratio,
        slope_pct_per_month: None,
    };
    (key, told.unless(row.suppressed.as_ref()))
}

fn topic(row: &TopicRow) -> (Key, Told) {
    let group = Group::named(&row.group_kind, &row.group);
    let key = Key::new(Kind::Topic, Subject::Topic(row.topic.clone()), group);
    let first = row.rank.filter(|rank| *rank <= FIRST_TOPICS);
    let why_not = match row.rank {
        None => Some("too few approaches to rank"),
        Some(rank) if rank > FIRST_TOPICS => Some("not among the first five"),
        Some(_) => None,
    };
    let told = Told {
        flag: first.map(|rank| format!("rank {rank}")),
        why_not: why_not.map(str::to_owned),
        is_tested: row.rank.is_some(),
        month: row.to_month.clone(),
        evaluable: row.evaluable,
        with_event: row.approaches_with_event,
        rate_per_1000: row.rate_per_1000,
        ..Told::default()
    };
    (key, told.unless(row.suppressed.as_ref()))
}

fn intervention(row: &BeforeAfterRow) -> (Key, Told) {
    let group = match (row.airport.clone(), row.aircraft_type.clone()) {
        (None, None) => Group::Fleet,
        (Some(airport), None) => Group::Airport(airport),
        (None, Some(kind)) => Group::Type(kind),
        (Some(airport), Some(kind)) => Group::AirportAndType(airport, kind),
    };
    let subject = Subject::new(row.rule.as_ref(), &row.family);
    let key = Key {
        change: Some((row.month.clone(), row.what.clone())),
        ..Key::new(Kind::Intervention, subject, group)
    };
    let told = Told {
        family: row.family.clone(),
        flag: row.signal.clone(),
        why_not: row.why_no_signal.clone(),
        is_tested: row.p.is_some(),
        month: None,
        evaluable: row.evaluable_after,
        with_event: row.approaches_with_event_after,
        rate_per_1000: row.rate_per_1000_after,
        ratio: row.ratio,
        slope_pct_per_month: None,
    };
    (key, told.unless(row.suppressed.as_ref()))
}
