//! What was wrong with single rows of a table, told without flooding the terminal.

use std::path::Path;

/// Lines printed in full for one table; the rest is counted. Judgement: a screen's worth.
const PRINTED: usize = 20;

/// Notes on the rows of one table.
#[derive(Debug, Default)]
pub(super) struct RowNotes(Vec<(u64, String)>);

impl RowNotes {
    /// Adds one about a line, the header being line 1.
    pub(super) fn push(&mut self, line: u64, message: String) {
        self.0.push((line, message));
    }

    /// Hands them over in the order of their lines.
    pub(super) fn tell(mut self, path: &Path, notes: &mut Vec<String>) {
        let name = path.display();
        self.0.sort_by_key(|(line, _)| *line);
        let printed = self.0.iter().take(PRINTED);
        notes.extend(printed.map(|(line, message)| format!("{name}:{line}: {message}")));
        let more = self.0.len().saturating_sub(PRINTED);
        if more > 0 {
            notes.push(format!("{name}: {more} more notes on rows like these"));
        }
    }
}
