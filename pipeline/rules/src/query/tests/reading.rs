//! What a query reads is known whatever it looks like: the access log rests on it.

use std::sync::Arc;

use datafusion::catalog::TableProvider;
use datafusion::datasource::{MemTable, ViewTable};
use datafusion::prelude::SessionContext;

use super::super::reads::{ReadTable, reads};
use super::super::{Origin, Session};
use super::folder::Made;

fn read(session: &Session, text: &str) -> String {
    let query = session.prepare("query", text).unwrap();
    let names: Vec<String> = query.reads.iter().map(ToString::to_string).collect();
    names.join(" ")
}

#[test]
fn tables_are_found_in_every_corner_of_a_query() {
    let made = Made::whole();
    let session = made.session(1);
    for (text, expected) in [
        ("select 1", ""),
        ("select * from rates", "share.rates"),
        ("select * from share.rates", "share.rates"),
        ("select * from glidetally.share.rates", "share.rates"),
        ("select * from robustness", "share.robustness"),
        (
            "select * from restricted.robustness",
            "restricted.robustness",
        ),
        ("select * from events as rates", "restricted.events"),
        (
            "select * from rates join events on rates.rule = events.rule",
            "share.rates restricted.events",
        ),
        (
            "with x as (select * from events) select count(*) from x",
            "restricted.events",
        ),
        (
            "with rates as (select * from events) select * from rates",
            "restricted.events",
        ),
        (
            "select * from rates where rule in (select rule from events)",
            "share.rates restricted.events",
        ),
        (
            "select * from rates where exists (select 1 from events where events.rule = rates.rule)",
            "share.rates restricted.events",
        ),
        (
            "select (select max(airport) from approaches), rule from rates",
            "share.rates restricted.approaches",
        ),
        (
            "select rule from rates union all select flight_id from approaches",
            "share.rates restricted.approaches",
        ),
        ("select * from events where false", "restricted.events"),
        ("select * from events limit 0", "restricted.events"),
        ("explain select * from events", "restricted.events"),
        ("explain analyze select * from events", "restricted.events"),
        ("select count(*) from store.samples", "store.samples"),
        ("describe events", ""),
        ("show tables", ""),
        ("select * from information_schema.columns", ""),
        ("select * from generate_series(1, 3)", ""),
    ] {
        assert_eq!(read(&session, text), expected, "{text}");
    }
}

#[test]
fn a_view_hides_nothing() {
    let context = SessionContext::new();
    let batch = datafusion::arrow::array::RecordBatch::try_from_iter([(
        "x",
        Arc::new(datafusion::arrow::array::Int64Array::from(vec![1])) as _,
    )]);
    let batch = batch.unwrap();
    let table = MemTable::try_new(batch.schema(), vec![vec![batch]]).unwrap();
    let provider: Arc<dyn TableProvider> = Arc::new(table);
    let own = ReadTable {
        origin: Origin::Restricted,
        name: "events".to_owned(),
    };
    let known = vec![(Arc::clone(&provider), own.clone())];
    context.register_table("hidden", provider).unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let inner = runtime
        .block_on(context.sql("select x from hidden"))
        .unwrap();
    let view = ViewTable::new(inner.into_unoptimized_plan(), None);
    context.register_table("seen", Arc::new(view)).unwrap();
    let plan = runtime.block_on(context.sql("select * from seen")).unwrap();
    let found = reads(&plan.into_unoptimized_plan(), &known).unwrap();
    assert_eq!(found.into_iter().collect::<Vec<_>>(), [own]);
}
