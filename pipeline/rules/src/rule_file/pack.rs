//! A whole pack of rules: the files, and what only all of them together show.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::builtin::BUILTIN;
use super::check::{self, Surroundings};
use super::checked::{CheckedRule, Shape};
use super::fault::{Fault, RuleFaults, SourceFile};
use super::{RuleContext, raw};

/// A rule file's name and text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleText {
    /// As it is to be named in messages.
    pub path: String,
    /// The file's name without ending: the rule's id.
    pub stem: String,
    /// Its text.
    pub text: String,
}

/// What stands for the pack that comes with the program where folders are named.
pub const BUILTIN_NAME: &str = "builtin";

/// Reads and checks every rule file of some folders as one pack, sorted by id: `*.toml` but not
/// `*.test.toml`, and no folders within. [`BUILTIN_NAME`] stands for the pack that comes with the program.
///
/// # Errors
/// Every fault of every file; two files of the same name are one.
pub fn read_packs(
    folders: &[PathBuf],
    context: &RuleContext,
) -> Result<Vec<CheckedRule>, RuleFaults> {
    let (files, mut faults) = gather(folders);
    match (check_pack(files, context), faults.is_empty()) {
        (Ok(rules), true) => Ok(rules),
        (Ok(_), false) => Err(RuleFaults::sorted(faults)),
        (Err(found), _) => {
            faults.extend(found.faults);
            Err(RuleFaults::sorted(faults))
        }
    }
}

/// The texts of the rule files of some folders.
///
/// # Errors
/// A folder or a file cannot be read, or two files have the same name.
pub fn pack_texts(folders: &[PathBuf]) -> Result<Vec<RuleText>, RuleFaults> {
    match gather(folders) {
        (files, faults) if faults.is_empty() => Ok(files),
        (_, faults) => Err(RuleFaults::sorted(faults)),
    }
}

/// What reads of all folders; of two files of the same name the first.
fn gather(folders: &[PathBuf]) -> (Vec<RuleText>, Vec<Fault>) {
    let mut files: Vec<RuleText> = Vec::new();
    let mut faults = Vec::new();
    for folder in folders {
        let found = if folder.as_os_str() == BUILTIN_NAME {
            Ok((builtin_texts(), Vec::new()))
        } else {
            texts(folder)
        };
        let found = match found {
            Ok((found, unread)) => {
                faults.extend(unread);
                found
            }
            Err(unread) => {
                faults.extend(unread.faults);
                continue;
            }
        };
        for file in found {
            let twin = files.iter().find(|earlier| earlier.stem == file.stem);
            if let Some(twin) = twin {
                let message = format!("rule `{}` is also in {}", file.stem, twin.path);
                let fault = Fault::unread(file.path, message);
                faults.push(fault.help("an id is one rule: take one of the two out, or rename it"));
            } else {
                files.push(file);
            }
        }
    }
    (files, faults)
}

/// What reads of a folder, and what does not.
fn texts(dir: &Path) -> Result<(Vec<RuleText>, Vec<Fault>), RuleFaults> {
    let unread = |path: &Path, error: std::io::Error| {
        Fault::unread(
            path.display().to_string(),
            format!("cannot be read: {error}"),
        )
    };
    let entries = std::fs::read_dir(dir)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|error| RuleFaults {
            faults: vec![unread(dir, error)],
        })?;
    let mut files = Vec::new();
    let mut faults = Vec::new();
    for path in entries.into_iter().map(|entry| entry.path()) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let stem = name
            .strip_suffix(".toml")
            .filter(|stem| !stem.ends_with(".test"));
        let (Some(stem), true) = (stem, path.is_file()) else {
            continue;
        };
        let stem = stem.to_owned();
        match std::fs::read_to_string(&path) {
            Ok(text) => files.push(RuleText {
                path: path.display().to_string(),
                stem,
                text,
            }),
            Err(error) => faults.push(unread(&path, error)),
        }
    }
    Ok((files, faults))
}

/// The pack that comes with the program, checked.
///
/// # Errors
/// Faults where `context` lacks a column that the pack reads.
pub fn builtin_pack(context: &RuleContext) -> Result<Vec<CheckedRule>, RuleFaults> {
    check_pack(builtin_texts(), context)
}

/// The texts of the built-in pack.
#[must_use]
pub fn builtin_texts() -> Vec<RuleText> {
    let files = BUILTIN.iter().map(|(id, text)| RuleText {
        path: format!("{BUILTIN_NAME}/{id}.toml"),
        stem: (*id).to_owned(),
        text: (*text).to_owned(),
    });
    files.collect()
}

/// Checks rule texts from anywhere as one pack; sorted by id.
///
/// # Errors
/// Every fault of every file.
pub fn check_pack(
    files: Vec<RuleText>,
    context: &RuleContext,
) -> Result<Vec<CheckedRule>, RuleFaults> {
    let (checked, faults) = check_files(files, context);
    if faults.is_empty() {
        Ok(checked.into_iter().map(|(_, rule)| rule).collect())
    } else {
        Err(RuleFaults::sorted(faults))
    }
}

/// The rules without a fault beside their files, sorted by id, and every fault.
pub(super) fn check_files(
    mut files: Vec<RuleText>,
    context: &RuleContext,
) -> (Vec<(SourceFile, CheckedRule)>, Vec<Fault>) {
    files.sort_by(|one, two| one.stem.cmp(&two.stem));
    let ids: BTreeSet<String> = files.iter().map(|file| file.stem.clone()).collect();
    let mut faults = Vec::new();
    let mut checked: Vec<(SourceFile, CheckedRule)> = Vec::new();
    for RuleText { path, stem, text } in files {
        let source = SourceFile::new(path, text);
        let (raw, found) = raw::read(&source);
        let Some(raw) = raw else {
            faults.extend(found);
            continue;
        };
        let around = Surroundings {
            context,
            ids: &ids,
            stem: &stem,
        };
        let (rule, found) = check::check(&source, &raw, found, &around);
        faults.extend(found);
        checked.extend(rule.map(|rule| (source, rule)));
    }
    faults.extend(cycles(&checked));
    (checked, faults)
}

/// One fault for each rule that would have to be known before itself.
fn cycles(checked: &[(SourceFile, CheckedRule)]) -> Vec<Fault> {
    let reading: Reading<'_> = checked
        .iter()
        .map(|(source, rule)| (rule.id.as_str(), (source, rule, rule.may_read())))
        .collect();
    let mut faults = Vec::new();
    for (id, (source, rule, _)) in &reading {
        let Some(way) = way_back(id, &reading) else {
            continue;
        };
        let way = way.join(" → ");
        let fault = if let Shape::Outcome { when, .. } = &rule.shape {
            let message = format!("the outcome depends on itself: {way}");
            let fault = source.fault(when.span.clone(), message, "leads back to this rule");
            fault.help("let one of them read samples or the approach row instead")
        } else {
            let first_line = 0..source.text.lines().next().unwrap_or_default().len();
            let message = format!("the denominator of the rule depends on itself: {way}");
            let fault = source.fault(first_line, message, "leads back to this rule");
            fault.help("take `among` out of one of them")
        };
        faults.push(fault);
    }
    faults
}

type Reading<'a> = BTreeMap<&'a str, (&'a SourceFile, &'a CheckedRule, BTreeSet<String>)>;

/// The shortest way from a rule to itself, both ends named.
fn way_back<'a>(id: &'a str, reading: &'a Reading<'a>) -> Option<Vec<&'a str>> {
    let mut ways = vec![vec![id]];
    let mut seen = BTreeSet::new();
    while !ways.is_empty() {
        let mut longer = Vec::new();
        for way in ways {
            let last = *way.last()?;
            let Some((_, _, read)) = reading.get(last) else {
                continue;
            };
            for next in read {
                let mut extended = way.clone();
                extended.push(next.as_str());
                if next == id {
                    return Some(extended);
                }
                if seen.insert(next.as_str()) {
                    longer.push(extended);
                }
            }
        }
        ways = longer;
    }
    None
}
