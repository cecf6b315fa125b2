"""Episodes and changes in Polars; samples come sorted by approach and time.

`filter_first` keeps the samples that are on and looks at the step in `k` to the one before; a running
count of samples outside the window tells whether a short break left it.
`runs` numbers runs of equal state over all samples (`rle_id`), and bridges between runs.
"""

import polars as pl

from rules_as_sql import names

KEY = pl.col("approach_key")


def condition(rule, text):
    """An expression of a rule file."""
    return pl.sql_expr(rule.sql(text))


def inside(rule):
    return (pl.col("segment") == rule.segment) & condition(rule, rule.within)


def leveled(frame, rule):
    """Events: what reaches a level, with the columns of a result."""
    level = pl.coalesce(pl.when(condition(rule, when)).then(pl.lit(name)) for name, when in rule.levels)
    return frame.with_columns(level=level).filter(pl.col("level").is_not_null())


def _events(episodes, rule):
    """From folded episodes to events."""
    held = episodes.filter(pl.col("active") >= rule.hold)
    held = held.with_columns(duration_s=pl.col("end_k") - pl.col("start_k"))
    return leveled(held, rule).select(
        KEY, "start_k", "end_k", "worst", "level", rule=pl.lit(rule.id)
    )


def _step(column):
    """Difference to the row before; null at the first."""
    return pl.col(column) - pl.col(column).shift(1)


def filter_first(samples, rule):
    """Events of an episode rule, from the samples that are on."""
    window = inside(rule)
    read = set().union(*(names(one.value) for one in rule.measures))
    on = (
        samples.select(
            KEY,
            pl.col("k"),
            *(read - {"approach_key", "k"}),
            is_on=window & condition(rule, rule.when),
            outside=window.not_().fill_null(False).cum_sum(),
        )
        .filter("is_on")
        .with_columns(**{one.name: condition(rule, one.value) for one in rule.measures})
    )
    begins = (
        (KEY != KEY.shift(1)) | (_step("k") > rule.bridge + 1) | (_step("outside") != 0)
    ).fill_null(True)
    folded = [getattr(pl.col(one.name), one.function)() for one in rule.measures]
    episodes = (
        on.with_columns(island=begins.cum_sum())
        .group_by("island")
        .agg(KEY.first(), pl.col("k").min().alias("start_k"), pl.col("k").max().alias("end_k") + 1,
             pl.len().alias("active"), *folded)
    )
    return _events(episodes, rule)


# States of a sample: outside the window, on, and neither; as multiples of a run's approach.
OUTSIDE, ON, OFF = 0, 1, 2


def runs(samples, rule):
    """Events of an episode rule, from runs of equal state over all samples."""
    window = inside(rule)
    state = (
        pl.when(window & condition(rule, rule.when)).then(ON).when(window.not_()).then(OUTSIDE).otherwise(OFF)
    )
    values = [one.name for one in rule.measures]
    folded = [getattr(pl.col(one.name), one.function)() for one in rule.measures]
    all_runs = (
        samples.select(
            KEY, "k", state=state.cast(pl.Int64), **{one.name: condition(rule, one.value) for one in rule.measures}
        )
        # Runs end where approaches end: their keys are far apart.
        .with_columns(run=(KEY * 3 + pl.col("state")).rle_id())
        .group_by("run", maintain_order=True)
        .agg(KEY.first(), pl.col("state").first(), pl.col("k").first().alias("first"),
             pl.col("k").last().alias("last"), *folded)
        .with_columns(outside=(pl.col("state") == OUTSIDE).cum_sum())
        .filter(pl.col("state") == ON)
    )
    begins = (
        (KEY != KEY.shift(1))
        | (pl.col("first") - pl.col("last").shift(1) - 1 > rule.bridge)
        | (_step("outside") != 0)
    ).fill_null(True)
    refolded = [getattr(pl.col(name), one.function)() for name, one in zip(values, rule.measures, strict=True)]
    episodes = (
        all_runs.with_columns(island=begins.cum_sum())
        .group_by("island")
        .agg(KEY.first(), pl.col("first").min().alias("start_k"), pl.col("last").max().alias("end_k") + 1,
             (pl.col("last") - pl.col("first") + 1).sum().alias("active"), *refolded)
    )
    return _events(episodes, rule)


def change(samples, rule):
    """Events of a change rule: the sample before among those whose state is known."""
    state = pl.col(rule.column)
    known = samples.filter((pl.col("segment") == rule.segment) & state.is_not_null())
    moved = {"up": state > state.shift(1), "down": state < state.shift(1), "any": state != state.shift(1)}
    changed = moved[rule.direction] & (KEY == KEY.shift(1)) & (_step("k") - 1 <= rule.before)
    measures = {one.name: condition(rule, one.value) for one in rule.measures}
    # Filtered before it is measured: `with_columns` keeps what `shift` needs together.
    found = known.with_columns(changed=changed).filter("changed").with_columns(**measures)
    return leveled(found.filter(pl.col("worst").is_not_null()), rule).select(
        KEY, "worst", "level", start_k=pl.col("k"), end_k=pl.col("k"), rule=pl.lit(rule.id)
    )
