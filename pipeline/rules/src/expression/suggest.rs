//! The nearest known name to a mistyped one.

/// The closest of `known`, where it is close enough to be what was meant; ties go to the first.
pub fn nearest<'a>(written: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // One slip in a short name, one in three letters of a longer one.
    let tolerated = (written.chars().count() / 3).clamp(1, 4);
    let mut best: Option<(usize, &str)> = None;
    for name in known {
        let distance = strsim::damerau_levenshtein(&written.to_lowercase(), &name.to_lowercase());
        if distance <= tolerated && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, name));
        }
    }
    best.map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_is_found_and_a_different_word_is_not() {
        assert_eq!(nearest("cas_ktt", ["tas_kt", "cas_kt"]), Some("cas_kt"));
        assert_eq!(nearest("Limits", ["limits"]), Some("limits"));
        assert_eq!(nearest("gear", ["flap_lever", "cas_kt"]), None);
    }
}
