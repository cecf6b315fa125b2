//! Brings the files of one recording together, where `fleet.toml` says that recordings lie in parts.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use super::files::{InputFile, PartFile};
use crate::error::RecordsError;
use crate::fleet::{Fleet, Place};

/// Files as inputs: those that bear the mark of a part in groups, all others by themselves.
///
/// # Errors
/// When parts are expected and no file bears a mark.
pub(super) fn grouped(
    files: Vec<PartFile>,
    fleet: &Fleet,
    root: &Path,
) -> Result<Vec<InputFile>, RecordsError> {
    let marks = fleet.parts.all();
    let mut inputs = Vec::new();
    let mut groups: BTreeMap<(String, String), Vec<PartFile>> = BTreeMap::new();
    let any = !files.is_empty();
    for file in files {
        match fleet.parts.place(&file.relative) {
            Some(Place {
                part,
                before,
                after,
            }) => {
                let group = groups.entry((before, after)).or_default();
                group.push(PartFile { part, ..file });
            }
            None => inputs.push(InputFile::single(file, "unreadable file")),
        }
    }
    if !marks.is_empty() && groups.is_empty() && any {
        let marks: Vec<String> = marks
            .iter()
            .map(|part| format!("`{}`", part.mark))
            .collect();
        let message = format!(
            "[records] parts names {}, and no record bears one of them; correct parts in fleet.toml, or \
             take it out",
            marks.join(", ")
        );
        return Err(RecordsError::file(&fleet.records, message));
    }
    for ((before, after), mut parts) in groups {
        parts.sort_by_key(|part| part.part);
        inputs.push(group(&before, &after, parts, fleet, root));
    }
    Ok(inputs)
}

fn group(before: &str, after: &str, parts: Vec<PartFile>, fleet: &Fleet, root: &Path) -> InputFile {
    let marks = fleet.parts.all();
    let name = |part: usize| format!("{before}{}{after}", marks[part].mark);
    let there = |part: usize| parts.iter().any(|file| file.part == part);
    let missing: Vec<String> = (0..marks.len())
        .filter(|&part| !marks[part].optional && !there(part))
        .map(name)
        .collect();
    let relative = name(0);
    let mut content = String::new();
    for file in &parts {
        let _ = writeln!(content, "{} {}", marks[file.part].mark, file.content_hash);
    }
    let faulty = parts.iter().find_map(|file| {
        let fault = file.fault.as_ref()?;
        Some(format!("{}: {fault}", file.relative))
    });
    let (fault, reason) = if missing.is_empty() {
        (faulty, "unreadable file")
    } else {
        let found: Vec<&str> = parts.iter().map(|file| file.relative.as_str()).collect();
        let fault = format!(
            "{} is not there, and {} is; put it there, or name its part in optional_parts of [records]",
            missing.join(", "),
            found.join(", ")
        );
        (Some(fault), "part missing")
    };
    if fault.is_some() {
        // Of its own, so that no two such recordings pass for copies.
        content.push_str(&relative);
    }
    let whole = format!("{before}{after}");
    let file = whole.rsplit('/').next().unwrap_or_default();
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    InputFile {
        path: root.join(&relative),
        content_hash: blake3::hash(content.as_bytes()).to_hex().to_string(),
        fault,
        reason,
        recording: Some(stem.to_owned()),
        relative,
        parts,
    }
}
