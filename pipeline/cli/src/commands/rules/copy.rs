//! `rules copy`: the files of the built-in pack, to be changed.

use std::fs::OpenOptions;
use std::io::Write as _;

use rules::rule_file::{builtin_texts, nearest_name};

use super::super::Outcome;
use crate::arguments::{CopyRules, Global};
use crate::context::note_to_stderr;
use crate::failure::Failure;

pub(super) fn copy(global: &Global, command: &CopyRules) -> Result<Outcome, Failure> {
    let texts = builtin_texts();
    for id in &command.rule {
        if texts.iter().any(|text| text.stem == *id) {
            continue;
        }
        let near = nearest_name(id, texts.iter().map(|text| text.stem.as_str()));
        let hint = near.map_or_else(
            || "`glidetally rules list` shows what there is".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        return Err(Failure::text(format!("no built-in rule `{id}`; {hint}")));
    }
    std::fs::create_dir_all(&command.folder).map_err(|error| {
        Failure::text(format!(
            "cannot create {}: {error}",
            command.folder.display()
        ))
    })?;
    let wanted = |stem: &String| command.rule.is_empty() || command.rule.contains(stem);
    let mut written = 0;
    for text in texts.iter().filter(|text| wanted(&text.stem)) {
        let path = command.folder.join(format!("{}.toml", text.stem));
        // What is there may have been changed: it is never written over.
        let file = OpenOptions::new().write(true).create_new(true).open(&path);
        file.and_then(|mut file| file.write_all(text.text.as_bytes()))
            .map_err(|error| {
                Failure::text(format!(
                    "cannot write {}: {error}; a file that is there is not written over: choose another folder",
                    path.display()
                ))
            })?;
        written += 1;
    }
    note_to_stderr(
        global,
        &format!("{written} rules in {}", command.folder.display()),
    )?;
    for caution in report::CAUTIONS {
        note_to_stderr(global, caution)?;
    }
    Ok(Outcome::Clean)
}
