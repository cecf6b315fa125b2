//! Rows: their numbers, their order, and how many.

use super::super::Cell;
use super::folder::Made;
use super::{asked, lines};

#[test]
fn numbers_are_those_of_the_tables_and_null_stays_null() {
    let made = Made::whole();
    let session = made.session(2);
    assert_eq!(
        lines(
            &session,
            "select rule, rate_per_1000, evaluable from rates order by rule, evaluable"
        ),
        ["a||20", "a|123456800.0|40", "b|0.3333333|10", "c|0.0|30"]
    );
    let (rows, _) = asked(
        &session,
        "select true, cast(null as double) as a, 1.5, 'x', null as b, cast('NaN' as double), cast('inf' as double)",
        None,
    );
    let expected = vec![
        Cell::Truth(true),
        Cell::Null,
        Cell::Number("1.5".to_owned()),
        Cell::Text("x".to_owned()),
        Cell::Null,
        Cell::Text("NaN".to_owned()),
        Cell::Text("inf".to_owned()),
    ];
    assert_eq!(rows, [expected]);
}

#[test]
fn a_store_is_the_files_that_its_runs_name() {
    let made = Made::whole();
    let session = made.session(2);
    // The older file has no speed, and the stray one is no part of the store.
    assert_eq!(
        lines(&session, "select approach_key, cas_kt from store.samples"),
        ["1|", "1|", "2|130.1", "2|131.7"]
    );
    let cards = session.tables().unwrap();
    let samples = cards.iter().find(|card| card.name == "samples").unwrap();
    assert_eq!(
        (samples.rows, samples.columns.len(), samples.plain),
        (4, 2, false)
    );
    let plain = cards
        .iter()
        .filter(|card| card.plain && card.name == "robustness");
    assert_eq!(plain.count(), 1);
}

#[test]
fn ties_are_broken_and_rows_without_order_have_one() {
    let made = Made::whole();
    for threads in [1, 2, 7] {
        let session = made.session(threads);
        for (text, expected) in [
            (
                "select rule, evaluable from rates order by rule",
                ["a|20", "a|40", "b|10", "c|30"],
            ),
            (
                "select rule, evaluable from rates order by rule limit 4",
                ["a|20", "a|40", "b|10", "c|30"],
            ),
            (
                "select evaluable, rule from rates order by rule desc",
                ["30|c", "10|b", "20|a", "40|a"],
            ),
            (
                "select evaluable from rates order by rule desc",
                ["30", "10", "20", "40"],
            ),
            (
                "select rule from rates where rule < 'c' union all select 'z'",
                ["a", "a", "b", "z"],
            ),
        ] {
            assert_eq!(lines(&session, text), expected, "{text}");
        }
        assert_eq!(
            lines(&session, "select rule, count(*) from rates group by rule"),
            ["a|2", "b|1", "c|1"]
        );
        // One table, as its file has it.
        assert_eq!(
            lines(&session, "select rule from rates limit 2"),
            ["b", "a"]
        );
    }
}

#[test]
fn a_limit_says_whether_there_were_more() {
    let made = Made::share();
    let session = made.session(1);
    let text = "select rule from rates order by evaluable";
    for (limit, rows, more) in [
        (None, 4, false),
        (Some(9), 4, false),
        (Some(4), 4, false),
        (Some(3), 3, true),
        (Some(0), 0, true),
    ] {
        let (found, there_are_more) = asked(&session, text, limit);
        assert_eq!((found.len(), there_are_more), (rows, more), "{limit:?}");
    }
}

#[test]
fn what_lists_tables_works() {
    let made = Made::whole();
    let session = made.session(1);
    let shown = lines(&session, "show tables");
    assert!(
        shown.iter().any(|line| line.contains("share|rates")),
        "{shown:?}"
    );
    assert!(
        shown.iter().any(|line| line.contains("store|samples")),
        "{shown:?}"
    );
    assert!(shown.is_sorted(), "{shown:?}");
    let columns = lines(&session, "describe rates");
    assert!(columns[0].starts_with("rule|"), "{columns:?}");
    assert!(!lines(&session, "show columns from rates").is_empty());
    assert!(!lines(&session, "explain select * from rates").is_empty());
}

#[test]
fn a_query_that_fails_on_the_way_says_so() {
    let made = Made::share();
    let session = made.session(1);
    let query = session
        .prepare("query", "select 1 / (evaluable - 10) from rates")
        .unwrap();
    let error = session
        .run(query, None, &mut |_| Ok(()))
        .unwrap_err()
        .to_string();
    assert!(error.to_lowercase().contains("divide by zero"), "{error}");
}
