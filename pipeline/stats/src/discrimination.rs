//! How well a class known beforehand tells approaches with an outcome from those without.
//!
//! The measure is the area under the ROC curve: the chance that of two approaches, one with the outcome
//! and one without, the first has the higher predicted risk; ties count half. Predictions are made for
//! approaches that took no part in making them.

use crate::numerics::normal_quantile_upper;
use crate::tail_of;

/// One approach: its class, its fold, and what became of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known {
    /// Class beforehand, from 0.
    pub class: usize,
    /// Fold that it is left out with; approaches that belong together share one.
    pub fold: usize,
    /// Whether the outcome happened.
    pub outcome: bool,
}

/// An area under the curve with its interval, 0.5 = no better than chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Discrimination {
    /// The area.
    pub auc: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Cross-validated discrimination of the classes.
///
/// The risk of a class is its share of outcomes in the other folds, drawn towards the share of all of
/// them by the weight of one approach. Only pairs within a fold are compared: their risks rest on the same
/// data, while risks of different folds differ in the very outcomes that they are to predict, which would
/// pull the area below 0.5 where a class tells nothing. The interval is that of DeLong, DeLong and
/// Clarke-Pearson (1988, from memory) on the placements within folds.
///
/// `None` where no fold holds an approach with the outcome and one without, or fewer than two of either
/// kind are compared.
#[must_use]
pub fn discrimination(known: &[Known], confidence: f64) -> Option<Discrimination> {
    let z = normal_quantile_upper(tail_of(confidence)?)?;
    let folds = known.iter().map(|one| one.fold).max()? + 1;
    let classes = known.iter().map(|one| one.class).max()? + 1;
    let (mut with, mut without) = (Vec::new(), Vec::new());
    let (mut concordant, mut pairs) = (0.0, 0.0);
    for fold in 0..folds {
        let risk = risks(known, classes, fold);
        let of = |outcome: bool| -> Vec<f64> {
            let here = known
                .iter()
                .filter(|one| one.fold == fold && one.outcome == outcome);
            here.map(|one| risk[one.class]).collect()
        };
        let (happened, not) = (of(true), of(false));
        if happened.is_empty() || not.is_empty() {
            continue;
        }
        let placements: Vec<f64> = happened
            .iter()
            .map(|risk| share_below(&not, *risk))
            .collect();
        concordant += placements.iter().sum::<f64>() * not.len() as f64;
        pairs += (happened.len() * not.len()) as f64;
        without.extend(not.iter().map(|risk| 1.0 - share_below(&happened, *risk)));
        with.extend(placements);
    }
    if with.len() < 2 || without.len() < 2 {
        return None;
    }
    let auc = concordant / pairs;
    let half = z * (spread(&with) + spread(&without)).sqrt();
    Some(Discrimination {
        auc,
        low: (auc - half).max(0.0),
        high: (auc + half).min(1.0),
    })
}

/// Share of outcomes by class outside a fold.
fn risks(known: &[Known], classes: usize, fold: usize) -> Vec<f64> {
    let others = || known.iter().filter(|one| one.fold != fold);
    let count = |of: &dyn Fn(&Known) -> bool| others().filter(|one| of(one)).count() as f64;
    let all = count(&|_| true);
    let share = if all > 0.0 {
        count(&|one| one.outcome) / all
    } else {
        0.0
    };
    (0..classes)
        .map(|class| {
            let hit = count(&|one| one.class == class && one.outcome);
            (hit + share) / (count(&|one| one.class == class) + 1.0)
        })
        .collect()
}

/// Share of values below, those equal counted half.
fn share_below(values: &[f64], than: f64) -> f64 {
    let points: f64 = values
        .iter()
        .map(|value| match value.total_cmp(&than) {
            std::cmp::Ordering::Less => 1.0,
            std::cmp::Ordering::Equal => 0.5,
            std::cmp::Ordering::Greater => 0.0,
        })
        .sum();
    points / values.len() as f64
}

/// Variance of the mean of placements.
fn spread(placements: &[f64]) -> f64 {
    let n = placements.len() as f64;
    let mean = placements.iter().sum::<f64>() / n;
    let squares: f64 = placements.iter().map(|value| (value - mean).powi(2)).sum();
    squares / (n - 1.0) / n
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(class: usize, fold: usize, outcome: bool) -> Known {
        Known {
            class,
            fold,
            outcome,
        }
    }

    /// `with` and `without` approaches of each class in each of five folds.
    fn fleet(cells: &[(usize, usize)]) -> Vec<Known> {
        let mut all = Vec::new();
        for fold in 0..5 {
            for (class, (with, without)) in cells.iter().enumerate() {
                all.extend((0..*with).map(|_| known(class, fold, true)));
                all.extend((0..*without).map(|_| known(class, fold, false)));
            }
        }
        all
    }

    #[test]
    fn pairs_are_counted_by_hand() {
        // Risk rises with the class. Pairs within a fold: with the outcome 1, 2, 3 of the classes,
        // without 6, 3, 1; concordant 2·6 + 3·(6+3) + halves (1·6 + 2·3 + 3·1)/2 = 46.5 of 60.
        let found = discrimination(&fleet(&[(1, 6), (2, 3), (3, 1)]), 0.95).unwrap();
        assert!((found.auc - 46.5 / 60.0).abs() < 1e-12, "{found:?}");
        assert!(found.low < found.auc && found.auc < found.high);
    }

    #[test]
    fn the_interval_is_that_of_the_formula() {
        let found = discrimination(&fleet(&[(1, 6), (2, 3), (3, 1)]), 0.95).unwrap();
        // DeLong's formula, worked out on placements that are counted by hand.
        // Placements of the outcome: 0.3 (×5), 0.75 (×10), 0.95 (×15).
        let with = [(5.0, 0.3), (10.0, 0.75), (15.0, 0.95)];
        // Of the others: class 0: 1 − 0.5/6, class 1: 1 − (1 + 1)/6, class 2: 1 − (3 + 1.5)/6.
        let without = [(30.0, 1.0 - 0.5 / 6.0), (15.0, 4.0 / 6.0), (5.0, 1.5 / 6.0)];
        let variance = |cells: &[(f64, f64)]| {
            let n: f64 = cells.iter().map(|cell| cell.0).sum();
            let mean = cells.iter().map(|cell| cell.0 * cell.1).sum::<f64>() / n;
            let squares: f64 = cells
                .iter()
                .map(|cell| cell.0 * (cell.1 - mean).powi(2))
                .sum();
            squares / (n - 1.0) / n
        };
        let half = 1.959_963_984_540_054 * (variance(&with) + variance(&without)).sqrt();
        assert!((found.high - found.low - 2.0 * half).abs() < 1e-9);
    }

    #[test]
    fn a_class_that_tells_nothing_is_not_worse_than_chance() {
        // Left out one by one, pooled risks would rank every outcome below every other.
        let found = discrimination(&fleet(&[(2, 20), (2, 20), (2, 20)]), 0.95).unwrap();
        assert!((found.auc - 0.5).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn nothing_to_compare_is_unknown() {
        assert_eq!(discrimination(&[], 0.95), None);
        assert_eq!(discrimination(&fleet(&[(0, 5)]), 0.95), None);
        assert_eq!(
            discrimination(&[known(0, 0, true), known(0, 1, false)], 0.95),
            None
        );
        assert_eq!(discrimination(&fleet(&[(1, 6)]), 1.0), None);
    }

    #[test]
    fn a_class_seen_only_in_its_own_fold_has_the_risk_of_all() {
        let mut all = fleet(&[(1, 9)]);
        all.push(known(1, 0, true));
        let found = discrimination(&all, 0.95).unwrap();
        assert!((found.auc - 0.5).abs() < 0.1, "{found:?}");
    }
}
