//! The groups a rate is given for.

use records::rows::ApproachRow;

/// A group of approaches; ordered as the tables are.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Group {
    Fleet,
    Type(String),
    Airport(String),
    Runway(String, String),
    /// A month as a group of its own, where the cells of a group are not its months.
    Month(String),
}

/// What stands where the airport, runway or type of an approach is not known.
pub(super) const UNKNOWN: &str = "unknown";

impl Group {
    /// The groups an approach belongs to.
    pub(super) fn of(row: &ApproachRow) -> [Self; 4] {
        let or_unknown = |name: &Option<String>| name.as_deref().unwrap_or(UNKNOWN).to_owned();
        let airport = or_unknown(&row.airport);
        [
            Self::Fleet,
            Self::Type(or_unknown(&row.aircraft_type)),
            Self::Airport(airport.clone()),
            Self::Runway(airport, or_unknown(&row.runway)),
        ]
    }

    /// The group whose total the members of this kind add up to.
    pub(super) fn parent(&self) -> Option<Self> {
        match self {
            Self::Fleet => None,
            Self::Type(_) | Self::Airport(_) | Self::Month(_) => Some(Self::Fleet),
            Self::Runway(airport, _) => Some(Self::Airport(airport.clone())),
        }
    }

    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Fleet => "fleet",
            Self::Type(_) => "aircraft_type",
            Self::Airport(_) => "airport",
            Self::Runway(..) => "runway",
            Self::Month(_) => "month",
        }
    }

    pub(super) fn name(&self) -> String {
        match self {
            Self::Fleet => "fleet".to_owned(),
            Self::Type(name) | Self::Airport(name) | Self::Month(name) => name.clone(),
            Self::Runway(airport, runway) => format!("{airport}/{runway}"),
        }
    }
}
