"""Compares what a tool found with the tables of the store, row by row; fails with the first differences.

    python check.py STORE RULES_FOLDER RESULT.parquet [--rules N]
    python check.py STORE RULES_FOLDER RESULT.parquet --self-check

With --self-check it spoils a copy of the result in several ways and fails if one of them passes.
"""

import argparse
import sys
from pathlib import Path

import duckdb

from program import sample_files
from rules_as_sql import of_shape, read_rules

TOLERANCE = 1e-5  # of the greater of both numbers and 1
SHOWN = 5

# Our tables, in the columns of a result. Times of the store are seconds of the record; samples count from
# the first one, which every approach has.
OURS = """CREATE TABLE ours AS
WITH first AS (
    SELECT approach_key, time_s AS first_s FROM read_parquet({samples}, hive_partitioning = false)
    WHERE k = 0 AND approach_key >= 0
),
keys AS (
    SELECT flight_id, approach_no, approach_key, first_s, step_s
    FROM read_parquet('{store}/approaches/**/*.parquet') JOIN first USING (approach_key)
)
SELECT 'event' AS kind, approach_key, rule, NULL::VARCHAR AS criterion, (start_s - first_s) / step_s AS start_k,
    (end_s - first_s) / step_s AS end_k, worst AS value, level, NULL::BOOLEAN AS applies, NULL::BOOLEAN AS passed,
    NULL::BOOLEAN AS held
FROM read_parquet('{store}/events/*.parquet') JOIN keys USING (flight_id, approach_no)
WHERE rule IN {events}
UNION ALL
SELECT 'gate', approach_key, rule, criterion, (gate_s - first_s) / step_s, (gate_s - first_s) / step_s, value,
    NULL, applies, passed, held_to_50ft
FROM read_parquet('{store}/gates/*.parquet') JOIN keys USING (flight_id, approach_no)
WHERE rule IN {gates}"""

# Rows of one approach, rule and criterion are paired in time.
DIFFERENCES = """
WITH a AS (SELECT *, row_number() OVER pairs AS nth FROM ours
    WINDOW pairs AS (PARTITION BY kind, approach_key, rule, criterion ORDER BY start_k)),
b AS (SELECT *, row_number() OVER pairs AS nth FROM theirs
    WINDOW pairs AS (PARTITION BY kind, approach_key, rule, criterion ORDER BY start_k))
SELECT coalesce(a.kind, b.kind) AS kind, coalesce(a.approach_key, b.approach_key) AS approach_key,
    coalesce(a.rule, b.rule) AS rule, coalesce(a.criterion, b.criterion) AS criterion,
    a.nth IS NOT NULL AS in_ours, b.nth IS NOT NULL AS in_theirs,
    {{'start_k': a.start_k, 'end_k': a.end_k, 'value': a.value, 'level': a.level, 'applies': a.applies,
      'passed': a.passed, 'held': a.held}} AS ours,
    {{'start_k': b.start_k, 'end_k': b.end_k, 'value': b.value, 'level': b.level, 'applies': b.applies,
      'passed': b.passed, 'held': b.held}} AS theirs
FROM a FULL JOIN b ON a.kind = b.kind AND a.approach_key = b.approach_key AND a.rule = b.rule
    AND a.criterion IS NOT DISTINCT FROM b.criterion AND a.nth = b.nth
WHERE a.nth IS NULL OR b.nth IS NULL OR {unequal}
    OR a.level IS DISTINCT FROM b.level OR a.applies IS DISTINCT FROM b.applies
    OR a.passed IS DISTINCT FROM b.passed OR a.held IS DISTINCT FROM b.held
ORDER BY ALL LIMIT {shown}"""

# Each must be noticed.
SPOILS = {
    "a value a little off": "UPDATE theirs SET value = value + 0.001 * greatest(abs(value), 1) WHERE rowid = {row}",
    "an end one sample late": "UPDATE theirs SET end_k = end_k + 1 WHERE rowid = {row}",
    "another level": "UPDATE theirs SET level = 'other' WHERE rowid = {row}",
    "a row missing": "DELETE FROM theirs WHERE rowid = {row}",
    "a row twice": "INSERT INTO theirs SELECT * FROM theirs WHERE rowid = {row}",
    "a verdict turned": "UPDATE theirs SET passed = NOT passed WHERE rowid = {verdict}",
    "a criterion held that was not": "UPDATE theirs SET held = NOT held WHERE rowid = {held}",
    "a value forgotten": "UPDATE theirs SET value = NULL WHERE rowid = {row}",
}


def _texts(values):
    """A list for SQL that is never empty."""
    return "(" + ", ".join(f"'{value}'" for value in [*values, ""]) + ")"


def _load(database, store, rules):
    database.execute(
        OURS.format(
            store=Path(store).as_posix(),
            samples=[str(path) for path in sample_files(store)],
            events=_texts(rule.id for rule in rules),
            gates=_texts(rule.id for rule in of_shape(rules, "gate")),
        )
    )


def _differences(database):
    unequal = " OR ".join(
        f"a.{name} IS NULL <> (b.{name} IS NULL) OR abs(a.{name} - b.{name}) > "
        f"{TOLERANCE} * greatest(abs(a.{name}), abs(b.{name}), 1)"
        for name in ("start_k", "end_k", "value")
    )
    query = DIFFERENCES.format(unequal=f"({unequal})", shown=SHOWN)
    return database.execute(query).fetchall()


def compare(store, rules, result):
    """The first differences, and how many rows were compared of each kind."""
    with duckdb.connect() as database:
        _load(database, store, rules)
        database.execute(f"CREATE TABLE theirs AS FROM read_parquet('{result}')")
        counted = database.execute("SELECT kind, count(*), count(DISTINCT rule) FROM ours GROUP BY ALL ORDER BY ALL")
        counts = counted.fetchall()
        return _differences(database), counts


def self_check(store, rules, result):
    """Names of the spoils that went unnoticed."""
    unnoticed = []
    with duckdb.connect() as database:
        _load(database, store, rules)
        for name, spoil in SPOILS.items():
            database.execute(f"CREATE OR REPLACE TABLE theirs AS FROM read_parquet('{result}')")
            row = "(SELECT min(rowid) FROM theirs WHERE value IS NOT NULL)"
            verdict = "(SELECT min(rowid) FROM theirs WHERE passed IS NOT NULL)"
            held = "(SELECT min(rowid) FROM theirs WHERE held IS NOT NULL)"
            database.execute(spoil.format(row=row, verdict=verdict, held=held))
            if not _differences(database):
                unnoticed.append(name)
    return unnoticed


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("store")
    parser.add_argument("rules_folder")
    parser.add_argument("result")
    parser.add_argument("--rules", type=int)
    parser.add_argument("--self-check", action="store_true")
    args = parser.parse_args()
    rules = read_rules(args.rules_folder, args.rules)
    if args.self_check:
        unnoticed = self_check(args.store, rules, args.result)
        print("unnoticed: " + ", ".join(unnoticed) if unnoticed else f"all {len(SPOILS)} spoils noticed")
        return 1 if unnoticed else 0
    differences, counts = compare(args.store, rules, args.result)
    for one in differences:
        print(*one, sep=" | ")
    for kind, rows, of_rules in counts:
        print(f"{kind}: {rows} rows of {of_rules} rules compared")
    print("differs" if differences else "equal")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main())
