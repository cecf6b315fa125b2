//! A share that can only rise: the monotone fit by pooling adjacent violators.

/// Fits shares that never fall along rising places: neighbours that would are pooled until none does
/// (Ayer, Brunk, Ewing, Reid and Silverman 1955, from memory).
///
/// `points` are (place, outcome) in any order; equal places are pooled first. Returned are (place, share),
/// one a distinct place, rising. Empty for no points, or where a place is NaN.
#[must_use]
pub fn rising_share(points: &[(f64, bool)]) -> Vec<(f64, f64)> {
    if points.iter().any(|point| point.0.is_nan()) {
        return Vec::new();
    }
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Blocks of (places, happened, all).
    let mut blocks: Vec<(Vec<f64>, f64, f64)> = Vec::new();
    for (place, outcome) in sorted {
        let hit = f64::from(u8::from(outcome));
        match blocks.last_mut() {
            Some((places, happened, all)) if places.last() == Some(&place) => {
                *happened += hit;
                *all += 1.0;
            }
            _ => blocks.push((vec![place], hit, 1.0)),
        }
    }
    let mut pooled: Vec<(Vec<f64>, f64, f64)> = Vec::new();
    for block in blocks {
        pooled.push(block);
        while let [.., (_, a, n), (_, b, m)] = pooled.as_slice() {
            if a * m <= b * n {
                break;
            }
            if let (Some((places, happened, all)), Some(into)) = (pooled.pop(), pooled.last_mut()) {
                into.0.extend(places);
                into.1 += happened;
                into.2 += all;
            }
        }
    }
    let shares = pooled.into_iter().flat_map(|(places, happened, all)| {
        places.into_iter().map(move |place| (place, happened / all))
    });
    shares.collect()
}

#[cfg(test)]
mod tests {
    use super::rising_share;

    #[test]
    fn violators_are_pooled() {
        // By hand: 0 | 1 0 → 1/2 1/2 | 1 0 1 → 1/2 1/2, 1: 1/2 pools with 1/2.
        let points: Vec<(f64, bool)> = [0, 1, 0, 1, 0, 1]
            .iter()
            .zip(1..)
            .map(|(hit, place)| (f64::from(place), *hit == 1))
            .collect();
        let shares: Vec<f64> = rising_share(&points).iter().map(|point| point.1).collect();
        assert_eq!(shares, [0.0, 0.5, 0.5, 0.5, 0.5, 1.0]);
    }

    #[test]
    fn a_falling_share_is_one_block() {
        let fit = rising_share(&[(1.0, true), (2.0, true), (3.0, false), (4.0, false)]);
        assert_eq!(fit, [(1.0, 0.5), (2.0, 0.5), (3.0, 0.5), (4.0, 0.5)]);
    }

    #[test]
    fn equal_places_are_one_and_order_does_not_matter() {
        let fit = rising_share(&[(2.0, true), (1.0, false), (2.0, false), (1.0, false)]);
        assert_eq!(fit, [(1.0, 0.0), (2.0, 0.5)]);
        assert!(rising_share(&[]).is_empty());
        assert!(rising_share(&[(f64::NAN, true)]).is_empty());
    }
}
