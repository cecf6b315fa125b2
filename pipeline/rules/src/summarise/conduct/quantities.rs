//! Where quantities of the approach lie, by checkpoint, lever and rule.

use std::collections::BTreeMap;

use records::rows::ApproachRow;
use stats::quantile;

use super::super::SummaryOptions;
use super::super::energy::{CHECKPOINTS, EnergyInput};
use super::super::frame::Frame;
use super::super::group::Group;
use super::super::verdicts::is_evaluable;
use super::SpreadRow;
use super::parts::{Part, Periods, split};

const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// An outer quantile with fewer approaches beyond it is the value of a single approach, more or less.
const BEYOND: f64 = 3.0;

/// Which quantity; ordered as the table is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Quantity {
    measure: &'static str,
    rule: Option<String>,
    at: Option<String>,
}

/// For which groups a quantity means something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Groups {
    Every,
    /// Lever positions of different types are different things.
    Types,
    /// Rules are compared by place elsewhere, as rates.
    Fleet,
}

/// Values of one quantity, by the number of the approach.
type Values = BTreeMap<usize, f64>;

pub(super) fn rows(
    frame: &Frame<'_>,
    input: &EnergyInput<'_>,
    options: &SummaryOptions,
) -> Vec<SpreadRow> {
    let mut rows = Vec::new();
    let mut add = |quantity: &Quantity, values: &Values, groups: Groups| {
        rows.extend(spread(frame, options, quantity, values, groups));
    };
    let numbers = Numbers::new(frame);
    for (checkpoint, values) in energy(&numbers, input) {
        add(
            &of("energy_excess_ft", CHECKPOINTS[checkpoint]),
            &values,
            Groups::Every,
        );
    }
    for (lever, values) in flap_margins(&numbers, input) {
        add(
            &of("flap_margin_kt", &lever.to_string()),
            &values,
            Groups::Types,
        );
    }
    for (measure, read) in OF_APPROACHES {
        let known = frame.rows.iter().enumerate();
        let values: Values = known
            .filter_map(|(number, row)| Some((number, read(row)?)))
            .collect();
        let quantity = Quantity {
            measure,
            rule: None,
            at: None,
        };
        add(&quantity, &values, Groups::Every);
    }
    let mut by_rule: BTreeMap<&str, Values> = BTreeMap::new();
    for row in input.measurements.iter().filter(|row| is_evaluable(row)) {
        if let (Some(worst), Some(number)) = (row.worst, frame.number(row.approach_key)) {
            by_rule.entry(&row.rule).or_default().insert(number, worst);
        }
    }
    for (rule, values) in by_rule {
        let quantity = Quantity {
            measure: "worst",
            rule: Some(rule.to_owned()),
            at: None,
        };
        add(&quantity, &values, Groups::Fleet);
    }
    rows
}

fn of(measure: &'static str, at: &str) -> Quantity {
    Quantity {
        measure,
        rule: None,
        at: Some(at.to_owned()),
    }
}

type Read = fn(&ApproachRow) -> Option<f64>;

/// What a row of an approach says of itself.
const OF_APPROACHES: [(&str, Read); 5] = [
    ("stabilised_height_ft", |row| row.stabilised_height_ft),
    ("go_around_height_ft", |row| row.go_around_height_ft),
    ("first_flap_nm", |row| row.first_flap_nm),
    ("gear_down_height_aal_ft", |row| row.gear_down_height_aal_ft),
    ("landing_flap_height_aal_ft", |row| {
        row.landing_flap_height_aal_ft
    }),
];

/// Line approaches by flight and number.
struct Numbers<'a>(BTreeMap<(&'a str, i32), usize>);

impl<'a> Numbers<'a> {
    fn new(frame: &Frame<'a>) -> Self {
        let rows = frame.rows.iter().zip(0..);
        Self(
            rows.map(|(row, number)| ((row.flight_id.as_str(), row.approach_no), number))
                .collect(),
        )
    }

    fn of(&self, flight_id: &str, approach_no: i32) -> Option<usize> {
        self.0.get(&(flight_id, approach_no)).copied()
    }
}

/// Energy excess by checkpoint, in the order in which they are flown.
fn energy(numbers: &Numbers<'_>, input: &EnergyInput<'_>) -> BTreeMap<usize, Values> {
    let mut all: BTreeMap<usize, Values> = BTreeMap::new();
    for row in input.checkpoints {
        let checkpoint = CHECKPOINTS.iter().position(|name| *name == row.checkpoint);
        let number = numbers.of(&row.flight_id, row.approach_no);
        if let (Some(place), Some(number), Some(excess)) =
            (checkpoint, number, row.energy_excess_ft)
        {
            all.entry(place).or_default().insert(number, excess);
        }
    }
    all
}

/// The least margin to the limit of the flap about to be selected, by the new position of the lever.
fn flap_margins(numbers: &Numbers<'_>, input: &EnergyInput<'_>) -> BTreeMap<i64, Values> {
    let mut all: BTreeMap<i64, Values> = BTreeMap::new();
    let extended = input
        .lever_moves
        .iter()
        .filter(|row| row.channel == "flap_lever" && row.to > row.from);
    for row in extended {
        let number = numbers.of(&row.flight_id, row.approach_no);
        if let (Some(number), Some(margin)) = (number, row.margin_kt) {
            #[allow(clippy::cast_possible_truncation)] // a lever has a handful of positions
            let lever = row.to.round() as i64;
            let values = all.entry(lever).or_default();
            let least = values.entry(number).or_insert(margin);
            *least = least.min(margin);
        }
    }
    all
}

fn spread(
    frame: &Frame<'_>,
    options: &SummaryOptions,
    quantity: &Quantity,
    values: &Values,
    groups: Groups,
) -> Vec<SpreadRow> {
    let periods = Periods::new(frame);
    let class = |approach: usize| {
        values
            .contains_key(&approach)
            .then(|| periods.of(frame, approach))
    };
    let wanted = |part: &Part| match groups {
        Groups::Every => true,
        Groups::Types => matches!(part.group, Group::Type(_)),
        Groups::Fleet => part.group == Group::Fleet,
    };
    split(frame, options, &class)
        .into_iter()
        .filter(wanted)
        .map(|part| row(quantity, values, &part))
        .collect()
}

fn row(quantity: &Quantity, values: &Values, part: &Part) -> SpreadRow {
    let members = part.members.iter();
    let mut own: Vec<f64> = members
        .filter_map(|number| values.get(number).copied())
        .collect();
    own.sort_by(f64::total_cmp);
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let beyond = own.len() as f64 * SHARES[0];
    let [p5, p25, median, p75, p95] =
        SHARES.map(|share| quantile(&own, share).filter(|_| part.hidden.is_none()));
    SpreadRow {
        measure: quantity.measure.to_owned(),
        rule: quantity.rule.clone(),
        at: quantity.at.clone(),
        group_kind: part.group.kind().to_owned(),
        group: part.group.name(),
        period: part.class.to_owned(),
        approaches: part
            .hidden
            .is_none()
            .then(|| i64::try_from(own.len()).unwrap_or(i64::MAX)),
        p5: p5.filter(|_| beyond >= BEYOND),
        p25,
        median,
        p75,
        p95: p95.filter(|_| beyond >= BEYOND),
        suppressed: part.hidden.map(str::to_owned),
    }
}
