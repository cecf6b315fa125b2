//! The false discovery rate of Benjamini and Hochberg (1995).

/// Adjusted p-values of one family, in the order given.
///
/// `None` (no test was possible), and anything that is not a probability, stays `None` and
/// does not count in the family.
#[must_use]
pub fn benjamini_hochberg(p: &[Option<f64>]) -> Vec<Option<f64>> {
    let mut family: Vec<(usize, f64)> = p
        .iter()
        .enumerate()
        .filter_map(|(place, p)| p.filter(|p| (0.0..=1.0).contains(p)).map(|p| (place, p)))
        .collect();
    family.sort_by(|a, b| b.1.total_cmp(&a.1));
    let tests = family.len() as f64;
    let mut adjusted = vec![None; p.len()];
    let mut smallest = 1.0_f64;
    // From the largest p down, so that a later value is never above an earlier one.
    for (done, (place, p)) in family.iter().enumerate() {
        let rank = tests - done as f64;
        smallest = smallest.min(p * tests / rank);
        adjusted[*place] = Some(smallest);
    }
    adjusted
}
