//! Counting approaches, evaluable approaches and approaches with an event, cell by cell.

use std::collections::BTreeMap;

use records::rows::ApproachRow;

use super::frame::Frame;
use super::group::Group;
use super::verdicts::{Judged, Verdict, Verdicts};

/// Levels from the least to the worst; counts at an index are "at least that level".
pub(super) const LEVELS: [&str; 3] = ["low", "medium", "high"];
/// Place of the least level: events of any level.
pub(super) const ANY_LEVEL: usize = 0;

/// So many tail-days of a cell are told apart: whether there are a few is all that is asked.
const TAIL_DAYS: usize = 8;

/// Counts of one cell.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Tally {
    pub(super) approaches: i64,
    /// Approaches in which the situation occurred that the rule is about, judged or not.
    pub(super) in_scope: i64,
    pub(super) evaluable: i64,
    /// Approaches with an event of at least the level; edge and partial events do not count.
    pub(super) at_least: [i64; 3],
    pub(super) events: [i64; 3],
    /// Events that rest on a lever position between two samples.
    pub(super) edge: [i64; 3],
    /// Distinct flights among the evaluable.
    pub(super) flights: usize,
    /// Distinct tail-days among the evaluable, where days are known, by number or hash: the first few.
    pub(super) tail_days: Vec<u64>,
    pub(super) days_known: bool,
    /// Why approaches could not be judged, by the number of the reason.
    pub(super) reasons: Vec<(u16, i64)>,
    pub(super) last_flight: Option<u64>,
}

/// Cells by name, of what is counted by other things than the groups and months of a frame.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Cells {
    pub(super) total: BTreeMap<Group, Tally>,
    pub(super) monthly: BTreeMap<(Group, String), Tally>,
}

/// Cells by the number of group and month.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    months: usize,
    cells: Vec<Tally>,
}

impl Grid {
    /// Counts every cell of every month.
    pub(super) fn new(frame: &Frame<'_>, verdicts: &Verdicts) -> Self {
        let months = frame.months.len();
        let mut cells = vec![Tally::default(); frame.groups.len() * months];
        for (approach, verdict) in verdicts.of.iter().enumerate() {
            if verdict.judged == Judged::Absent {
                continue;
            }
            let month = frame.month(approach);
            for group in frame.groups_of[approach] {
                cells[group as usize * months + month].add(verdict, frame, approach);
            }
        }
        Self { months, cells }
    }

    /// How many months each group has.
    pub(super) fn months(&self) -> usize {
        self.months
    }

    /// The cell of a group in a month.
    pub(super) fn cell(&self, group: usize, month: usize) -> &Tally {
        &self.cells[group * self.months + month]
    }

    /// The cells of a group in these months as one.
    pub(super) fn sum(&self, group: usize, months: impl Iterator<Item = usize>) -> Tally {
        let mut all = Tally::default();
        for month in months {
            all.join(self.cell(group, month));
        }
        all
    }

    /// The sums of these months of every group.
    pub(super) fn totals(&self, months: &[usize]) -> Vec<Tally> {
        let groups = 0..self.cells.len().checked_div(self.months).unwrap_or(0);
        groups
            .map(|group| self.sum(group, months.iter().copied()))
            .collect()
    }

    /// Counts of a group in these months, without what only suppression and reasons need.
    pub(super) fn counts(&self, group: usize, months: impl Iterator<Item = usize>) -> Counts {
        let mut all = Counts::default();
        for month in months {
            let cell = self.cell(group, month);
            all.in_scope += cell.in_scope;
            all.evaluable += cell.evaluable;
            for (sum, at_least) in all.at_least.iter_mut().zip(cell.at_least) {
                *sum += at_least;
            }
        }
        all
    }
}

/// What rates are made of.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Counts {
    pub(super) in_scope: i64,
    pub(super) evaluable: i64,
    pub(super) at_least: [i64; 3],
}

impl Counts {
    /// The share of the approaches in scope that could be judged; none where nothing was in scope.
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    pub(super) fn known_share(&self) -> Option<f64> {
        (self.in_scope > 0).then(|| self.evaluable as f64 / self.in_scope as f64)
    }
}

/// Every line approach as if some rule could always have fired: who may see how many there were.
pub(super) fn everything(frame: &Frame<'_>) -> Grid {
    let always = Verdict {
        judged: Judged::Evaluable,
        ..Verdict::default()
    };
    let verdicts = Verdicts {
        of: vec![always; frame.rows.len()],
        ..Verdicts::default()
    };
    Grid::new(frame, &verdicts)
}

impl Tally {
    /// Counts an approach of the frame, by its number.
    pub(super) fn add(&mut self, verdict: &Verdict, frame: &Frame<'_>, approach: usize) {
        self.approaches += 1;
        self.in_scope += i64::from(verdict.judged > Judged::OutOfScope);
        if verdict.judged != Judged::Evaluable {
            self.add_reason(verdict.reason, 1);
            return;
        }
        let day = frame.tail_day_of[approach].map(u64::from);
        self.add_evaluable(u64::from(frame.flight_of[approach]), day);
        for level in 0..LEVELS.len() {
            let worst = verdict.worst.map(usize::from);
            self.at_least[level] += i64::from(worst >= Some(level));
            self.events[level] += i64::from(verdict.events[level]);
            self.edge[level] += i64::from(verdict.edge[level]);
        }
    }

    /// Counts an approach of this flight, and tail and day, in the denominator. The approaches of a flight
    /// come one after the other.
    fn add_evaluable(&mut self, flight: u64, tail_day: Option<u64>) {
        self.evaluable += 1;
        if self.last_flight != Some(flight) {
            self.flights += 1;
            self.last_flight = Some(flight);
        }
        if let Some(day) = tail_day {
            self.days_known = true;
            self.add_day(day);
        }
    }

    /// Counts an approach in the denominator.
    pub(super) fn add_row(&mut self, row: &ApproachRow) {
        let day = row.day_key.as_deref();
        let tail = row.tail_id.as_deref().unwrap_or_default();
        self.add_evaluable(
            number(&[&row.flight_id]),
            day.map(|day| number(&[tail, day])),
        );
    }

    /// Adds the counts of another month: no flight is in two.
    fn join(&mut self, other: &Self) {
        self.approaches += other.approaches;
        self.in_scope += other.in_scope;
        self.evaluable += other.evaluable;
        for level in 0..LEVELS.len() {
            self.at_least[level] += other.at_least[level];
            self.events[level] += other.events[level];
            self.edge[level] += other.edge[level];
        }
        self.flights += other.flights;
        self.days_known |= other.days_known;
        for day in &other.tail_days {
            self.add_day(*day);
        }
        for (reason, count) in &other.reasons {
            self.add_reason(*reason, *count);
        }
    }

    /// A handful of days is enough to know that a cell is not about one crew's.
    fn add_day(&mut self, day: u64) {
        if self.tail_days.len() < TAIL_DAYS && !self.tail_days.contains(&day) {
            self.tail_days.push(day);
        }
    }

    fn add_reason(&mut self, reason: u16, count: i64) {
        match self.reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, sum)) => *sum += count,
            None => self.reasons.push((reason, count)),
        }
    }

    /// The share of the approaches in scope that could be judged; none where nothing was in scope.
    pub(super) fn known_share(&self) -> Option<f64> {
        let counts = Counts {
            in_scope: self.in_scope,
            evaluable: self.evaluable,
            at_least: self.at_least,
        };
        counts.known_share()
    }

    /// The most frequent reasons why the rule could not be judged, with counts.
    /// Counts below `least` are not given.
    pub(super) fn top_reasons(&self, names: &[String], least: usize) -> String {
        let name = |number: &u16| names.get(usize::from(*number)).map_or("", String::as_str);
        let mut reasons: Vec<(&str, i64)> = self
            .reasons
            .iter()
            .map(|(number, count)| (name(number), *count))
            .collect();
        reasons.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
        let texts: Vec<String> = reasons
            .iter()
            .take(3)
            .map(|(reason, n)| match usize::try_from(*n) {
                Ok(count) if count >= least => format!("{reason} ({n})"),
                _ => format!("{reason} (few)"),
            })
            .collect();
        texts.join("; ")
    }
}

/// A number for some texts, to tell them from others.
fn number(texts: &[&str]) -> u64 {
    let mut hasher = blake3::Hasher::new();
    for text in texts {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    let bytes = hasher.finalize();
    let mut first = [0; 8];
    first.copy_from_slice(&bytes.as_bytes()[..8]);
    u64::from_le_bytes(first)
}
