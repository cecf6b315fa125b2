"""The rules over the samples of a store, with DuckDB; the SQL is made by duckdb_episodes.py and duckdb_gates.py."""

from pathlib import Path

import duckdb
import pyarrow as pa

import duckdb_episodes as episodes
import duckdb_gates as at_gates
import duckdb_held as below_gates
from program import RESULT, arguments, run
from rules_as_sql import all_columns, read_rules

FORMULATIONS = ["filter_first", "windows"]


def statements(files, rules, formulation):
    """Name and SQL of everything to run, in order; what begins with SELECT or WITH gives results."""
    yield "segments", episodes.SEGMENTS
    yield "load", episodes.load(files, all_columns(rules))
    yield "episodes", episodes.episodes(rules, formulation)
    yield "changes", episodes.changes(rules)
    crossings = at_gates.crossings(rules, formulation)
    yield "crossings", crossings
    if crossings:
        yield "around", at_gates.around(rules)
        for at, query in enumerate(below_gates.statements(rules)):
            yield f"held_{at}", query
        for at, query in enumerate(at_gates.gate_values(rules)):
            yield f"gate_{at}", query


def judge(files, rules, formulation, threads):
    """Everything found, as one table; a fresh database each time, so that nothing is kept."""
    tables = []
    with duckdb.connect(config={"threads": threads, "preserve_insertion_order": False}) as database:
        for _, query in statements(files, rules, formulation):
            if query is None:
                continue
            if query.startswith("CREATE"):
                database.execute(query)
            else:
                tables.append(_result(database.sql(query).to_arrow_table()))
    return pa.concat_tables(tables)


def _result(table):
    """Episodes and changes lack the columns of gates."""
    fixed = {"kind": "event", "criterion": None, "applies": None, "passed": None, "held": None}
    columns = {"worst": "value"}
    table = table.rename_columns([columns.get(name, name) for name in table.column_names])
    for name, value in fixed.items():
        if name not in table.column_names:
            field = RESULT.field(name)
            table = table.append_column(field, pa.repeat(pa.scalar(value, field.type), table.num_rows))
    return table.select(RESULT.names).cast(RESULT)


def write_sql(folder, files, rules):
    """The SQL of both formulations, for a look."""
    for formulation in FORMULATIONS:
        parts = [f"-- {name}\n{query.rstrip(';')};" for name, query in statements(files, rules, formulation) if query]
        Path(folder, f"{formulation}.sql").write_text("\n\n".join(parts) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write = ("--write-sql", {"metavar": "FOLDER", "help": "write the SQL of both formulations, and run nothing"})
    args = arguments("DuckDB", FORMULATIONS, [write])
    if args.write_sql:
        samples = ["STORE/samples/month=2025-01/HASH.parquet", "STORE/samples/month=2025-02/HASH.parquet"]
        write_sql(args.write_sql, samples, read_rules(args.rules_folder, args.rules))
    else:
        run(
            "DuckDB",
            duckdb.__version__,
            args,
            lambda files, rules: judge(files, rules, args.formulation, args.threads),
        )
