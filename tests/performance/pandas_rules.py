"""The rules over the samples of a store, with pandas and numpy.

`per_flight` is the script as an analyst writes it: file by file, approach by approach, rule by rule.
`per_file` calls the same functions for a whole file, where the step to another approach ends what lasts.
"""

import os

from program import RESULT, arguments, run
from rules_as_sql import all_columns, gates, of_shape

FORMULATIONS = ["per_flight", "per_file"]
SEGMENTS = ("approach", "roll", "missed")


def judge(files, rules, formulation):
    """Everything found, as one table."""
    judges = [judge_rules.episode(rule) for rule in of_shape(rules, "episode")]
    judges += [judge_rules.change(rule) for rule in of_shape(rules, "change")]
    judges += [judge_rules.Gate(gate, sharing).judge for gate, sharing in gates(rules).items()]
    found = []
    for path in files:
        samples = pd.read_parquet(path, columns=all_columns(rules), partitioning=None)
        samples = samples[samples["approach_key"] >= 0]
        for columns in _chunks(samples, formulation):
            masks = {name: columns["segment"] == name for name in SEGMENTS}
            for one in judges:
                found.extend(one(columns, masks))
    return pa.Table.from_pylist(found, schema=RESULT)


def _chunks(samples, formulation):
    """Arrays by column: of every approach, or of the whole file."""
    # Arrays once a file: taking them out of a frame again and again costs more than judging.
    whole = {name: _array(samples[name]) for name in samples.columns}
    if formulation == "per_file":
        yield whole
        return
    for rows in samples.groupby("approach_key", sort=False).indices.values():
        flight = slice(rows[0], rows[-1] + 1)
        yield {name: column[flight] for name, column in whole.items()}


def _array(column):
    """Texts as objects; states with unknown ones are floats already."""
    return column.to_numpy(dtype=object) if isinstance(column.dtype, pd.StringDtype) else column.to_numpy()


if __name__ == "__main__":
    args = arguments("pandas", FORMULATIONS)
    os.environ["OMP_NUM_THREADS"] = str(args.threads)
    import pandas as pd
    import pyarrow as pa

    import pandas_judge as judge_rules

    pa.set_cpu_count(args.threads)
    run("pandas", pd.__version__, args, lambda files, rules: judge(files, rules, args.formulation))
