"""The SQL that evaluates the rules in DuckDB, in two formulations that differ up to the islands.

`windows` asks every sample for what came before it, by window functions, rule by rule.
`filter_first` keeps only the samples on which a condition holds, all rules in one table, and looks at
the samples in between only where a short break has to be bridged.
Both read the needed columns once into a table.
"""

import re

from rules_as_sql import ABOVE_GATE, AROUND, gates, number, of_shape


def load(files, columns):
    """The needed columns of all samples, without the second copies before cleaning."""
    listed = ",\n    ".join(f"'{path}'" for path in files)
    return f"""CREATE OR REPLACE TEMP TABLE samples AS
SELECT {", ".join(columns)}
FROM read_parquet([
    {listed}
], hive_partitioning = false)
WHERE approach_key >= 0;"""


def _inside(rule):
    return f"segment = '{rule.segment}' AND ({rule.sql(rule.within)})"


def _level(rule):
    """The first level that matches, over columns named like measures or criteria."""
    cases = " ".join(f"WHEN {rule.sql(when)} THEN '{name}'" for name, when in rule.levels)
    for one in rule.criteria:
        cases = re.sub(rf"\b{one.name}\b", f'"{one.name}"', cases)  # a name may be a word of SQL
    return f"CASE {cases} END"


def _measures(rule):
    """The measures of an episode under the same two names for all rules; none has more than two."""
    values = [rule.sql(measure.value) for measure in rule.measures]
    return [*values, "NULL::FLOAT"][:2]


def episodes(rules, formulation):
    """Events of the episode rules, as one query; needs the table `samples`."""
    numbered = list(enumerate(of_shape(rules, "episode")))
    if not numbered:
        return None
    parts = []
    for at, rule in numbered:
        names = dict(zip((one.name for one in rule.measures), ("first", "second"), strict=False))
        folded = [
            f"{one.function}_{names[one.name]} AS {one.name}" for one in rule.measures
        ]
        parts.append(f"""SELECT approach_key, '{rule.id}' AS rule, start_k, end_k, worst, {_level(rule)} AS level
FROM (SELECT *, {", ".join(folded)}, end_k - start_k AS duration_s FROM episodes WHERE rule = {at})""")
    levels = "\nUNION ALL\n".join(parts)
    marked = _windowed(numbered) if formulation == "windows" else _filtered(numbered)
    holds = " ".join(f"WHEN {at} THEN {rule.hold}" for at, rule in numbered)
    return f"""WITH {marked},
islands AS (
    SELECT *, sum(begins::INTEGER) OVER (PARTITION BY rule, approach_key ORDER BY k) AS island
    FROM marked
),
episodes AS (
    SELECT rule, approach_key, min(k) AS start_k, max(k) + 1 AS end_k,
        max(first) AS max_first, min(first) AS min_first,
        max(second) AS max_second, min(second) AS min_second
    FROM islands GROUP BY rule, approach_key, island
    HAVING count(*) >= CASE rule {holds} END
)
SELECT * FROM (
{levels}
) WHERE level IS NOT NULL"""


def _windowed(numbered):
    """Per rule, every sample knows the last one that was on and the last one outside the window."""
    parts = []
    for at, rule in numbered:
        first, second = _measures(rule)
        parts.append(f"""    SELECT {at} AS rule, approach_key, k, first, second,
        coalesce(k - last_on - 1 > {rule.bridge} OR last_outside > last_on, true) AS begins
    FROM (
        SELECT *,
            max(CASE WHEN is_on THEN k END) OVER before AS last_on,
            coalesce(max(CASE WHEN outside THEN k END) OVER before, -1) AS last_outside
        FROM (
            SELECT approach_key, k, {first} AS first, {second} AS second,
                {_inside(rule)} AND ({rule.sql(rule.when)}) AS is_on,
                ({_inside(rule)}) IS FALSE AS outside
            FROM samples
        )
        WINDOW before AS (
            PARTITION BY approach_key ORDER BY k ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        )
    )
    WHERE is_on""")
    union = "\n    UNION ALL\n".join(parts)
    return f"marked AS (\n{union}\n)"


def _filtered(numbered):
    """The samples that are on, of all rules; short breaks are looked up in the samples."""
    parts = []
    for at, rule in numbered:
        first, second = _measures(rule)
        parts.append(f"""    SELECT {at} AS rule, approach_key, k, {first} AS first, {second} AS second
    FROM samples WHERE {_inside(rule)} AND ({rule.sql(rule.when)})""")
    union = "\n    UNION ALL\n".join(parts)
    bridges = " ".join(f"WHEN {at} THEN {rule.bridge}" for at, rule in numbered)
    outside = "\n        ".join(f"WHEN {at} THEN ({_inside(rule)}) IS FALSE" for at, rule in numbered)
    return f"""on_samples AS (
{union}
),
steps AS (
    SELECT *, lag(k) OVER (PARTITION BY rule, approach_key ORDER BY k) AS last_on,
        CASE rule {bridges} END AS bridge
    FROM on_samples
),
short_breaks AS (
    SELECT rule, approach_key, k, unnest(range(last_on + 1, k)) AS between_k
    FROM steps WHERE k - last_on - 1 BETWEEN 1 AND bridge
),
left_window AS (
    SELECT DISTINCT rule, approach_key, b.k
    FROM short_breaks b JOIN samples s USING (approach_key)
    WHERE s.k = b.between_k AND CASE rule
        {outside} END
),
marked AS (
    SELECT steps.*, coalesce(steps.k - last_on - 1 > bridge, true) OR left_window.k IS NOT NULL AS begins
    FROM steps LEFT JOIN left_window USING (rule, approach_key, k)
)"""


def changes(rules):
    """Events of the change rules: the sample before among those whose state is known.

    Rules about the same state share one pass over the samples.
    """
    passes, parts = {}, []
    for rule in of_shape(rules, "change"):
        steps = passes.setdefault((rule.segment, rule.column), f"steps_{len(passes)}")
        moved = {"up": ">", "down": "<", "any": "<>"}[rule.direction]
        measures = ", ".join(f"{rule.sql(one.value)} AS {one.name}" for one in rule.measures)
        parts.append(f"""SELECT approach_key, '{rule.id}' AS rule, k AS start_k, k AS end_k, worst, {_level(rule)} AS level
FROM (
    SELECT approach_key, k, {measures}
    FROM {steps} WHERE {rule.column} {moved} state_before AND k - k_before - 1 <= {rule.before}
)
WHERE worst IS NOT NULL""")
    if not parts:
        return None
    tables = ",\n".join(f"""{steps} AS MATERIALIZED (
    SELECT *, lag({column}) OVER known AS state_before, lag(k) OVER known AS k_before
    FROM samples WHERE segment = '{segment}' AND {column} IS NOT NULL
    WINDOW known AS (PARTITION BY approach_key ORDER BY k)
    QUALIFY {column} <> state_before
)""" for (segment, column), steps in passes.items())
    union = "\nUNION ALL\n".join(parts)
    return f"WITH {tables}\nSELECT * FROM (\n{union}\n) WHERE level IS NOT NULL"


def crossings(rules, formulation):
    """The table `crossings`: of every gate and approach the last sample above, if one below follows it."""
    numbered = list(enumerate(gates(rules)))
    if not numbered:
        return None
    if formulation == "windows":
        body = "\nUNION ALL\n".join(_crossing_by_window(at, *gate) for at, gate in numbered)
        return f"CREATE OR REPLACE TEMP TABLE crossings AS\n{body};"
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
    return f"""CREATE OR REPLACE TEMP TABLE crossings AS
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


def around():
    """The table `samples_around`: the samples within 5 s of every crossing, of all gates."""
    return f"""CREATE OR REPLACE TEMP TABLE samples_around AS
SELECT * FROM (
    SELECT gate, approach_key, above_k, unnest(range(above_k - {AROUND - 1}, above_k + {AROUND + 1})) AS k
    FROM crossings
) JOIN samples USING (approach_key, k);"""


def gate_values(rules):
    """One query a gate: rows of `gates` and events of the rules that share it."""
    return [_values(at, gate, sharing) for at, (gate, sharing) in enumerate(gates(rules).items())]


def _values(at, gate, sharing):
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
    columns += [f"any_value({key}) AS {key}" for key in sorted({key for rule in sharing for key in rule.place_columns()})]
    listed = ",\n        ".join(columns)
    rules = ",\n".join(_judged(rule, names) for rule in sharing)
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


def _judged(rule, names):
    """Per approach the value of every criterion, as known as it must be, and whether it passed."""
    columns = []
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
        ]
    columns.append(" + ".join(f"coalesce({one.name}_passed IS FALSE, false)::INTEGER" for one in rule.criteria) + " AS failed")
    listed = ",\n        ".join(columns)
    return f"{rule.id} AS MATERIALIZED (\n    SELECT *,\n        {listed}\n    FROM placed\n)"


def _results(rule, names):
    for one in rule.criteria:
        yield f"""SELECT 'gate' AS kind, approach_key, '{rule.id}' AS rule, '{one.name}' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "{one.name}"::DOUBLE AS value, NULL::VARCHAR AS level,
    {names[one.key()]}_applies AS applies, {one.name}_passed AS passed
FROM {rule.id}"""
    if rule.asks == "at":
        worst = f'"{rule.criteria[0].name}"' if len(rule.criteria) == 1 else "failed"
        yield f"""SELECT 'event', approach_key, '{rule.id}', NULL, crossing_k, crossing_k, {worst}::DOUBLE,
    {_level(rule)} AS level, NULL, NULL
FROM {rule.id} WHERE failed > 0 AND {_level(rule)} IS NOT NULL"""
