//! What is refused, and how it is said.

use super::super::{QueryError, Sources};
use super::fault;
use super::folder::Made;

#[test]
fn whatever_does_more_than_read() {
    let made = Made::whole();
    let session = made.session(1);
    for text in [
        "drop table rates",
        "create table t as select 1",
        "create view v as select * from rates",
        "create external table t stored as parquet location '/tmp/t.parquet'",
        "copy rates to '/tmp/rates.csv'",
        "copy (select * from rates) to '/tmp/rates.csv'",
        "insert into rates select * from rates",
        "delete from rates",
        "update rates set rule = 'x'",
        "truncate table rates",
        "set datafusion.execution.batch_size = 1",
        "reset datafusion.execution.batch_size",
        "prepare p as select 1",
        "execute p",
        "begin",
        "explain insert into rates select * from rates",
        "explain analyze create table t as select 1",
        "select * into t from rates",
        "with x as (select * from rates) insert into rates select * from x",
        "with x as (insert into rates select * from rates) select * from x",
        "(select * into t from rates) union all select * from rates",
        "-- a comment\n drop table rates",
    ] {
        let fault = fault(&session, text);
        assert!(
            fault.message.contains("queries only read"),
            "{text}: {fault}"
        );
        assert!(fault.help.as_ref().unwrap().contains("SELECT"), "{text}");
        let word = &text[fault.span.clone().unwrap()];
        assert!(
            fault.message.contains(&word.to_uppercase()),
            "{text}: {fault}"
        );
    }
}

#[test]
fn none_and_several_statements() {
    let made = Made::share();
    let session = made.session(1);
    for text in ["", "  ", "-- nothing", ";"] {
        assert_eq!(
            fault(&session, text).message,
            "the query is empty",
            "{text}"
        );
    }
    let two = fault(&session, "select 1; select 2");
    assert_eq!(two.message, "2 statements, expected one");
    let hidden = fault(&session, "select 1; drop table rates");
    assert_eq!(hidden.message, "2 statements, expected one");
    assert!(session.prepare("query", "select 1;").is_ok());
}

#[test]
fn what_does_not_parse_with_its_place() {
    let made = Made::share();
    let text = "select rule\nfrom rates\nwere evaluable > 3";
    let fault = fault(&made.session(1), text);
    assert!(fault.message.starts_with("expected"), "{fault}");
    assert_eq!(&text[fault.span.clone().unwrap()], "evaluable", "{fault}");
}

#[test]
fn names_that_nothing_has() {
    let made = Made::whole();
    let session = made.session(1);
    for (text, word, near) in [
        ("select * from ratse", "ratse", "did you mean `rates`?"),
        (
            "select * from shar.rates",
            "rates",
            "did you mean `share.rates`?",
        ),
        (
            "select * from samples",
            "samples",
            "did you mean `store.samples`?",
        ),
        (
            "select * from store.sample",
            "sample",
            "did you mean `store.samples`?",
        ),
        ("select ruel from rates", "ruel", "did you mean `rule`?"),
        (
            "select r.evaluabel from rates as r",
            "r.evaluabel",
            "did you mean `evaluable`?",
        ),
        (
            "select rule from rates where airport = 'X'",
            "airport",
            "the columns here are",
        ),
        ("select * from zzzzzz", "zzzzzz", "--tables lists"),
        ("select * from other.share.rates", "rates", "did you mean"),
    ] {
        let fault = fault(&session, text);
        assert!(
            fault.help.as_ref().is_some_and(|help| help.contains(near)),
            "{text}: {fault:?}"
        );
        assert_eq!(
            &text[fault.span.clone().unwrap()],
            word,
            "{text}: {fault:?}"
        );
    }
}

#[test]
fn files() {
    let made = Made::whole();
    let session = made.session(1);
    let path = made.folder.path().join("share/tables/rates.parquet");
    for text in [
        format!("select * from '{}'", path.display()),
        format!("select * from \"{}\"", path.display()),
        format!("select * from \"file://{}\"", path.display()),
    ] {
        let fault = fault(&session, &text);
        assert!(
            fault.message.starts_with("unknown table"),
            "{text}: {fault}"
        );
        assert!(
            fault
                .help
                .as_ref()
                .unwrap()
                .contains("files cannot be asked"),
            "{text}"
        );
    }
}

#[test]
fn what_a_share_folder_lacks() {
    let made = Made::share();
    let session = made.session(1);
    assert!(session.prepare("query", "select * from rates").is_ok());
    for text in [
        "select * from events",
        "select * from restricted.robustness",
    ] {
        let fault = fault(&session, text);
        assert!(fault.message.contains("is restricted"), "{fault}");
    }
    let fault = fault(&session, "select * from store.samples");
    assert!(
        fault.help.as_ref().unwrap().contains("--store"),
        "{fault:?}"
    );
}

#[test]
fn a_folder_without_tables() {
    let folder = tempfile::TempDir::new().unwrap();
    let error = Sources::find(folder.path(), None).unwrap_err();
    assert!(matches!(error, QueryError::NoTables { .. }), "{error}");
}

#[test]
fn a_table_of_the_store_without_rows() {
    let made = Made::whole();
    let fault = fault(&made.session(1), "select * from store.suspect");
    assert_eq!(
        fault.message,
        "table `store.suspect` is empty in this store"
    );
}
