//! Where quantities of the approach lie, by checkpoint, lever and rule.

use std::collections::BTreeMap;

use rayon::prelude::*;
use records::rows::ApproachRow;
use stats::quantile;

use super::super::SummaryOptions;
use super::super::energy::{CHECKPOINTS, EnergyInput};
use super::super::facts::Channel;
use super::super::frame::Frame;
use super::super::group::Group;
use super::SpreadRow;
use super::parts::{Part, Periods, split};

const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// An outer quantile with fewer approaches beyond it is the value of a single approach, more or less.
const BEYOND: f64 = 3.0;

/// Which quantity.
#[derive(Debug, Clone, PartialEq, Eq)]
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

/// Values of one quantity, by the number of the line approach.
type Values = Vec<Option<f64>>;

/// A quantity, and for which groups to give it.
struct Asked {
    quantity: Quantity,
    values: Values,
    groups: Groups,
}

pub(super) fn rows(
    frame: &Frame<'_>,
    input: &EnergyInput<'_>,
    options: &SummaryOptions,
) -> Vec<SpreadRow> {
    let asked = asked(frame, input);
    let rows: Vec<Vec<SpreadRow>> = asked
        .par_iter()
        .map(|one| spread(frame, options, one))
        .collect();
    rows.into_iter().flatten().collect()
}

/// Every quantity of which something is known, in the order of the table.
fn asked(frame: &Frame<'_>, input: &EnergyInput<'_>) -> Vec<Asked> {
    let mut all = Vec::new();
    let mut add = |quantity, values: Values, groups| {
        if values.iter().any(Option::is_some) {
            all.push(Asked {
                quantity,
                values,
                groups,
            });
        }
    };
    let of_line = |value: &dyn Fn(usize) -> Option<f64>| -> Values {
        frame.places.iter().map(|place| value(*place)).collect()
    };
    for (checkpoint, name) in CHECKPOINTS.iter().enumerate() {
        let values = of_line(&|place| input.checkpoints.excess_ft(checkpoint, place));
        add(of("energy_excess_ft", name), values, Groups::Every);
    }
    for (lever, least) in flap_margins(input) {
        let values = of_line(&|place| least.get(&place).copied());
        add(
            of("flap_margin_kt", &lever.to_string()),
            values,
            Groups::Types,
        );
    }
    for (measure, read) in OF_APPROACHES {
        let quantity = Quantity {
            measure,
            rule: None,
            at: None,
        };
        let values = frame.rows.iter().map(|row| read(row)).collect();
        add(quantity, values, Groups::Every);
    }
    for (name, rule) in input.measured.rules() {
        let quantity = Quantity {
            measure: "worst",
            rule: Some(name.to_owned()),
            at: None,
        };
        let is_known = |place: &usize| rule.cells[*place].said.is_evaluable();
        let values = of_line(&|place| rule.worst(place).filter(|_| is_known(&place)));
        add(quantity, values, Groups::Fleet);
    }
    all
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

/// The least margin to the limit of the flap about to be selected, by the new position of the lever.
fn flap_margins(input: &EnergyInput<'_>) -> BTreeMap<i64, BTreeMap<usize, f64>> {
    let mut all: BTreeMap<i64, BTreeMap<usize, f64>> = BTreeMap::new();
    let moves = input.lever_moves.iter();
    for row in moves.filter(|row| row.channel == Channel::Flap) {
        if let Some(margin) = row.margin_kt {
            #[allow(clippy::cast_possible_truncation)] // a lever has a handful of positions
            let lever = row.to.round() as i64;
            let values = all.entry(lever).or_default();
            let least = values.entry(row.approach).or_insert(margin);
            *least = least.min(margin);
        }
    }
    all
}

fn spread(frame: &Frame<'_>, options: &SummaryOptions, asked: &Asked) -> Vec<SpreadRow> {
    let Asked {
        quantity,
        values,
        groups,
    } = asked;
    let periods = Periods::new(frame);
    let class = |approach: usize| values[approach].map(|_| periods.of(frame, approach));
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
    let mut own: Vec<f64> = members.filter_map(|number| values[*number]).collect();
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
