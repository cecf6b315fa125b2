//! P(unstable at the governing gate | energy class at a checkpoint), by group.

use records::energy::EnergyClass;
use stats::{Counted, wilson};

use super::super::SummaryOptions;
use super::super::count::{Cells, Tally};
use super::super::group::{Group, UNKNOWN};
use super::super::suppress::Mask;
use super::verdict::Ended;
use super::{CHECKPOINTS, OutcomeRow};

pub(super) fn outcomes(ended: &[Ended<'_>], options: &SummaryOptions) -> Vec<OutcomeRow> {
    let mut rows = Vec::new();
    for checkpoint in CHECKPOINTS {
        // The classes of a group take the place of its months: they add up to it in the same way.
        let mut cells = Cells::default();
        for one in ended {
            let Some(class) = one.class.get(checkpoint) else {
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
            rows.push(row(group, checkpoint, class, tally, hidden, options));
        }
    }
    rows
}

fn add(tally: &mut Tally, one: &Ended<'_>) {
    tally.approaches += 1;
    tally.add_evaluable(one.row);
    tally.at_least[0] += i64::from(one.unstable);
}

fn row(
    group: &Group,
    checkpoint: &str,
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
