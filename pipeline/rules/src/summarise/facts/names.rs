//! Numbers for texts that come again and again.

use std::collections::HashMap;

/// Texts by number, in the order in which they were met.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Names {
    texts: Vec<String>,
    numbers: HashMap<String, usize>,
}

impl Names {
    /// The number of a text; a new one where it was not met before.
    pub(super) fn number(&mut self, text: &str) -> usize {
        if let Some(number) = self.numbers.get(text) {
            return *number;
        }
        let number = self.texts.len();
        self.texts.push(text.to_owned());
        self.numbers.insert(text.to_owned(), number);
        number
    }

    /// The same, as small as a cell holds it. So many different texts there are not; if there were, the last
    /// number would stand for all the rest.
    pub(super) fn small(&mut self, text: &str) -> u16 {
        u16::try_from(self.number(text)).unwrap_or(u16::MAX)
    }

    /// The number of a text that was met.
    pub(super) fn known(&self, text: &str) -> Option<usize> {
        self.numbers.get(text).copied()
    }

    /// All of them, by number.
    pub(super) fn texts(&self) -> &[String] {
        &self.texts
    }
}
