//! The queries with a name: the list and the folder are the same, and each says what it is.

use std::collections::BTreeSet;
use std::path::Path;

use tempfile::TempDir;

use super::super::{BUILTIN_QUERIES, QueryError, RESTRICTED_TABLES, named_queries, named_query};
use crate::stages::{Collected, Summaries, write_tables};
use crate::summarise::{Conduct, Energy, Summary};

#[test]
fn the_list_is_the_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../queries");
    let names: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let listed: Vec<String> = BUILTIN_QUERIES
        .iter()
        .map(|(name, _)| format!("{name}.sql"))
        .collect();
    assert!(listed.is_sorted());
    assert_eq!(listed.into_iter().collect::<BTreeSet<_>>(), names);
}

#[test]
fn each_has_a_title_and_says_what_it_tells_and_what_it_cannot() {
    for query in named_queries() {
        let head: Vec<&str> = query
            .text
            .lines()
            .take_while(|line| line.starts_with("--"))
            .collect();
        assert!(
            !query.title.is_empty() && query.title.len() <= 80,
            "{}",
            query.name
        );
        for word in ["-- Tells: ", "-- Cannot tell: "] {
            assert!(
                head.iter().any(|line| line.starts_with(word)),
                "{}: {word}",
                query.name
            );
        }
        let says = head.iter().any(|line| line.starts_with("-- Restricted: "));
        assert_eq!(says, query.restricted, "{}", query.name);
        assert!(query.text.contains("\norder by"), "{}", query.name);
    }
}

#[test]
fn most_of_them_may_be_passed_round() {
    let free = named_queries()
        .iter()
        .filter(|query| !query.restricted)
        .count();
    assert!(free >= 6, "{free}");
}

#[test]
fn an_unknown_name_names_the_nearest() {
    let error = named_query("hot_spot").unwrap_err();
    assert!(
        matches!(&error, QueryError::NoSuchQuery { nearest: Some(near), .. } if near == "hot_spots"),
        "{error}"
    );
    assert!(
        error.to_string().contains("did you mean `hot_spots`?"),
        "{error}"
    );
    assert!(error.to_string().contains("--list"), "{error}");
}

#[test]
fn the_names_of_restricted_tables_are_those_that_are_written() {
    let out = TempDir::new().unwrap();
    let summaries = Summaries {
        summary: &Summary::default(),
        energy: &Energy::default(),
        conduct: &Conduct::default(),
        losses: &[],
        robustness: &[],
        recovery: &[],
        restated: &[],
        against: &[],
        examples: None,
    };
    write_tables(out.path(), &Collected::default(), &summaries, &[]).unwrap();
    let names: BTreeSet<String> = std::fs::read_dir(out.path().join("restricted/tables"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "parquet"))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(names, RESTRICTED_TABLES.map(str::to_owned).into());
}
