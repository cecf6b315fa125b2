//! `training_topics`: what to train next, with the evidence.
//!
//! A topic is the set of rules that name it; an approach counts once, whatever number of them fired. Topics
//! are ranked by what is probably true of them rather than by the rate that was seen. Groups are the fleet and
//! its types, never people.

mod list;
mod sentence;

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use stats::{
    Class, MonthTest, MonthVerdict, Place, Thresholds, detectable_rise_pct, hot_spots, judge_months,
};

use super::count::{ANY_LEVEL, Grid, Tally};
use super::group::Group;
use super::hotspots::thresholds;
use super::months::{Months, why};
use super::rows::withheld;
use super::scene::Scene;
use super::subject::{Coverage, Name, Status, Subject};
use super::suppress::Hidden;
use super::trend::{rules as signal_rules, said};
use super::verdicts::{Verdicts, together};
use super::window::Window;
use super::{DecisiveRow, HotspotRow, RuleNote, Shown, three_digits};
use list::{NO_TRAINING, known};

/// Lower end of the area under the ROC curve from which a checkpoint is said to tell the end; judgement.
pub const CLEARLY_AUC: f64 = 0.6;

/// Rules named as evidence, the most frequent first.
const NAMED_RULES: usize = 3;

/// Topic × group.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct TopicRow {
    /// The topic, as the rules name it.
    pub topic: String,
    /// `fleet` or `aircraft_type`.
    pub group_kind: String,
    /// Name of the group.
    pub group: String,
    /// First month counted.
    pub from_month: Option<String>,
    /// Last month counted.
    pub to_month: Option<String>,
    /// The rules that are evidence, by how many approaches they fired on; separated by spaces.
    pub evidence_rules: Option<String>,
    /// Approaches on which one of them could have fired.
    pub evaluable: Option<i64>,
    /// Those on which one did.
    pub approaches_with_event: Option<i64>,
    /// 1,000 × `approaches_with_event` / `evaluable`.
    pub rate_per_1000: Option<f64>,
    /// Lower end of the interval.
    pub ci_low: Option<f64>,
    /// Upper end of the interval.
    pub ci_high: Option<f64>,
    /// Rate shrunk towards that of all topics; its lower 5 %: what the rank goes by.
    pub shrunk_low_5pct: Option<f64>,
    /// 1 for the highest `shrunk_low_5pct` of the group.
    pub rank: Option<i64>,
    /// The latest month: `higher`, `lower`, or null where no change is shown.
    pub change: Option<String>,
    /// Why no change is shown; null where one is.
    pub why_no_change: Option<String>,
    /// Rate of the latest month over that of its baseline.
    pub ratio: Option<f64>,
    /// Lower end of its interval.
    pub ratio_low: Option<f64>,
    /// Upper end of its interval.
    pub ratio_high: Option<f64>,
    /// p of the latest month, adjusted for the number of topics and groups.
    pub q: Option<f64>,
    /// The rise the latest month could have shown, %.
    pub detectable_rise_pct: Option<f64>,
    /// The checkpoint whose energy tells the end; null where it has none to tell, or none does.
    pub decisive_checkpoint: Option<String>,
    /// Airports called hot spot or watch for one of the rules or their family, separated by spaces.
    pub airports: Option<String>,
    /// Codes of the competencies it asks for; null for a topic of the operator's own.
    pub competencies: Option<String>,
    /// Topics of recurrent training it belongs to; null for a topic of the operator's own.
    pub recurrent_topics: Option<String>,
    /// All of it in words that can be read out.
    pub sentence: Option<String>,
    /// Why the numbers are withheld; null where they are not.
    pub suppressed: Option<String>,
}

/// The rules of one topic, counted as one.
pub(super) struct Counted {
    name: String,
    subject: Subject,
    /// The rules that are evidence: id, title and counts.
    rules: Vec<(String, String, Grid)>,
}

/// Counts the topics of which the review has a rule that is not on trial.
pub(super) fn counted(
    scene: &Scene<'_>,
    by_rule: &BTreeMap<String, Verdicts>,
    notes: &BTreeMap<String, RuleNote>,
) -> Vec<Counted> {
    let mut topics: BTreeMap<&str, Vec<(&String, &RuleNote)>> = BTreeMap::new();
    for rule in by_rule.keys() {
        let Some(note) = notes.get(rule).filter(|note| !note.trial) else {
            continue;
        };
        let named = note.topics.iter().map(String::as_str);
        for topic in named.filter(|topic| !NO_TRAINING.contains(topic)) {
            topics.entry(topic).or_default().push((rule, note));
        }
    }
    let topics: Vec<_> = topics.into_iter().collect();
    let counted = topics.into_par_iter().map(|(topic, members)| {
        let rules: Vec<(String, String, Grid)> = members
            .iter()
            .map(|(rule, note)| {
                let grid = Grid::new(&scene.frame, &by_rule[*rule]);
                ((*rule).clone(), note.title.clone(), grid)
            })
            .collect();
        let coverage = rules
            .iter()
            .map(|(.., grid)| Coverage::new(&scene.frame, grid));
        let coverage = coverage.collect();
        let all = together(members.iter().map(|(rule, _)| &by_rule[*rule]));
        let name = Name {
            rule: None,
            family: topic.to_owned(),
            status: Status::Core,
        };
        Counted {
            name: topic.to_owned(),
            subject: Subject::new(&scene.frame, name, all, coverage, scene.options),
            rules,
        }
    });
    counted.collect()
}

/// One topic in one group.
struct Cell<'a> {
    topic: &'a Counted,
    group: usize,
    tally: Tally,
    hidden: Option<&'static str>,
    test: Result<MonthTest, &'static str>,
    verdict: Option<MonthVerdict>,
    detectable_pct: Option<f64>,
    low_5pct: Option<f64>,
    rank: Option<usize>,
}

/// The rows: the fleet, then each type, in the order of the topics.
pub(super) fn rows(
    scene: &Scene<'_>,
    topics: &[Counted],
    window: &Window,
    hotspots: &[HotspotRow],
    decisive: &[DecisiveRow],
) -> Vec<TopicRow> {
    let recent: Vec<Recent> = topics
        .iter()
        .map(|topic| Recent::new(scene, topic, window))
        .collect();
    let mut rows = Vec::new();
    for kind in ["fleet", "aircraft_type"] {
        let groups = scene.frame.groups.iter().enumerate();
        let mut cells: Vec<Cell<'_>> = groups
            .filter(|(_, group)| group.kind() == kind)
            .flat_map(|(number, _)| of_group(scene, topics, &recent, number, window))
            .collect();
        judge(scene, &mut cells);
        rows.extend(
            cells
                .iter()
                .map(|cell| row(scene, cell, window, hotspots, decisive)),
        );
    }
    rows
}

/// One topic over the months that topics are counted over.
struct Recent {
    /// By group.
    totals: Vec<Tally>,
    hidden: Hidden,
}

impl Recent {
    fn new(scene: &Scene<'_>, topic: &Counted, window: &Window) -> Self {
        let grid = &topic.subject.grid;
        let totals = grid.totals(&window.months);
        let within = (totals.as_slice(), window.months.as_slice());
        Self {
            hidden: Hidden::new(&scene.frame.families, grid, within, scene.options),
            totals,
        }
    }
}

/// All topics of one group, ranked.
fn of_group<'a>(
    scene: &Scene<'_>,
    topics: &'a [Counted],
    recent: &[Recent],
    group: usize,
    window: &Window,
) -> Vec<Cell<'a>> {
    let mut cells: Vec<Cell<'a>> = topics
        .iter()
        .zip(recent)
        .filter(|(_, recent)| recent.totals[group].approaches > 0)
        .map(|(topic, recent)| Cell {
            hidden: recent.hidden.total(group),
            test: latest(scene, topic, group, window),
            verdict: None,
            detectable_pct: None,
            low_5pct: None,
            rank: None,
            topic,
            group,
            tally: recent.totals[group].clone(),
        })
        .collect();
    // Each with its own dispersion: effective counts go in, and nothing is left to correct.
    #[allow(clippy::cast_precision_loss)] // counts of approaches
    let places: Vec<Place> = cells
        .iter()
        .map(|cell| {
            let phi = cell.topic.subject.phi.unwrap_or(1.0);
            let (x, n) = (
                cell.tally.at_least[ANY_LEVEL] as f64,
                cell.tally.evaluable as f64,
            );
            Place {
                with_event: x / phi,
                evaluable: n,
                exposure: n / phi,
            }
        })
        .collect();
    let thresholds = Thresholds {
        // No topic is so large that the others would have to be compared without it.
        dominant_share: 1.0,
        ..thresholds(scene)
    };
    for (cell, spot) in cells
        .iter_mut()
        .zip(hot_spots(&places, None, &thresholds).unwrap_or_default())
    {
        let known = spot.class != Class::InsufficientData;
        cell.rank = spot.rank.filter(|_| known);
        cell.low_5pct = spot.posterior.and_then(|found| found.low_5pct);
    }
    cells
}

/// The latest month of a topic against its baseline.
fn latest(
    scene: &Scene<'_>,
    topic: &Counted,
    group: usize,
    window: &Window,
) -> Result<MonthTest, &'static str> {
    use super::months::why;
    let months = Months {
        scene,
        subject: &topic.subject,
        group,
    };
    let month = window.months.last().copied().ok_or(why::NOTHING)?;
    if months.tally(month).evaluable == 0 {
        return Err(why::NOTHING);
    }
    if !topic.subject.is_shown(group, month) {
        return Err(why::FEW_APPROACHES);
    }
    let baseline = months.baseline(month)?;
    months.coverage_allows(&[month], &baseline.months)?;
    Ok(MonthTest {
        month: months.counted(&[month], ANY_LEVEL),
        baseline: months.counted(&baseline.months, ANY_LEVEL),
        expected: months.expected(&[month], &baseline.months, ANY_LEVEL),
        phi: topic.subject.scatter.without(month),
    })
}

/// Tests of one kind of group are one family.
fn judge(scene: &Scene<'_>, cells: &mut [Cell<'_>]) {
    let mut asked: Vec<&mut Cell<'_>> = cells.iter_mut().filter(|cell| cell.test.is_ok()).collect();
    let tests: Vec<MonthTest> = asked
        .iter()
        .filter_map(|cell| cell.test.as_ref().ok().copied())
        .collect();
    let rules = signal_rules(scene.options);
    let verdicts = judge_months(&tests, &rules);
    let family = verdicts.iter().filter(|one| one.q.is_some()).count();
    for ((cell, test), verdict) in asked.iter_mut().zip(&tests).zip(verdicts) {
        cell.detectable_pct = detectable_rise_pct(test, family, &rules);
        cell.verdict = Some(verdict);
    }
}

fn row(
    scene: &Scene<'_>,
    cell: &Cell<'_>,
    window: &Window,
    hotspots: &[HotspotRow],
    decisive: &[DecisiveRow],
) -> TopicRow {
    let (frame, topic) = (&scene.frame, known(&cell.topic.name));
    let group = &frame.groups[cell.group];
    let subject = &cell.topic.subject;
    let shown = Shown::new(&cell.tally, ANY_LEVEL, scene.options, subject.phi).unless(cell.hidden);
    let is_shown = cell.hidden.is_none();
    let verdict = cell.verdict.as_ref().filter(|_| is_shown);
    let compared = verdict.and_then(|verdict| verdict.comparison.as_ref());
    let (change, why_no_change) = match (verdict, &cell.test) {
        (Some(verdict), _) => said(verdict.signal),
        (None, Err(why)) if is_shown => (None, Some((*why).to_owned())),
        (None, _) => (None, Some(why::FEW_APPROACHES.to_owned())),
    };
    let mut row = TopicRow {
        topic: cell.topic.name.clone(),
        group_kind: group.kind().to_owned(),
        group: group.name(),
        from_month: window.from(frame),
        to_month: window.to(frame),
        evidence_rules: is_shown.then(|| evidence(cell, window).join(" ")),
        evaluable: shown.evaluable,
        approaches_with_event: shown.approaches_with_event,
        rate_per_1000: shown.rate.map(|rate| rate.per_1000),
        ci_low: shown.rate.map(|rate| rate.low),
        ci_high: shown.rate.map(|rate| rate.high),
        shrunk_low_5pct: cell
            .low_5pct
            .filter(|_| is_shown)
            .map(|low| three_digits(1000.0 * low)),
        rank: cell
            .rank
            .filter(|_| is_shown)
            .and_then(|rank| i64::try_from(rank).ok()),
        change,
        why_no_change,
        ratio: compared.and_then(|compared| compared.ratio),
        ratio_low: compared.map(|compared| compared.ratio_low),
        ratio_high: compared.and_then(|compared| compared.ratio_high),
        q: verdict.and_then(|verdict| verdict.q),
        detectable_rise_pct: cell.detectable_pct.filter(|_| is_shown).map(three_digits),
        decisive_checkpoint: decisive
            .iter()
            .filter(|_| topic.is_some_and(|topic| topic.decided_by_energy) && is_shown)
            .find(|row| row.decisive && row.group_kind == group.kind() && row.group == group.name())
            .map(|row| row.checkpoint.clone()),
        airports: (is_shown && *group == Group::Fleet).then(|| places(cell, hotspots).join(" ")),
        competencies: topic.map(|topic| topic.competencies.to_owned()),
        recurrent_topics: topic.map(|topic| topic.recurrent.to_owned()),
        sentence: None,
        suppressed: withheld(cell.hidden),
    };
    // A checkpoint that tells the end hardly better than chance is nothing to teach by.
    let tells = decisive.iter().any(|of| {
        let own = of.decisive && of.group_kind == group.kind() && of.group == group.name();
        own && of.auc_low.is_some_and(|low| low >= CLEARLY_AUC)
    });
    row.sentence = is_shown
        .then(|| sentence::sentence(&row, topic, &named(cell, window), tells))
        .flatten();
    row
}

/// The rules of the topic that fired in this group, the most frequent first.
fn fired<'a>(cell: &Cell<'a>, window: &Window) -> Vec<(i64, &'a str, &'a str)> {
    let rules = cell.topic.rules.iter();
    let mut fired: Vec<(i64, &str, &str)> = rules
        .map(|(rule, title, grid)| {
            let sum = grid.counts(cell.group, window.months.iter().copied());
            (sum.at_least[ANY_LEVEL], rule.as_str(), title.as_str())
        })
        .filter(|(count, ..)| *count > 0)
        .collect();
    fired.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(b.1)));
    fired
}

fn evidence(cell: &Cell<'_>, window: &Window) -> Vec<String> {
    let fired = fired(cell, window).into_iter();
    fired.map(|(_, rule, _)| rule.to_owned()).collect()
}

/// Titles of the most frequent rules.
fn named(cell: &Cell<'_>, window: &Window) -> Vec<String> {
    let fired = fired(cell, window).into_iter().take(NAMED_RULES);
    fired.map(|(.., title)| title.to_owned()).collect()
}

/// Airports that stand out for a rule of the topic.
fn places(cell: &Cell<'_>, hotspots: &[HotspotRow]) -> Vec<String> {
    let is_evidence = |row: &&HotspotRow| {
        let rules = cell.topic.rules.iter();
        let mut rules = rules.map(|(rule, ..)| Some(rule));
        rules.any(|rule| rule == row.rule.as_ref())
    };
    let called = |row: &&HotspotRow| {
        row.runway.is_none() && matches!(row.class.as_deref(), Some("hot spot" | "watch"))
    };
    let airports: BTreeSet<String> = hotspots
        .iter()
        .filter(called)
        .filter(is_evidence)
        .map(|row| row.airport.clone())
        .collect();
    airports.into_iter().collect()
}
