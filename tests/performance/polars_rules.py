"""The rules over the samples of a store, with Polars.

The needed columns are read once into memory; every rule is a lazy frame over them, and all are collected
together. Only the sample rows around a crossing are taken out of the table directly.
"""

import os

from program import RESULT, arguments, run
from rules_as_sql import all_columns, followed, gates, held_criteria, of_shape

FORMULATIONS = ["filter_first", "runs"]


def judge(files, rules, formulation):
    """Everything found, as one table."""
    table = (
        pl.scan_parquet(files, hive_partitioning=False)
        .select(all_columns(rules))
        .filter(pl.col("approach_key") >= 0)
        .collect()
        .with_row_index("row")
    )
    samples = table.lazy()
    episode = {"filter_first": episodes.filter_first, "runs": episodes.runs}[formulation]
    frames = [episode(samples, rule) for rule in of_shape(rules, "episode")]
    frames += [episodes.change(samples, rule) for rule in of_shape(rules, "change")]
    shared = gates(rules)
    crossed = [at_gates.crossings(samples, gate) for gate in shared]
    collected = pl.collect_all(frames + crossed)
    found, crossed = collected[: len(frames)], collected[len(frames) :]
    found = [frame.rename({"worst": "value"}) for frame in found]
    crossed = dict(zip(shared, crossed, strict=True))
    held = _held(samples, table, rules, crossed)
    later = []
    for gate, sharing in shared.items():
        placed, names = at_gates.values(at_gates.around(crossed[gate], table, sharing), gate, sharing)
        for rule in sharing:
            verdicts = held.get((gate, rule.to))
            keys = list(held_criteria(followed(rules)[gate, rule.to])) if verdicts is not None else []
            own = placed if verdicts is None else placed.join(verdicts, on="approach_key", how="left")
            later += at_gates.judge(own.lazy(), names, rule, keys)
    return _result(found + pl.collect_all(later))


def _held(samples, table, rules, crossed):
    """Of every stretch below a gate, per approach which criteria were held."""
    shared = followed(rules)
    frames = [below_gates.stretches(samples, crossed[gate], gate, to) for gate, to in shared]
    found = zip(shared.items(), pl.collect_all(frames), strict=True)
    return {key: below_gates.held(stretch, table, key[0], sharing) for (key, sharing), stretch in found}


def _result(frames):
    """One table of all frames; events lack the columns of gates."""
    types = {"start_k": pl.Float64, "end_k": pl.Float64, "value": pl.Float64}
    frames = [frame.with_columns(pl.col(name).cast(kind) for name, kind in types.items()) for frame in frames]
    whole = pl.concat(frames, how="diagonal").with_columns(pl.col("kind").fill_null("event"))
    return whole.select(RESULT.names).to_arrow().cast(RESULT)


if __name__ == "__main__":
    args = arguments("Polars", FORMULATIONS)
    os.environ["POLARS_MAX_THREADS"] = str(args.threads)  # read when Polars is first imported
    import polars as pl

    import polars_episodes as episodes
    import polars_gates as at_gates
    import polars_held as below_gates

    run("Polars", pl.__version__, args, lambda files, rules: judge(files, rules, args.formulation))
