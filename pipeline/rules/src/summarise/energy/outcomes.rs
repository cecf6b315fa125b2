//! P(unstable at the governing gate | energy class at a checkpoint), by group.

use records::energy::EnergyClass;
use stats::{Counted, wilson};

use super::super::count::{Cells, Tally};
use super::super::group::{Group, UNKNOWN};
use super::super::suppress::Mask;
use super::super::{GIVES_AWAY, SummaryOptions};
use super::shortcuts::Ledger;
use super::verdict::Ended;
use super::{CHECKPOINTS, OutcomeRow, Routing};

pub(super) fn outcomes(
    ended: &[Ended<'_>],
    ledger: &Ledger<'_>,
    options: &SummaryOptions,
) -> Vec<OutcomeRow> {
    let everyone: Vec<&Ended<'_>> = ended.iter().collect();
    let mut rows = of_routing("all", &everyone, options);
    // A shortcut makes a well-planned descent high: the fleet's figures stand apart by it.
    let mut strata = Vec::new();
    for routing in [Routing::Shortened, Routing::Usual, Routing::Extended] {
        let own = |one: &&Ended<'_>| ledger.routing(one.row) == Some(routing);
        let members: Vec<&Ended<'_>> = ended.iter().filter(own).collect();
        let stratum = of_routing(routing.as_str(), &members, options);
        strata.extend(stratum.into_iter().filter(|row| row.group_kind == "fleet"));
    }
    hide_what_adds_up(&rows, &mut strata, options);
    rows.extend(strata);
    rows
}

/// The routings of a class, and those whose routing is not known, add up to the class: where one of these
/// parts is small, none is shown.
fn hide_what_adds_up(all: &[OutcomeRow], strata: &mut [OutcomeRow], options: &SummaryOptions) {
    let least = i64::try_from(options.min_flights).unwrap_or(i64::MAX);
    let fleet = all.iter().filter(|row| row.group_kind == "fleet");
    for whole in fleet {
        let same = |row: &&mut OutcomeRow| {
            row.checkpoint == whole.checkpoint && row.energy_class == whole.energy_class
        };
        let parts: Vec<&mut OutcomeRow> = strata.iter_mut().filter(same).collect();
        let shown: Option<i64> = parts.iter().map(|row| row.approaches).sum();
        let left = shown.and_then(|shown| Some(whole.approaches? - shown));
        if left.is_some_and(|left| left == 0 || left >= least) {
            continue;
        }
        for part in parts {
            *part = OutcomeRow {
                approaches: None,
                unstable: None,
                unstable_share: None,
                ci_low: None,
                ci_high: None,
                suppressed: Some(part.suppressed.clone().unwrap_or(GIVES_AWAY.to_owned())),
                ..part.clone()
            };
        }
    }
}

fn of_routing(routing: &str, ended: &[&Ended<'_>], options: &SummaryOptions) -> Vec<OutcomeRow> {
    let mut rows = Vec::new();
    for checkpoint in CHECKPOINTS {
        // The classes of a group take the place of its months: they add up to it in the same way.
        let mut cells = Cells::default();
        for one in ended {
            let Some(class) = one.class(checkpoint) else {
                continue;
            };
            let month = one.row.month.as_deref().unwrap_or(UNKNOWN).to_owned();
            let [fleet, kind, airport, _] = Group::of(one.row);
            for group in [fleet, kind, airport, Group::Month(month)] {
                let cell = (group.clone(), class.to_string());
                add(cells.monthly.entry(cell).or_default(), one);
                add(cells.total.entry(group).or_default(), one);
            }
        }
        let mask = Mask::new(&cells, options);
        for ((group, class), tally) in &cells.monthly {
            let hidden = mask.hides_month(group, class);
            let class = class
                .parse()
                .ok()
                .and_then(|n: usize| EnergyClass::ALL.get(n));
            let place = (group, routing, checkpoint);
            rows.push(row(place, class, tally, hidden, options));
        }
    }
    rows
}

fn add(tally: &mut Tally, one: &Ended<'_>) {
    tally.approaches += 1;
    tally.add_row(one.row);
    tally.at_least[0] += i64::from(one.unstable);
}

fn row(
    (group, routing, checkpoint): (&Group, &str, &str),
    class: Option<&EnergyClass>,
    tally: &Tally,
    hidden: Option<&'static str>,
    options: &SummaryOptions,
) -> OutcomeRow {
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let counted = Counted::new(tally.at_least[0] as f64, tally.evaluable as f64);
    let share = wilson(counted, options.confidence, None).filter(|_| hidden.is_none());
    let shown = |count: i64| hidden.is_none().then_some(count);
    OutcomeRow {
        group_kind: group.kind().to_owned(),
        group: group.name(),
        routing: routing.to_owned(),
        checkpoint: checkpoint.to_owned(),
        energy_class: class.map_or(UNKNOWN, |class| class.as_str()).to_owned(),
        approaches: shown(tally.evaluable),
        unstable: shown(tally.at_least[0]),
        unstable_share: share.map(|share| share.share),
        ci_low: share.map(|share| share.low),
        ci_high: share.map(|share| share.high),
        suppressed: hidden.map(str::to_owned),
    }
}
