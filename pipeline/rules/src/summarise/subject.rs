//! What rates are given for: a rule, or a family of rules taken together.

use std::collections::BTreeMap;

use super::SummaryOptions;
use super::count::{Grid, Tally};
use super::dispersion::Scatter;
use super::frame::Frame;
use super::mix::{Mix, strata};
use super::suppress::Hidden;
use super::verdicts::Verdicts;

/// `core`, or `trial`: measured and shown, never classed, ranked or flagged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Status {
    Core,
    Trial,
}

impl Status {
    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Core => "core",
            Self::Trial => "trial",
        }
    }
}

/// How a subject is called in the tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    /// Rule id; none for a family.
    pub(super) rule: Option<String>,
    pub(super) family: String,
    pub(super) status: Status,
}

/// Approaches in scope and judged, cell by cell: all that is kept of a rule for its family.
#[derive(Debug, Clone)]
pub(super) struct Coverage {
    months: usize,
    cells: Vec<(i64, i64)>,
}

impl Coverage {
    pub(super) fn new(frame: &Frame<'_>, grid: &Grid) -> Self {
        let months = frame.months.len();
        let cells = (0..frame.groups.len())
            .flat_map(|group| (0..months).map(move |month| (group, month)))
            .map(|(group, month)| {
                let tally = grid.cell(group, month);
                (tally.in_scope, tally.evaluable)
            })
            .collect();
        Self { months, cells }
    }

    /// Approaches in scope and judged in these months of a group.
    pub(super) fn sum(&self, group: usize, months: impl Iterator<Item = usize>) -> (i64, i64) {
        months
            .map(|month| self.cells[group * self.months + month])
            .fold((0, 0), |sum, cell| (sum.0 + cell.0, sum.1 + cell.1))
    }
}

/// Everything counted of one subject.
pub(super) struct Subject {
    pub(super) name: Name,
    pub(super) verdicts: Verdicts,
    pub(super) grid: Grid,
    /// By group, over all months, `unknown` among them.
    pub(super) totals: Vec<Tally>,
    pub(super) hidden: Hidden,
    /// Dispersion over all months.
    pub(super) phi: Option<f64>,
    /// What it comes from.
    pub(super) scatter: Scatter,
    /// By level; none where no event is to be fitted.
    pub(super) mix: [Option<Mix>; 3],
    /// Its own coverage, or that of every rule of a family that has events.
    pub(super) coverage: Vec<Coverage>,
    /// Months, by number, in which version or limits changed, by group.
    changes: BTreeMap<usize, Vec<usize>>,
    /// Hash over all the limits that applied.
    pub(super) limits_hash: String,
}

impl Subject {
    pub(super) fn new(
        frame: &Frame<'_>,
        name: Name,
        verdicts: Verdicts,
        members: Vec<Coverage>,
        options: &SummaryOptions,
    ) -> Self {
        let grid = Grid::new(frame, &verdicts);
        let months: Vec<usize> = (0..frame.months.len()).collect();
        let totals = grid.totals(&months);
        let strata = strata(frame, &verdicts);
        let mut changes: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for change in &verdicts.changes {
            for group in frame.groups_of[change.approach as usize] {
                let months = changes.entry(group as usize).or_default();
                months.push(change.month as usize);
            }
        }
        let coverage = if members.is_empty() {
            vec![Coverage::new(frame, &grid)]
        } else {
            members
        };
        let scatter = Scatter::new(frame, &verdicts, &grid);
        Self {
            hidden: Hidden::new(&frame.families, &grid, (&totals, &months), options),
            limits_hash: limits_hash(&verdicts),
            phi: scatter.phi(),
            scatter,
            mix: [0, 1, 2].map(|level| Mix::new(frame, &strata, level)),
            name,
            totals,
            coverage,
            changes,
            grid,
            verdicts,
        }
    }

    /// How often version or limits have changed in a group up to a month: figures compare only within one
    /// number.
    pub(super) fn era(&self, group: usize, month: usize) -> usize {
        let changes = self.changes.get(&group);
        changes.map_or(0, |months| {
            months.iter().filter(|change| **change <= month).count()
        })
    }

    /// Whether a cell may be shown, by the numbers of group and month.
    pub(super) fn is_shown(&self, group: usize, month: usize) -> bool {
        self.hidden.month(group, month).is_none()
    }
}

/// Hash over all the limits that applied.
fn limits_hash(verdicts: &Verdicts) -> String {
    let mut hasher = blake3::Hasher::new();
    for hash in &verdicts.limits {
        hasher.update(hash.as_bytes());
        hasher.update(b"\n");
    }
    hasher.finalize().to_hex()[..16].to_owned()
}
