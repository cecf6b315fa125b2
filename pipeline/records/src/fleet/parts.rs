//! Recordings that lie in several files, one for each rate or system.

use toml::Spanned;

use super::extend::Fault;
use crate::error::RecordsError;

/// What tells the parts of one recording apart: `_1hz` as the ending of a file's name before its point, or
/// `1hz/` as the name of a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// As written in `fleet.toml`.
    pub mark: String,
    /// A recording without it is taken as it is.
    pub optional: bool,
}

/// The parts of a recording; none where every file is a recording of its own.
///
/// The first is never optional: a recording goes by the path of its first part.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Parts(Vec<Part>);

/// Where one file stands among the parts: `before`, mark and `after` make its path again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Place {
    /// Index of the part.
    pub(crate) part: usize,
    pub(crate) before: String,
    pub(crate) after: String,
}

impl Parts {
    /// In the order of `fleet.toml`.
    #[must_use]
    pub fn all(&self) -> &[Part] {
        &self.0
    }

    /// The part that a path with forward slashes belongs to; none where it bears no mark.
    pub(crate) fn place(&self, path: &str) -> Option<Place> {
        self.0
            .iter()
            .enumerate()
            .find_map(|(part, Part { mark, .. })| {
                let (before, after) = match mark.strip_suffix('/') {
                    Some(folder) => in_folder(path, folder)?,
                    None => with_ending(path, mark)?,
                };
                Some(Place {
                    part,
                    before: before.to_owned(),
                    after: after.to_owned(),
                })
            })
    }
}

/// What stands before and after the folder nearest to the file that has this name.
fn in_folder<'a>(path: &'a str, folder: &str) -> Option<(&'a str, &'a str)> {
    let file = path.rfind('/')?;
    let mut end = file;
    loop {
        let start = path[..end].rfind('/').map_or(0, |slash| slash + 1);
        if &path[start..end] == folder {
            return Some((&path[..start], &path[end + 1..]));
        }
        end = start.checked_sub(1)?;
    }
}

/// What stands before the ending of the name, and the point with what follows it.
fn with_ending<'a>(path: &'a str, ending: &str) -> Option<(&'a str, &'a str)> {
    let (stem, after) = path.split_at(path.rfind('.')?);
    let before = stem.strip_suffix(ending)?;
    // A name that is nothing but the mark names no recording.
    (!before.is_empty() && !before.ends_with('/')).then_some((before, after))
}

/// Checks `parts` and `optional_parts` of `[records]`.
pub(super) fn check(
    parts: &[Spanned<String>],
    optional: &[Spanned<String>],
    fault: &Fault,
) -> Result<Parts, RecordsError> {
    let help = "give the endings of the file names, as in parts = [\"_1hz\", \"_8hz\"], or the folders, \
                as in parts = [\"1hz/\", \"8hz/\"]";
    let refuse = |at: &Spanned<String>, message: String, help| Err(fault(at.span(), message, help));
    if let [alone] = parts {
        let message = format!("parts has only `{}`", alone.get_ref());
        return refuse(
            alone,
            message,
            "a recording in parts has at least two of them",
        );
    }
    for (i, part) in parts.iter().enumerate() {
        let mark = part.get_ref().as_str();
        let folder = mark.strip_suffix('/');
        if folder.unwrap_or(mark).is_empty() || folder.unwrap_or(mark).contains(['/', '\\', '.']) {
            return refuse(part, format!("parts has `{mark}`"), help);
        }
        for other in &parts[..i] {
            let other = other.get_ref().as_str();
            if folder.is_some() != other.ends_with('/') {
                let message = format!("parts has the folder and the ending `{other}`, `{mark}`");
                return refuse(part, message, help);
            }
            let alike = match folder {
                Some(_) => other == mark,
                None => other.ends_with(mark) || mark.ends_with(other),
            };
            if alike {
                let message =
                    format!("a name that ends with one of `{other}`, `{mark}` may end with both");
                return refuse(
                    part,
                    message,
                    "make them longer, such as \"_1hz\" for \"1hz\"",
                );
            }
        }
    }
    for mark in optional {
        let named = |part: &Spanned<String>| part.get_ref() == mark.get_ref();
        match parts.iter().position(named) {
            None => {
                let message = format!(
                    "optional_parts has `{}`, which is not in parts",
                    mark.get_ref()
                );
                return refuse(mark, message, "take it from parts, as it is written there");
            }
            Some(0) => {
                let message = format!("the first part, `{}`, is optional", mark.get_ref());
                let help =
                    "a recording goes by its first part: put one first that every recording has";
                return refuse(mark, message, help);
            }
            Some(_) => {}
        }
    }
    let part = |mark: &Spanned<String>| Part {
        mark: mark.get_ref().clone(),
        optional: optional.iter().any(|o| o.get_ref() == mark.get_ref()),
    };
    Ok(Parts(parts.iter().map(part).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(marks: &[&str]) -> Parts {
        let part = |mark: &&str| Part {
            mark: (*mark).to_owned(),
            optional: false,
        };
        Parts(marks.iter().map(part).collect())
    }

    fn place(marks: &[&str], path: &str) -> Option<(usize, String, String)> {
        let place = parts(marks).place(path)?;
        Some((place.part, place.before, place.after))
    }

    fn some(part: usize, before: &str, after: &str) -> Option<(usize, String, String)> {
        Some((part, before.to_owned(), after.to_owned()))
    }

    #[test]
    fn endings_of_names() {
        let marks = ["_1hz", "_8hz"];
        let found = some(1, "records/a/f1", ".parquet");
        assert_eq!(place(&marks, "records/a/f1_8hz.parquet"), found);
        assert_eq!(place(&marks, "f.1_1hz.CSV"), some(0, "f.1", ".CSV"));
        for none in ["f1_8hz_copy.csv", "_8hz/f1.csv", "a/_8hz.csv", "f1_8hz"] {
            assert_eq!(place(&marks, none), None, "{none}");
        }
    }

    #[test]
    fn names_of_folders() {
        let marks = ["1hz/", "8hz/"];
        let found = some(1, "records/", "2025/f1.csv");
        assert_eq!(place(&marks, "records/8hz/2025/f1.csv"), found);
        assert_eq!(place(&marks, "1hz/f1.csv"), some(0, "", "f1.csv"));
        // The nearest of two.
        assert_eq!(place(&marks, "1hz/1hz/f1.csv"), some(0, "1hz/", "f1.csv"));
        for none in ["f1_8hz.csv", "records/8hz.csv", "8hz2/f1.csv"] {
            assert_eq!(place(&marks, none), None, "{none}");
        }
    }
}
