//! Approaches flown against approaches found: place, outcome, end.

use serde::Serialize;

use super::EXAMPLES;
use super::flown::{Approach, Flown};
use super::found::Found;
use super::spread::Spread;

/// Approaches of one kind of flight, flown and found.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ApproachScore {
    /// Approaches by the truth.
    pub flown: u64,
    /// Those that the review has, matched by time.
    pub found: u64,
    /// Those that it has not.
    pub missed: u64,
    /// Of those missed: on flights of which a record was refused.
    pub missed_as_refused: u64,
    /// Approaches of the review that overlap none that was flown, on flights of the fleet.
    pub not_flown: u64,
    /// Found under another number than the truth's.
    pub numbered_differently: u64,
    /// Found with the airport of the truth.
    pub same_airport: u64,
    /// Found with airport and runway of the truth.
    pub same_runway: u64,
    /// Found with the outcome of the truth.
    pub same_outcome: u64,
    /// How far the end of the approach is off, in seconds; null where none was found.
    pub end_error_s: Option<Spread>,
    /// Some differences of each kind, in order of the truth; without those of refused records.
    pub examples: Vec<ApproachDifference>,
}

/// One approach that is not as it was flown.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ApproachDifference {
    /// Flight.
    pub flight_id: String,
    /// Its approach, by the truth; by the review where it was not flown.
    pub approach_no: i32,
    /// `missed`, `not flown`, or what differs: `airport`, `runway`, `outcome`.
    pub what: &'static str,
    /// What the truth says.
    pub flown: Option<String>,
    /// What the review says.
    pub found: Option<String>,
}

/// Scores the approaches of those flights for which `counted` holds.
pub(super) fn score(
    flown: &Flown,
    found: &Found,
    counted: &dyn Fn(u32) -> bool,
    is_refused: &dyn Fn(u32) -> bool,
) -> ApproachScore {
    let mut score = ApproachScore::default();
    let mut ends = Vec::new();
    for (place, known) in flown.approaches.iter().enumerate() {
        if !counted(known.flight) {
            continue;
        }
        score.flown += 1;
        let Some(seen) = found.of_flown[place] else {
            score.missed += 1;
            if is_refused(known.flight) {
                score.missed_as_refused += 1;
            } else {
                score.example(flown, known, "missed", Some(known.outcome), None);
            }
            continue;
        };
        let seen = found.approaches[seen as usize].approach;
        score.found += 1;
        score.numbered_differently += u64::from(seen.number != known.number);
        ends.push((seen.end_s - known.end_s).abs() as f32);
        score.compare(flown, known, &seen);
    }
    for seen in &found.approaches {
        let flight = seen.approach.flight;
        if seen.flown.is_none() && !found.is_unknown(flight) && counted(flight) {
            score.not_flown += 1;
            let approach = &seen.approach;
            score.example(flown, approach, "not flown", None, Some(approach.outcome));
        }
    }
    score.end_error_s = Spread::of(ends);
    score
}

impl ApproachScore {
    fn compare(&mut self, flown: &Flown, known: &Approach, seen: &Approach) {
        let same_airport = known.airport == seen.airport;
        let same_runway = same_airport && known.runway == seen.runway;
        let same_outcome = known.outcome == seen.outcome;
        self.same_airport += u64::from(same_airport);
        self.same_runway += u64::from(same_runway);
        self.same_outcome += u64::from(same_outcome);
        let differences = [
            (same_airport, "airport", known.airport, seen.airport),
            (
                same_runway || !same_airport,
                "runway",
                known.runway,
                seen.runway,
            ),
            (same_outcome, "outcome", known.outcome, seen.outcome),
        ];
        for (same, what, known_word, seen_word) in differences {
            if !same {
                self.example(flown, known, what, Some(known_word), Some(seen_word));
            }
        }
    }

    fn example(
        &mut self,
        flown: &Flown,
        approach: &Approach,
        what: &'static str,
        known: Option<u32>,
        seen: Option<u32>,
    ) {
        let given = self.examples.iter().filter(|one| one.what == what);
        if given.count() < EXAMPLES {
            let word = |number: u32| flown.words.word(number).to_owned();
            self.examples.push(ApproachDifference {
                flight_id: flown.flights.word(approach.flight).to_owned(),
                approach_no: approach.number,
                what,
                flown: known.map(word),
                found: seen.map(word),
            });
        }
    }
}
