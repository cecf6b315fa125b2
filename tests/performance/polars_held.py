"""Whether the criteria of a gate were held from the crossing down to its end, in Polars."""

import polars as pl

from polars_episodes import KEY
from rules_as_sql import ABOVE_GATE, held_criteria


def stretches(samples, crossed, gate, to):
    """Per approach the rows from the first below the gate to the first below `to`, else to the segment's last."""
    segment, column, _ = gate
    inside = samples.select("row", KEY, "segment", column).filter(pl.col("segment") == segment)
    below = inside.filter(pl.col(column) < to).join(crossed.lazy(), on="approach_key")
    past = below.filter(pl.col("row") > pl.col("above_row")).group_by("approach_key").agg(past=pl.col("row").min())
    last = inside.group_by("approach_key").agg(last=pl.col("row").max() + 1)
    ended = crossed.lazy().join(past, on="approach_key", how="left").join(last, on="approach_key")
    rows = pl.int_ranges(pl.col("above_row") + 1, pl.coalesce("past", "last"))
    return ended.select(KEY, reached=pl.col("past").is_not_null(), row=rows)


def held(stretch, table, gate, sharing):
    """One row an approach, and for every criterion whether it was held, unless that is unknown."""
    segment, column, level = gate
    read = set().union(*(rule.columns() for rule in sharing))
    rows = stretch.explode("row", empty_as_null=False)
    samples = pl.concat([rows, table.select(read)[rows["row"]]], how="horizontal")
    samples = samples.filter((pl.col("segment") == segment) & (pl.col(column) < level + ABOVE_GATE)).lazy()
    counted, broken = [pl.col("reached").first()], []
    for at, (rule, one) in enumerate(held_criteria(sharing).values()):
        known, outside = pl.sql_expr(one.value).is_not_null(), pl.sql_expr(rule.sql(rule.outside(one)))
        if one.applies:
            applies = pl.sql_expr(one.applies)
            known = applies.not_().fill_null(False) | (applies.fill_null(False) & known)
            outside = applies & outside
        counted.append(known.all().alias(f"known_{at}"))
        broken.append(_broken(samples.filter(outside), one.grace).with_columns(pl.lit(True).alias(f"broken_{at}")))
    counts, *broken = pl.collect_all([samples.group_by("approach_key").agg(*counted), *broken])
    for one in broken:
        counts = counts.join(one, on="approach_key", how="left")
    verdicts = []
    for at in range(len(broken)):
        good = pl.when(pl.col(f"known_{at}") & pl.col("reached")).then(True)
        verdicts.append(pl.when(f"broken_{at}").then(False).otherwise(good).alias(f"held_{at}"))
    return counts.select(KEY, *verdicts)


def _broken(outside, grace):
    """Approaches with an excursion longer than the grace."""
    begins = (KEY != KEY.shift(1)) | (pl.col("row") - pl.col("row").shift(1) != 1)
    islands = outside.with_columns(island=begins.fill_null(True).cum_sum())
    longest = islands.group_by("island").agg(KEY.first(), pl.len().alias("count")).filter(pl.col("count") > grace)
    return longest.select("approach_key").unique()
