"""Gates in Polars: the last downward crossing, and every criterion around it."""

import polars as pl

from polars_episodes import KEY, condition, leveled
from rules_as_sql import ABOVE_GATE, AROUND, held_key


def crossings(samples, gate):
    """Per approach the last sample above the gate that one below follows, if no gap hides the crossing."""
    segment, column, level = gate
    known = samples.select("row", KEY, "k", "segment", column).filter(
        (pl.col("segment") == segment) & pl.col(column).is_not_null()
    )
    before = pl.col(column).shift(1)
    return (
        known.with_columns(
            crosses=(before >= level) & (pl.col(column) < level) & (KEY == KEY.shift(1)),
            next_k=pl.col("k").shift(1) + 1,
        )
        .filter("crosses")
        .unique("approach_key", keep="last", maintain_order=True)
        .filter(pl.col("next_k") == pl.col("k"))
        .select(KEY, above_k=pl.col("k") - 1, above_row=pl.col("row") - 1)
    )


def around(crossed, table, sharing):
    """The samples within 5 s of every crossing, taken out of the table by their row."""
    read = set().union(*(rule.columns() for rule in sharing)) | {"approach_key"}
    wanted = (
        crossed.with_columns(offset=pl.lit(list(range(1 - AROUND, AROUND + 1)), dtype=pl.List(pl.Int64)))
        .explode("offset")
        .with_columns(row=pl.col("above_row").cast(pl.Int64) + pl.col("offset"))
        .filter(pl.col("row").is_between(0, table.height - 1))
    )
    samples = table.select(read)[wanted["row"]].rename({"approach_key": "row_key"})
    # Rows before the start or after the end of an approach belong to another.
    joined = pl.concat([wanted, samples], how="horizontal")
    return joined.filter(KEY == pl.col("row_key"))


def values(near, gate, sharing):
    """One row an approach: all criteria of the rules that share the gate, under one name each."""
    segment, column, level = gate
    inside = (pl.col("segment") == segment) & (pl.col(column) < level + ABOVE_GATE)
    above, below = pl.col("offset") == 0, pl.col("offset") == 1
    columns = [
        pl.col("above_k").first(),
        pl.col(column).filter(above).first().cast(pl.Float64).alias("gate_above"),
        pl.col(column).filter(below).first().cast(pl.Float64).alias("gate_below"),
        inside.sum().alias("samples_around"),
    ]
    names = {}
    for one in (one for rule in sharing for one in rule.criteria):
        if one.key() in names:
            continue
        names[one.key()] = name = f"c{len(names)}"
        value = pl.sql_expr(one.value)
        applies = pl.sql_expr(one.applies) if one.applies else pl.lit(True)
        known = value.is_not_null()
        if one.applies:
            known = applies.not_().fill_null(False) | (applies.fill_null(False) & known)
            columns.append(applies.filter(above).first().alias(f"{name}_applies"))
        else:
            columns.append(pl.lit(True).alias(f"{name}_applies"))
        columns += [
            value.filter(above).first().alias(f"{name}_above"),
            value.filter(below).first().alias(f"{name}_below"),
            (known & inside).sum().alias(f"{name}_known"),
        ]
    places = sorted({key for rule in sharing for key in rule.place_columns()})
    columns += [pl.col(key).first() for key in places]
    fraction = (pl.col("gate_above") - level) / (pl.col("gate_above") - pl.col("gate_below"))
    placed = near.group_by("approach_key").agg(*columns).with_columns(fraction=fraction)
    return placed.with_columns(start_k=pl.col("above_k") + pl.col("fraction")), names


def judge(placed, names, rule, keys):
    """Rows of `gates`, and the events, of one rule; `keys` are those of the columns `held_…`, if it has any."""
    columns, verdicts, held = {}, {}, {}
    for one in rule.criteria:
        name = names[one.key()]
        value = pl.col(f"{name}_above")
        if not one.holds:
            step = pl.col(f"{name}_below").cast(pl.Float64) - value
            value = (value + pl.col("fraction") * step).cast(pl.Float32)
        enough = pl.col(f"{name}_known") >= rule.coverage * pl.col("samples_around")
        columns[one.name] = pl.when(enough).then(value)
        passed = [
            pl.sql_expr(f'"{one.name}" {sign} {rule.sql(bound)}')
            for sign, bound in ((">=", one.lower), ("<=", one.upper))
            if bound is not None
        ]
        verdicts[f"{one.name}_passed"] = pl.when(pl.col(f"{name}_applies")).then(pl.all_horizontal(passed))
        followed = pl.col(f"held_{keys.index(held_key(rule, one))}") if keys else pl.lit(None, dtype=pl.Boolean)
        held[f"{one.name}_held"] = pl.when(pl.col(f"{name}_applies")).then(followed)
    judged = placed.with_columns(**columns).with_columns(**verdicts, **held)
    judged = judged.with_columns(failed=_count_false(verdicts), not_held=_count_false(held))
    for one in rule.criteria:
        yield judged.select(
            KEY,
            "start_k",
            kind=pl.lit("gate"),
            rule=pl.lit(rule.id),
            criterion=pl.lit(one.name),
            value=pl.col(one.name).cast(pl.Float64),
            applies=f"{names[one.key()]}_applies",
            passed=f"{one.name}_passed",
            held=f"{one.name}_held",
            end_k="start_k",
        )
    worst = rule.criteria[0].name if len(rule.criteria) == 1 and rule.asks == "at" else rule.faults()
    events = leveled(judged.filter(pl.col(rule.faults()) > 0), rule)
    yield events.select(
        KEY, "start_k", "level", rule=pl.lit(rule.id), value=pl.col(worst).cast(pl.Float64), end_k="start_k"
    )


def _count_false(names):
    return pl.sum_horizontal(pl.col(name).not_().fill_null(False) for name in names)
