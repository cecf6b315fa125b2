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
# One rule of each shape, whose SQL stands in queries/: that of all is the same over and over.
SHOWN = {"flap_limit_exceeded", "unstable_1000", "flap_selection_margin"}
# Stand for the sample files of a store where SQL is written for a look.
SAMPLES = ["STORE/samples/month=2025-01/HASH.parquet", "STORE/samples/month=2025-02/HASH.parquet"]


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


def sql(rules, formulation):
    """All statements of a formulation, for a look."""
    named = [(name, query) for name, query in statements(SAMPLES, rules, formulation) if query]
    return "\n\n".join(f"-- {name}\n{query.rstrip(';')};" for name, query in named) + "\n"


def shown(rules):
    """The rules whose SQL stands in queries/."""
    return [rule for rule in rules if rule.id in SHOWN]


def outdated(folder, rules):
    """Files of a folder that are not the SQL of the rules shown."""
    expected = {Path(folder, f"{formulation}.sql"): sql(shown(rules), formulation) for formulation in FORMULATIONS}
    return [path for path, text in expected.items() if path.read_text(encoding="utf-8") != text]


def write_sql(folder, rules):
    """The SQL of both formulations."""
    for formulation in FORMULATIONS:
        Path(folder, f"{formulation}.sql").write_text(sql(rules, formulation), encoding="utf-8")


if __name__ == "__main__":
    write = ("--write-sql", {"metavar": "FOLDER", "help": "write the SQL of both formulations, and run nothing"})
    every = ("--all-rules", {"action": "store_true", "help": "write the SQL of all rules, not of one of each shape"})
    args = arguments("DuckDB", FORMULATIONS, [write, every])
    if args.write_sql:
        read = read_rules(args.rules_folder, args.rules)
        write_sql(args.write_sql, read if args.all_rules else shown(read))
    else:
        run(
            "DuckDB",
            duckdb.__version__,
            args,
            lambda files, rules: judge(files, rules, args.formulation, args.threads),
        )
