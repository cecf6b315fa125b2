//! Columns whose name says that they identify: people, aircraft, flights, days.
//!
//! Recorders name instruments after the seat they serve (`CAPT_ALT`), so a person's word alone is
//! not enough: every word of the name must belong to the same thought.

/// What becomes of a column that identifies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Identifying {
    /// It is left out, and a note names it.
    Drop,
    /// It is refused: the flight list stops the command, a record is quarantined.
    Refuse,
    /// No column is looked at.
    Allow,
}

/// Whom or what a column points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Identity {
    /// A name or code of somebody.
    Person,
    /// A number of staff or of a licence.
    StaffNumber,
    /// What the flight is called on the radio.
    Callsign,
    /// A registration, tail mark, serial number or address of an aircraft.
    Registration,
    /// The number of a flight.
    FlightNumber,
    /// An exact day.
    Date,
}

impl Identity {
    /// For people, with its article.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Person => "a person",
            Self::StaffNumber => "a staff or licence number",
            Self::Callsign => "a callsign",
            Self::Registration => "an aircraft",
            Self::FlightNumber => "a flight number",
            Self::Date => "a date",
        }
    }
}

const PEOPLE: &[&str] = &[
    "crew",
    "captain",
    "capt",
    "cpt",
    "pilot",
    "copilot",
    "commander",
    "cmdr",
    "instructor",
    "examiner",
    "trainee",
    "officer",
    "pic",
    "sic",
    "person",
];
/// Seats: instruments carry them too, so only with a word of [`ABOUT`].
const SEATS: &[&str] = &["fo", "pf", "pm", "pnf", "cm"];
const NAMES: &[&str] = &[
    "name",
    "names",
    "surname",
    "forename",
    "firstname",
    "lastname",
    "initials",
    "email",
];
const STAFF: &[&str] = &[
    "staff",
    "employee",
    "personnel",
    "payroll",
    "licence",
    "license",
];
const ABOUT: &[&str] = &[
    "id",
    "ids",
    "ident",
    "code",
    "no",
    "nr",
    "num",
    "number",
    "hash",
    "phone",
    "certificate",
];
const BESIDE: &[&str] = &[
    "first",
    "second",
    "last",
    "full",
    "family",
    "given",
    "left",
    "right",
    "duty",
    "relief",
    "flying",
    "monitoring",
    "of",
    "the",
    "operating",
    "training",
];
const AIRCRAFT: &[&str] = &["ac", "acft", "aircraft", "airplane", "aeroplane", "plane"];
const MARKS: &[&str] = &["registration", "reg", "regn", "tail", "msn", "rego"];
const MARKED: &[&str] = &["mark", "marks", "letters", "serial", "manufacturer", "msn"];
const FLIGHT: &[&str] = &["flight", "flt"];
const FLIGHT_BESIDE: &[&str] = &[
    "commercial",
    "operational",
    "designator",
    "leg",
    "iata",
    "icao",
];
const DAY: &[&str] = &["date", "day", "dob", "datetime"];
const DAY_BESIDE: &[&str] = &[
    "month",
    "year",
    "utc",
    "gmt",
    "local",
    "departure",
    "arrival",
    "dep",
    "arr",
    "takeoff",
    "landing",
    "off",
    "on",
    "block",
    "scheduled",
    "actual",
    "std",
    "sta",
    "time",
    "birth",
    "start",
    "end",
    "recording",
    "record",
    "of",
    "the",
];

/// What the name of a column says it identifies.
pub fn by_name(column: &str) -> Option<Identity> {
    let squashed: String = column
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect();
    if squashed.contains("callsign") {
        return Some(Identity::Callsign);
    }
    if squashed.contains("icao24") {
        return Some(Identity::Registration);
    }
    let words = words(column);
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let all = |lists: &[&[&str]]| {
        let known = |w: &String| lists.iter().any(|list| list.contains(&w.as_str()));
        !words.is_empty() && words.iter().all(known)
    };
    let person = all(&[PEOPLE, SEATS, NAMES, STAFF, ABOUT, BESIDE]);
    if person && any(STAFF) {
        Some(Identity::StaffNumber)
    } else if person && (any(PEOPLE) || any(NAMES) || (any(SEATS) && any(ABOUT))) {
        Some(Identity::Person)
    } else if all(&[AIRCRAFT, MARKS, MARKED, ABOUT]) && aircraft(&any) {
        Some(Identity::Registration)
    } else if all(&[FLIGHT, FLIGHT_BESIDE, ABOUT])
        && any(FLIGHT)
        && (any(ABOUT) || any(&["designator"]))
    {
        Some(Identity::FlightNumber)
    } else if all(&[DAY, DAY_BESIDE, FLIGHT]) && any(DAY) {
        Some(Identity::Date)
    } else {
        None
    }
}

fn aircraft(any: &dyn Fn(&[&str]) -> bool) -> bool {
    any(MARKS) || (any(AIRCRAFT) && (any(ABOUT) || any(MARKED))) || (any(&["serial"]) && any(ABOUT))
}

/// Lower-case words: cut where no letter stands and before a capital after a small letter; what
/// is then two known words in one (`tailno`) is cut again.
fn words(column: &str) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut small_before = false;
    for c in column.chars() {
        if !c.is_alphabetic() || (c.is_uppercase() && small_before) {
            pieces.push(String::new());
        }
        if c.is_alphabetic()
            && let Some(piece) = pieces.last_mut()
        {
            piece.extend(c.to_lowercase());
        }
        small_before = c.is_lowercase();
    }
    let cut = pieces.into_iter().filter(|piece| !piece.is_empty());
    cut.flat_map(|piece| two_words(&piece).unwrap_or_else(|| vec![piece]))
        .collect()
}

fn two_words(piece: &str) -> Option<Vec<String>> {
    if known(piece) {
        return None;
    }
    let mut cuts = piece.char_indices().map(|(at, _)| piece.split_at(at));
    cuts.find(|(a, b)| known(a) && known(b))
        .map(|(a, b)| vec![a.to_owned(), b.to_owned()])
}

fn known(word: &str) -> bool {
    let lists = [
        PEOPLE,
        SEATS,
        NAMES,
        STAFF,
        ABOUT,
        BESIDE,
        AIRCRAFT,
        MARKS,
        MARKED,
        FLIGHT,
        FLIGHT_BESIDE,
        DAY,
        DAY_BESIDE,
    ];
    lists.iter().any(|list| list.contains(&word))
}

#[cfg(test)]
mod tests;
