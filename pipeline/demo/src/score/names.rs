//! Words held once: ids and names become small numbers, so that a large fleet fits in memory.

use std::collections::HashMap;

/// Words by number and numbers by word.
#[derive(Debug, Default)]
pub(super) struct Names {
    numbers: HashMap<String, u32>,
    words: Vec<String>,
}

impl Names {
    /// The number of a word, which is kept if it is new.
    pub(super) fn add(&mut self, word: &str) -> u32 {
        if let Some(number) = self.numbers.get(word) {
            return *number;
        }
        let number = self.words.len() as u32;
        self.numbers.insert(word.to_owned(), number);
        self.words.push(word.to_owned());
        number
    }

    /// The number of a word that is known.
    pub(super) fn find(&self, word: &str) -> Option<u32> {
        self.numbers.get(word).copied()
    }

    /// The word of a number.
    pub(super) fn word(&self, number: u32) -> &str {
        &self.words[number as usize]
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.words.len()
    }
}
