"""The SQL that evaluates gates in DuckDB: crossings in two formulations, and all criteria around them.

`windows` looks at every known sample and the one before; `filter_first` takes the last sample below the
gate and the last one above before it, all gates at once, and looks at one sample after.
"""

from duckdb_episodes import level as level_of
from rules_as_sql import ABOVE_GATE, AROUND, followed, gates, held_criteria, held_key, number, of_shape


def crossings(rules, formulation):
    """The table `crossings`: of every gate and approach the last sample above, if one below follows it."""
    numbered = list(enumerate(gates(rules)))
    if not numbered:
        return None
    if formulation == "windows":
        body = "\nUNION ALL\n".join(_crossing_by_window(at, *gate) for at, gate in numbered)
        return f"CREATE TEMP TABLE crossings AS\n{body};"
    below = ",\n        ".join(
        f"max(k) FILTER (segment = '{segment}' AND {column} < {level}) AS below_{at}"
        for at, (segment, column, level) in numbered
    )
    above = ",\n        ".join(
        f"max(k) FILTER (segment = '{segment}' AND {column} >= {level} AND k < below_{at}) AS above_{at}"
        for at, (segment, column, level) in numbered
    )
    each = ", ".join(f"({at}, above_{at})" for at, _ in numbered)
    found = "\n    OR ".join(
        f"gate = {at} AND after.segment = '{segment}' AND after.{column} < {level}"
        for at, (segment, column, level) in numbered
    )
    return f"""CREATE TEMP TABLE crossings AS
WITH last_below AS (
    SELECT approach_key,
        {below}
    FROM samples GROUP BY approach_key
),
last_above AS (
    SELECT approach_key,
        {above}
    FROM samples JOIN last_below USING (approach_key) GROUP BY approach_key
),
candidates AS (
    SELECT approach_key, gate, above_k FROM last_above, LATERAL (VALUES {each}) AS each(gate, above_k)
    WHERE above_k IS NOT NULL
)
SELECT gate, approach_key, above_k
FROM candidates JOIN samples AS after USING (approach_key)
WHERE after.k = above_k + 1 AND (
    {found}
);"""


def _crossing_by_window(at, segment, column, level):
    return f"""SELECT gate, approach_key, above_k FROM (
    SELECT {at} AS gate, approach_key, above_k, k
    FROM (
        SELECT approach_key, k, {column} AS after,
            lag({column}) OVER steps AS before, lag(k) OVER steps AS above_k
        FROM samples WHERE segment = '{segment}' AND {column} IS NOT NULL
        WINDOW steps AS (PARTITION BY approach_key ORDER BY k)
    )
    WHERE before >= {level} AND after < {level}
    QUALIFY row_number() OVER (PARTITION BY approach_key ORDER BY k DESC) = 1
) WHERE k = above_k + 1"""


def around(rules):
    """The table `samples_around`: the samples within 5 s of every crossing, of all gates."""
    read = sorted(set().union(*(rule.columns() for rule in of_shape(rules, "gate"))))
    return f"""CREATE TEMP TABLE samples_around AS
SELECT gate, approach_key, above_k, k, {", ".join(read)}
FROM (
    SELECT gate, approach_key, above_k, unnest(range(above_k - {AROUND - 1}, above_k + {AROUND + 1})) AS k
    FROM crossings
) JOIN samples USING (approach_key, k);"""


def gate_values(rules):
    """One query a gate: rows of `gates` and events of the rules that share it."""
    tables = {}
    for at, sharing in enumerate(followed(rules).values()):
        keys = list(held_criteria(sharing))
        tables |= {rule.id: (f"held_{at}", keys) for rule in sharing}
    return [_values(at, gate, sharing, tables) for at, (gate, sharing) in enumerate(gates(rules).items())]


def _values(at, gate, sharing, tables):
    segment, column, level = gate
    inside = f"segment = '{segment}' AND {column} < {number(level + ABOVE_GATE)}"
    columns, names = [], {}
    for criterion in (one for rule in sharing for one in rule.criteria):
        if criterion.key() in names:
            continue
        names[criterion.key()] = name = f"c{len(names)}"
        value, applies = criterion.value, criterion.applies
        known = f"{value} IS NOT NULL"
        if applies:
            known = f"(({applies}) IS FALSE OR ({applies}) AND {known})"
        columns += [
            f"max({value}) FILTER (k = above_k) AS {name}_above",
            f"max({value}) FILTER (k = above_k + 1) AS {name}_below",
            f"bool_or({applies or 'true'}) FILTER (k = above_k) AS {name}_applies",
            f"count(*) FILTER ({known} AND {inside}) AS {name}_known",
        ]
    places = sorted({key for rule in sharing for key in rule.place_columns()})
    columns += [f"any_value({key}) AS {key}" for key in places]
    listed = ",\n        ".join(columns)
    rules = ",\n".join(_judged(rule, names, tables.get(rule.id)) for rule in sharing)
    results = "\nUNION ALL\n".join(part for rule in sharing for part in _results(rule, names))
    return f"""WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max({column}) FILTER (k = above_k) AS gate_above,
        max({column}) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER ({inside}) AS samples_around,
        {listed}
    FROM samples_around WHERE gate = {at} GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - {number(level)}) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
{rules}
{results}"""


def _judged(rule, names, held):
    """Per approach the value of every criterion, as known as it must be, whether it passed and was held."""
    columns = []
    table, keys = held or (None, [])
    for one in rule.criteria:
        name = names[one.key()]
        value = f"{name}_above"
        if not one.holds:
            value = f"({name}_above + fraction * ({name}_below::DOUBLE - {name}_above))::FLOAT"
        enough = f"{name}_known >= {rule.coverage} * samples_around"
        bounds = [
            f'"{one.name}" {sign} {rule.sql(bound)}'
            for sign, bound in ((">=", one.lower), ("<=", one.upper))
            if bound is not None
        ]
        columns += [
            f"CASE WHEN {enough} THEN {value} END AS \"{one.name}\"",
            f"CASE WHEN {name}_applies THEN {' AND '.join(bounds)} END AS {one.name}_passed",
            f"CASE WHEN {name}_applies THEN held_{keys.index(held_key(rule, one))} END AS {one.name}_held"
            if held
            else f"NULL::BOOLEAN AS {one.name}_held",
        ]
    for verdict, count in (("passed", "failed"), ("held", "not_held")):
        faults = (f"coalesce({one.name}_{verdict} IS FALSE, false)::INTEGER" for one in rule.criteria)
        columns.append(f"{' + '.join(faults)} AS {count}")
    listed = ",\n        ".join(columns)
    joined = f" LEFT JOIN {table} USING (approach_key)" if held else ""
    return f"{rule.id} AS MATERIALIZED (\n    SELECT *,\n        {listed}\n    FROM placed{joined}\n)"


def _results(rule, names):
    for one in rule.criteria:
        yield f"""SELECT 'gate' AS kind, approach_key, '{rule.id}' AS rule, '{one.name}' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "{one.name}"::DOUBLE AS value, NULL::VARCHAR AS level,
    {names[one.key()]}_applies AS applies, {one.name}_passed AS passed, {one.name}_held AS held
FROM {rule.id}"""
    faults, worst = rule.faults(), rule.faults()
    if len(rule.criteria) == 1 and rule.asks == "at":
        worst = f'"{rule.criteria[0].name}"'
    yield f"""SELECT 'event', approach_key, '{rule.id}', NULL, crossing_k, crossing_k, {worst}::DOUBLE,
    {level_of(rule)} AS level, NULL, NULL, NULL
FROM {rule.id} WHERE {faults} > 0 AND {level_of(rule)} IS NOT NULL"""
