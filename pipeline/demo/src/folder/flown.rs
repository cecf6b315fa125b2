//! `flown.csv` and `interventions.csv`: what an operator tells beside its records.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::dice::Dice;
use crate::folder::rows::FlightRow;
use crate::world::types::TYPES;
use crate::{Options, Profile};

/// Of the flights of which a record came in, so many times one more was flown whose record did not.
const LOST: f64 = 0.02;
/// Month (from the first, 0) in which many records of one type were lost.
const LOSSY_MONTH: usize = 6;
/// Type of which they were lost, by its place among the types.
const LOSSY_TYPE: usize = 2;
/// Records lost for each that came in, of that type in that month.
const LOSSY: f64 = 0.4;

/// Month (from the first, 0) of a change that changed nothing.
const CHANGE_MONTH: usize = 8;
/// Type it was for, by its place among the types.
const CHANGE_TYPE: usize = 1;
/// What it was meant to move.
pub(crate) const CHANGE_RULES: [&str; 3] =
    ["energy_excess_10nm", "energy_excess_20nm", "high_at_15nm"];

/// Type and month of the lost records, and the share of its flights that was lost; `None` in a fleet that
/// ends before.
pub(crate) fn lossy(options: &Options) -> Option<(&'static str, String, f64)> {
    let kind = TYPES[LOSSY_TYPE].aircraft_type.as_str();
    let share = LOSSY / (1.0 + LOSSY);
    (LOSSY_MONTH < options.months).then(|| (kind, options.month(LOSSY_MONTH), share))
}

/// Type and month of the change that changed nothing; `None` in a fleet that ends before, and where rates are
/// no airline's.
pub(crate) fn change(options: &Options) -> Option<(&'static str, String)> {
    let airline = matches!(options.profile, Profile::Airline | Profile::Damaged);
    let kind = TYPES[CHANGE_TYPE].aircraft_type.as_str();
    (airline && CHANGE_MONTH < options.months).then(|| (kind, options.month(CHANGE_MONTH)))
}

/// The text of `interventions.csv`.
pub(crate) fn interventions(options: &Options) -> Option<String> {
    let (kind, month) = change(options)?;
    let rules = CHANGE_RULES.join(" ");
    Some(format!(
        "month,airport,aircraft_type,what,rules\n\
         {month},,{kind},leaflet on descent planning,{rules}\n"
    ))
}

/// Flights flown, by aircraft and month.
pub(crate) struct Flown {
    seed: u64,
    lossy: Option<(&'static str, String, f64)>,
    flights: BTreeMap<(String, String), u64>,
    count: u64,
}

impl Flown {
    /// None yet.
    pub(crate) fn new(options: &Options) -> Self {
        Self {
            seed: options.seed,
            lossy: lossy(options),
            flights: BTreeMap::new(),
            count: 0,
        }
    }

    /// One flight of the list, and by chance one more whose record was lost. Flights come in their order.
    pub(crate) fn add(&mut self, flight: &FlightRow) {
        let is_lossy = self.lossy.as_ref().is_some_and(|(kind, month, _)| {
            *kind == flight.aircraft_type && *month == flight.month
        });
        let lost = if is_lossy { LOSSY } else { LOST };
        let one_more = Dice::new(self.seed, self.count, "flown").chance(lost);
        self.count += 1;
        let key = (flight.tail_id.clone(), flight.month.clone());
        *self.flights.entry(key).or_default() += 1 + u64::from(one_more);
    }

    /// The text of the file.
    pub(crate) fn csv(&self) -> String {
        let mut text = "tail_id,month,flights\n".to_owned();
        for ((tail, month), flights) in &self.flights {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{tail},{month},{flights}");
        }
        text
    }
}
