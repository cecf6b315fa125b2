//! The fragments of one `s` argument by group: appended as they come, put in order when asked.

use std::ops::Range;

use super::error::RunsError;
use super::fragments::{Fragments, Width};
use super::samples::Samples;
use super::spans::Span;

/// End of a chain.
const NONE: u32 = u32::MAX;
/// Below this many fragments putting in order early is not worth the trouble.
const COMPACT_FROM: usize = 16_384;

/// Fragments in canonical form: by group, by sample, joined wherever they can be.
pub(super) struct Canonical {
    pub(super) fragments: Fragments,
    /// For each group, one past its last fragment.
    pub(super) ends: Vec<usize>,
}

/// All fragments of one `s` argument.
///
/// ```text
/// last:      group 0 ──▶ 3       group 1 ──▶ 2
/// previous:  3 ──▶ 0 ──▶ NONE    2 ──▶ 1 ──▶ NONE
/// fragments: [0, 1, 2, 3]        in the order in which they were begun
/// ```
#[derive(Debug, Clone)]
pub(super) struct Track {
    fragments: Fragments,
    /// For each fragment, the one begun before it in the same group.
    previous: Vec<u32>,
    /// For each group, the fragment begun last.
    last: Vec<u32>,
    /// Number of fragments at which to put them in order before the end.
    compact_at: usize,
}

impl Track {
    pub(super) fn new(width: Width) -> Self {
        Self {
            fragments: Fragments::new(width),
            previous: vec![],
            last: vec![],
            compact_at: COMPACT_FROM,
        }
    }

    /// Bytes allocated.
    pub(super) fn size(&self) -> usize {
        self.fragments.size() + (self.previous.capacity() + self.last.capacity()) * size_of::<u32>()
    }

    /// Makes room for groups up to `groups`.
    pub(super) fn reserve_groups(&mut self, groups: usize) {
        if groups > self.last.len() {
            self.last.resize(groups, NONE);
        }
    }

    /// Takes the samples of a batch, cut into spans.
    pub(super) fn push(&mut self, spans: &[Span], samples: &Samples<'_>) -> Result<(), RunsError> {
        for span in spans {
            let mut start = span.start;
            while start < span.end {
                let (code, end) = samples.codes.run(start, span.end);
                let k = span.k_first.wrapping_add((start - span.start) as i32);
                let last = self.last[span.group];
                let at = if last != NONE && self.fragments.heads[last as usize].continues(k, code) {
                    last as usize
                } else {
                    let at = self.fragments.open(k, code);
                    self.link(span.group, at)?;
                    at
                };
                self.fragments.absorb(at, k, samples, start..end);
                start = end;
            }
        }
        self.compact_if_large()
    }

    /// Takes fragment `from` of `other` into `group`.
    pub(super) fn append(
        &mut self,
        group: usize,
        other: &Fragments,
        from: usize,
    ) -> Result<(), RunsError> {
        let head = other.heads[from];
        let last = self.last[group];
        if last != NONE && self.fragments.heads[last as usize].continues(head.k_first, head.code) {
            self.fragments.join(last as usize, other, from);
            Ok(())
        } else {
            let at = self.fragments.copy(other, from);
            self.link(group, at)
        }
    }

    fn link(&mut self, group: usize, at: usize) -> Result<(), RunsError> {
        let index = u32::try_from(at)
            .ok()
            .filter(|index| *index != NONE)
            .ok_or(RunsError::TooMany(at))?;
        self.previous.push(self.last[group]);
        self.last[group] = index;
        Ok(())
    }

    /// Joins what can be joined once the fragments have doubled: interleaved input costs memory
    /// for what it is worth, not for every sample, and time only in proportion.
    pub(super) fn compact_if_large(&mut self) -> Result<(), RunsError> {
        if self.fragments.heads.len() >= self.compact_at {
            let all = self.canonical(0..self.last.len())?;
            self.replace(all)?;
            self.compact_at = COMPACT_FROM.max(2 * self.fragments.heads.len());
        }
        Ok(())
    }

    /// The canonical form of some groups.
    ///
    /// # Errors
    /// When a sample number occurs twice in a group.
    pub(super) fn canonical(&self, groups: Range<usize>) -> Result<Canonical, RunsError> {
        let from = &self.fragments;
        let mut fragments = Fragments::new(from.width);
        let mut ends = Vec::with_capacity(groups.len());
        let mut chain: Vec<usize> = vec![];
        for group in groups {
            chain.clear();
            let mut at = self.last[group];
            while at != NONE {
                chain.push(at as usize);
                at = self.previous[at as usize];
            }
            // As a rule samples come in order and this only verifies it.
            chain.reverse();
            if !chain.is_sorted_by_key(|at| from.heads[*at].k_first) {
                chain.sort_by_key(|at| from.heads[*at].k_first);
            }
            let begin = fragments.heads.len();
            for at in &chain {
                let head = from.heads[*at];
                if let Some(open) = fragments.heads.len().checked_sub(1).filter(|o| *o >= begin) {
                    let before = fragments.heads[open];
                    if head.k_first <= before.k_last {
                        return Err(RunsError::RepeatedK {
                            k: head.k_first,
                            first_from: before.k_first,
                            first_to: before.k_last,
                            again_from: head.k_first,
                            again_to: head.k_last,
                        });
                    }
                    if before.continues(head.k_first, head.code) {
                        fragments.join(open, from, *at);
                        continue;
                    }
                }
                fragments.copy(from, *at);
            }
            ends.push(fragments.heads.len());
        }
        Ok(Canonical { fragments, ends })
    }

    /// Gives up the first `groups` groups; those after move down.
    pub(super) fn take(&mut self, groups: usize) -> Result<Canonical, RunsError> {
        let taken = self.canonical(0..groups)?;
        if groups < self.last.len() {
            let rest = self.canonical(groups..self.last.len())?;
            self.replace(rest)?;
        } else {
            *self = Self::new(self.fragments.width);
        }
        Ok(taken)
    }

    fn replace(&mut self, canonical: Canonical) -> Result<(), RunsError> {
        self.fragments = canonical.fragments;
        self.previous = Vec::with_capacity(self.fragments.heads.len());
        self.last = vec![NONE; canonical.ends.len()];
        let mut start = 0;
        for (group, end) in canonical.ends.into_iter().enumerate() {
            for at in start..end {
                self.link(group, at)?;
            }
            start = end;
        }
        Ok(())
    }
}
