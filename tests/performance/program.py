"""What the programs of all tools have in common: arguments, timing, the result file, one JSON line."""

import argparse
import json
import resource
import time
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from rules_as_sql import read_rules

# One row an event or a criterion at a gate. Times are in samples; `end_k` is one past the last.
RESULT = pa.schema(
    [
        ("kind", pa.string()),  # event or gate
        ("approach_key", pa.int64()),
        ("rule", pa.string()),
        ("criterion", pa.string()),
        ("start_k", pa.float64()),
        ("end_k", pa.float64()),
        ("value", pa.float64()),  # `worst` of an event, the value at the gate
        ("level", pa.string()),
        ("applies", pa.bool_()),
        ("passed", pa.bool_()),
        ("held", pa.bool_()),
    ]
)


def sample_files(store):
    """The sample files of a store, less those that a later run has taken away."""
    store = Path(store)
    gone = set()
    for log in sorted((store / "runs").glob("*.json")):
        removed = json.loads(log.read_text(encoding="utf-8")).get("removed", {})
        gone.update(removed.get("samples", []))
    files = sorted(store.glob("samples/**/*.parquet"))
    return [str(path) for path in files if path.relative_to(store).as_posix() not in gone]


def arguments(tool, formulations, more=()):
    """The command line that every program understands; `more` are options of one tool."""
    parser = argparse.ArgumentParser(description=f"The rules over the samples of a store, with {tool}.")
    parser.add_argument("store")
    parser.add_argument("rules_folder")
    parser.add_argument("--formulation", choices=formulations, default=formulations[0])
    parser.add_argument("--rules", type=int, help="only the first so many by name")
    parser.add_argument("--rounds", type=int, default=3, help="timed rounds after the warm-up")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--result", help="write what was found to this Parquet file")
    for name, options in more:
        parser.add_argument(name, **options)
    return parser.parse_args()


def run(tool, version, args, judge):
    """Times `judge(files, rules)`, which returns a table of the schema above, and reports."""
    files, rules = sample_files(args.store), read_rules(args.rules_folder, args.rules)
    seconds, processor, table = [], [], None
    for _ in range(args.rounds + 1):
        start, used = time.perf_counter(), time.process_time()
        table = judge(files, rules)
        seconds.append(round(time.perf_counter() - start, 4))
        processor.append(round(time.process_time() - used, 4))
    if args.result:
        pq.write_table(table.select(RESULT.names).cast(RESULT), args.result)
    rows, approaches = _size(files)
    report = {
        "tool": tool,
        "version": version,
        "formulation": args.formulation,
        "threads": args.threads,
        "rules": len(rules),
        "rows": rows,
        "approaches": approaches,
        "found": table.num_rows,
        "warm_up_seconds": seconds[0],
        "seconds": seconds[1:],
        "processor_seconds": processor[1:],  # of all threads: says more where the machine is shared
        "peak_rss_mib": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1),
    }
    print(json.dumps(report), flush=True)


def _size(files):
    """Samples and approaches in the files, second copies before cleaning among them."""
    rows = sum(pq.read_metadata(path).num_rows for path in files)
    keys = (pq.read_table(path, columns=["approach_key"])["approach_key"].unique() for path in files)
    return rows, sum(len(some) for some in keys)
