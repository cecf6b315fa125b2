//! How much of each shared table is withheld.

use report::input::WithheldLine;
use rules::headline::Withheld;

/// One line a table that withholds anything.
pub(super) fn lines(withheld: &[Withheld]) -> Vec<WithheldLine> {
    withheld
        .iter()
        .filter(|of| of.small + of.neighbours > 0)
        .map(|of| WithheldLine {
            table: of.table.to_owned(),
            rows: of.rows,
            small: of.small,
            neighbours: of.neighbours,
        })
        .collect()
}
