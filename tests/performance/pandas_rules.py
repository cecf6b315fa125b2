"""The rules over the samples of a store, with pandas and numpy.

`per_flight` is the script as an analyst writes it: file by file, approach by approach, rule by rule.
`per_file` calls the same functions for a whole file, where the step to another approach ends what lasts.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pandas as pd
import pyarrow as pa

from pandas_episodes import Change, Episode
from pandas_gates import Gate
from program import RESULT, arguments, run
from rules_as_sql import all_columns, gates, of_shape

FORMULATIONS = ["per_flight", "per_file"]


def judge(files, rules, formulation, threads):
    """Everything found, as one table; whole files are judged side by side."""
    single = [Episode(rule) for rule in of_shape(rules, "episode")]
    single += [Change(rule) for rule in of_shape(rules, "change")]
    crossed = [Gate(gate, sharing) for gate, sharing in gates(rules).items()]
    read = all_columns(rules)

    def judge_file(path):
        samples = pd.read_parquet(path, columns=read, partitioning=None)
        samples = samples[samples["approach_key"] >= 0]
        found = []
        for columns, masks in _chunks(samples, formulation):
            found += [one.judge(columns, masks) for one in single]
            for gate in crossed:
                found += gate.judge(columns, masks)
        return [one for one in found if one]

    # Many small calls only wait for one another's interpreter: approach by approach one thread is faster.
    with ThreadPoolExecutor(threads if formulation == "per_file" else 1) as pool:
        return _table([one for found in pool.map(judge_file, files) for one in found])


def _chunks(samples, formulation):
    """Arrays by column and a mask by segment: of every approach, or of the whole file."""
    # Once a file: taking arrays out of a frame again and again costs more than judging.
    masks = {name: (samples["segment"] == name).to_numpy() for name in ("approach", "roll", "missed")}
    whole = {name: _array(samples[name]) for name in samples.columns if name != "segment"}
    if formulation == "per_file":
        yield whole, masks
        return
    for rows in samples.groupby("approach_key", sort=False).indices.values():
        flight = slice(rows[0], rows[-1] + 1)
        yield ({name: column[flight] for name, column in part.items()} for part in (whole, masks))


def _array(column):
    """Texts as objects; states with unknown ones are floats already."""
    return column.to_numpy(dtype=object) if isinstance(column.dtype, pd.StringDtype) else column.to_numpy()


def _table(found):
    """One table; verdicts are 1, 0 or NaN where they are not missing altogether."""
    counts = [len(one["approach_key"]) for one in found]
    unknown = np.full(max(counts, default=0), np.nan)
    columns = {}
    for name in ("kind", "rule", "criterion"):
        columns[name] = pa.array(np.repeat(np.array([one[name] for one in found], dtype=object), counts), pa.string())
    for name in ("approach_key", "start_k", "end_k", "value", "applies", "passed", "held"):
        columns[name] = np.concatenate([one.get(name, unknown[:n]) for one, n in zip(found, counts, strict=True)])
    for name in ("applies", "passed", "held"):
        columns[name] = pa.array(columns[name] == 1, mask=np.isnan(columns[name]))
    columns["value"] = pa.array(columns["value"], from_pandas=True)
    none = np.full(len(unknown), "")
    level = np.concatenate([one.get("level", none[:n]) for one, n in zip(found, counts, strict=True)])
    columns["level"] = pa.array(level.astype(object), pa.string(), mask=level == "")
    return pa.table([columns[name] for name in RESULT.names], names=RESULT.names).cast(RESULT)


if __name__ == "__main__":
    args = arguments("pandas", FORMULATIONS)
    pa.set_cpu_count(args.threads)
    run("pandas", pd.__version__, args, lambda files, rules: judge(files, rules, args.formulation, args.threads))
