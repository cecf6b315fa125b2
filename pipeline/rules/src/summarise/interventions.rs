//! `interventions`: before and after each change that the operator made on purpose.
//!
//! A comparison that was planned is worth more than one that was found: where the operator names the rules
//! that a change was meant to move, only these are tested, and they are the family of tests.

use serde::{Deserialize, Serialize};
use stats::{Counted, MonthTest, MonthVerdict, detectable_rise_pct, judge_months};

use ::records::fleet::InterventionRow;

use super::calendar::index;
use super::count::{ANY_LEVEL, Tally};
use super::months::{FEWEST_MONTHS, Months, why};
use super::rows::withheld;
use super::scene::Scene;
use super::subject::{Status, Subject};
use super::trend::{rules, said, standardised_ratio};
use super::verdicts::Judged;
use super::{FEW_FLIGHTS, three_digits};

/// Months on either side of the change, at most.
const MONTHS: i32 = 12;
/// With so many months after the change the same months of the year before are enough to compare with.
const MONTHS_FOR_SEASON: usize = 6;

/// Intervention × rule or family.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct BeforeAfterRow {
    /// First month in which the change was in force.
    pub month: String,
    /// The airport it was for; null = all.
    pub airport: Option<String>,
    /// The type it was for; null = all.
    pub aircraft_type: Option<String>,
    /// What was changed, in the operator's words.
    pub what: String,
    /// Whether the operator named this rule or family beforehand.
    pub planned: bool,
    /// Rule id; null = the whole family.
    pub rule: Option<String>,
    /// Family of the rule.
    pub family: String,
    /// Months before that are compared.
    pub months_before: Option<i64>,
    /// Months since that are compared.
    pub months_after: Option<i64>,
    /// Whether both sides are of the same months of the year.
    pub season_controlled: Option<bool>,
    /// Approaches before on which the rule could have fired.
    pub evaluable_before: Option<i64>,
    /// Those with an event of any level.
    pub approaches_with_event_before: Option<i64>,
    /// Their rate per 1,000.
    pub rate_per_1000_before: Option<f64>,
    /// Approaches since on which the rule could have fired.
    pub evaluable_after: Option<i64>,
    /// Those with an event of any level.
    pub approaches_with_event_after: Option<i64>,
    /// Their rate per 1,000.
    pub rate_per_1000_after: Option<f64>,
    /// Approaches with an event expected since at the rate before, for the mix since.
    pub expected: Option<f64>,
    /// Observed over expected.
    pub standardised_ratio: Option<f64>,
    /// Rate since over rate before.
    pub ratio: Option<f64>,
    /// Lower end of its interval.
    pub ratio_low: Option<f64>,
    /// Upper end of its interval.
    pub ratio_high: Option<f64>,
    /// p of the comparison.
    pub p: Option<f64>,
    /// p adjusted for the number of rules compared for this change.
    pub q: Option<f64>,
    /// `higher`, `lower`; null = neither is shown.
    pub signal: Option<String>,
    /// Why there is no signal; null where there is one.
    pub why_no_signal: Option<String>,
    /// The rise that could have been shown, %.
    pub detectable_rise_pct: Option<f64>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// The rows, in the order of the changes and of the subjects.
pub(super) fn rows(
    scene: &Scene<'_>,
    subjects: &[Subject],
    interventions: &[InterventionRow],
) -> Vec<BeforeAfterRow> {
    let mut rows = Vec::new();
    for one in interventions {
        let named: Option<Vec<&str>> = one.rules.as_deref().map(|all| all.split(' ').collect());
        let is_asked = |subject: &&Subject| {
            let name = subject.name.rule.as_deref().unwrap_or(&subject.name.family);
            subject.name.status == Status::Core
                && named.as_ref().is_none_or(|named| named.contains(&name))
        };
        let mut asked: Vec<(BeforeAfterRow, Result<MonthTest, &'static str>)> = subjects
            .iter()
            .filter(is_asked)
            .map(|subject| ask(scene, subject, one, named.is_some()))
            .collect();
        let tests: Vec<MonthTest> = asked
            .iter()
            .filter_map(|(_, test)| test.as_ref().ok().copied())
            .collect();
        let rules = rules(scene.options);
        let verdicts = judge_months(&tests, &rules);
        let family = verdicts.iter().filter(|one| one.q.is_some()).count();
        let mut verdicts = verdicts.into_iter();
        for (row, test) in &mut asked {
            match test {
                Ok(test) => {
                    if let Some(verdict) = verdicts.next() {
                        answer(row, test, &verdict);
                        let rise = detectable_rise_pct(test, family, &rules);
                        row.detectable_rise_pct = rise.map(three_digits);
                    }
                }
                Err(why) => row.why_no_signal = Some((*why).to_owned()),
            }
        }
        rows.extend(asked.into_iter().map(|(row, _)| row));
    }
    rows
}

fn answer(row: &mut BeforeAfterRow, test: &MonthTest, verdict: &MonthVerdict) {
    let compared = verdict.comparison.as_ref();
    row.expected = test.expected.map(three_digits);
    row.standardised_ratio = standardised_ratio(test);
    row.ratio = compared.and_then(|compared| compared.ratio);
    row.ratio_low = compared.map(|compared| compared.ratio_low);
    row.ratio_high = compared.and_then(|compared| compared.ratio_high);
    row.p = compared.map(|compared| compared.p_central);
    row.q = verdict.q;
    (row.signal, row.why_no_signal) = said(verdict.signal);
}

#[allow(clippy::cast_precision_loss)] // counts of approaches
fn ask(
    scene: &Scene<'_>,
    subject: &Subject,
    one: &InterventionRow,
    planned: bool,
) -> (BeforeAfterRow, Result<MonthTest, &'static str>) {
    let mut row = BeforeAfterRow {
        month: one.month.clone(),
        airport: one.airport.clone(),
        aircraft_type: one.aircraft_type.clone(),
        what: one.what.clone(),
        planned,
        rule: subject.name.rule.clone(),
        family: subject.name.family.clone(),
        ..BeforeAfterRow::default()
    };
    let place = Place {
        scene,
        subject,
        one,
    };
    let sides = match place.sides() {
        Ok(sides) => sides,
        Err(why) => return (row, Err(why)),
    };
    let (before, after) = (place.tally(&sides.before), place.tally(&sides.after));
    if let Some(why) = place.hides(&sides, &before, &after) {
        row.suppressed = withheld(Some(why));
        return (row, Err(why::FEW_APPROACHES));
    }
    let counted =
        |tally: &Tally| Counted::new(tally.at_least[ANY_LEVEL] as f64, tally.evaluable as f64);
    let rate = |tally: &Tally| {
        let rate = stats::rate_per_1000(counted(tally), scene.options.confidence, None);
        rate.map(|rate| rate.per_1000)
    };
    row.months_before = i64::try_from(sides.before.len()).ok();
    row.months_after = i64::try_from(sides.after.len()).ok();
    row.season_controlled = Some(sides.season_controlled);
    row.evaluable_before = Some(before.evaluable);
    row.approaches_with_event_before = Some(before.at_least[ANY_LEVEL]);
    row.rate_per_1000_before = rate(&before);
    row.evaluable_after = Some(after.evaluable);
    row.approaches_with_event_after = Some(after.at_least[ANY_LEVEL]);
    row.rate_per_1000_after = rate(&after);
    if let Err(why) = place.coverage_allows(&sides, &before, &after) {
        return (row, Err(why));
    }
    let expected = place
        .months()
        .and_then(|months| months.expected(&sides.after, &sides.before, ANY_LEVEL));
    let test = MonthTest {
        month: counted(&after),
        baseline: counted(&before),
        expected,
        phi: place.phi(),
    };
    (row, Ok(test))
}

/// Months on either side of a change, by number.
struct Sides {
    before: Vec<usize>,
    after: Vec<usize>,
    season_controlled: bool,
}

/// One subject where a change was made.
struct Place<'a> {
    scene: &'a Scene<'a>,
    subject: &'a Subject,
    one: &'a InterventionRow,
}

impl<'a> Place<'a> {
    /// The months of the group the change was for; none where it was for one type at one airport, which is
    /// no group of the tables.
    fn months(&self) -> Option<Months<'a>> {
        let name = match (&self.one.airport, &self.one.aircraft_type) {
            (None, None) => "fleet",
            (Some(name), None) | (None, Some(name)) => name.as_str(),
            (Some(_), Some(_)) => return None,
        };
        let kind = match (&self.one.airport, &self.one.aircraft_type) {
            (Some(_), _) => "airport",
            (None, Some(_)) => "aircraft_type",
            (None, None) => "fleet",
        };
        let mut groups = self.scene.frame.groups.iter();
        let group = groups.position(|group| group.kind() == kind && group.name() == name)?;
        Some(Months {
            scene: self.scene,
            subject: self.subject,
            group,
        })
    }

    fn sides(&self) -> Result<Sides, &'static str> {
        let frame = &self.scene.frame;
        let start = index(&self.one.month).ok_or(why::NOTHING)?;
        let usable: Vec<usize> = match self.months() {
            Some(months) => months.usable(),
            None => (0..frame.months.len())
                .filter(|month| frame.is_known(*month))
                .collect(),
        };
        let at = |month: usize| frame.calendar[month].unwrap_or(i32::MIN);
        let within = |from: i32, to: i32| -> Vec<usize> {
            let months = usable.iter().copied();
            months
                .filter(|month| (from..to).contains(&at(*month)))
                .collect()
        };
        let after = within(start, start + MONTHS);
        let year_before = within(start - MONTHS, start);
        if year_before.len() < FEWEST_MONTHS {
            return Err(why::FEW_MONTHS);
        }
        let newest = after.last().copied().ok_or(why::NOTHING)?;
        if let Some(months) = self.months() {
            let era = |month: &usize| self.subject.era(months.group, *month);
            if year_before.iter().any(|month| era(month) != era(&newest)) {
                return Err(why::VERSION);
            }
        }
        let counterparts: Vec<usize> = after
            .iter()
            .filter_map(|month| {
                let mut earlier = usable.iter().copied();
                earlier.find(|earlier| at(*earlier) == at(*month) - MONTHS)
            })
            .collect();
        let season_controlled =
            after.len() >= MONTHS_FOR_SEASON && counterparts.len() == after.len();
        Ok(Sides {
            before: if season_controlled {
                counterparts
            } else {
                year_before
            },
            after,
            season_controlled,
        })
    }

    /// Dispersion as it was before the change, which must not widen its own test.
    fn phi(&self) -> Option<f64> {
        let at = |month: usize| self.scene.frame.calendar[month];
        let start = index(&self.one.month);
        self.subject
            .scatter
            .over(|month| at(month).is_some() && at(month) < start)
    }

    /// Counts of these months where the change was made.
    fn tally(&self, months: &[usize]) -> Tally {
        match self.months() {
            Some(own) => self.subject.grid.sum(own.group, months.iter().copied()),
            None => self.count(months, |airport, aircraft_type| airport && aircraft_type),
        }
    }

    /// Counts of these months, by whether airport and type are those of the change.
    fn count(&self, months: &[usize], wanted: impl Fn(bool, bool) -> bool) -> Tally {
        let frame = &self.scene.frame;
        let mut tally = Tally::default();
        for (approach, verdict) in self.subject.verdicts.of.iter().enumerate() {
            let row = frame.rows[approach];
            let here = wanted(
                row.airport == self.one.airport,
                row.aircraft_type == self.one.aircraft_type,
            );
            if here && verdict.judged != Judged::Absent && months.contains(&frame.month(approach)) {
                tally.add(verdict, frame, approach);
            }
        }
        tally
    }

    /// Why neither side may be shown.
    fn hides(&self, sides: &Sides, before: &Tally, after: &Tally) -> Option<&'static str> {
        let least = self.scene.options.min_flights;
        if before.flights < least || after.flights < least {
            return Some(FEW_FLIGHTS);
        }
        if self.months().is_some() {
            return None;
        }
        // What is left of the airport, and of the type, must not be few either: their own rows are shown.
        let few = |months: &[usize], wanted: fn(bool, bool) -> bool| {
            let rest = self.count(months, wanted).flights;
            rest > 0 && rest < least
        };
        let gives_away = [&sides.before, &sides.after].into_iter().any(|months| {
            few(months, |airport, kind| airport && !kind)
                || few(months, |airport, kind| kind && !airport)
        });
        gives_away.then_some(super::GIVES_AWAY)
    }

    fn coverage_allows(
        &self,
        sides: &Sides,
        before: &Tally,
        after: &Tally,
    ) -> Result<(), &'static str> {
        if let Some(months) = self.months() {
            return months.coverage_allows(&sides.after, &sides.before);
        }
        let flags = &self.scene.options.flags;
        match (before.known_share(), after.known_share()) {
            (Some(one), Some(other)) if one.min(other) < flags.min_coverage => {
                Err(why::LOW_COVERAGE)
            }
            (Some(one), Some(other)) if (one - other).abs() > flags.max_coverage_move => {
                Err(why::COVERAGE_MOVED)
            }
            (Some(_), Some(_)) => Ok(()),
            _ => Err(why::NOTHING),
        }
    }
}
