"""The SQL that evaluates episodes and changes in DuckDB; episodes in two formulations.

`windows` asks every sample for what came before it, by window functions, rule by rule.
`filter_first` keeps only the samples on which a condition holds, all rules in one table, and looks at
the samples in between only where a short break has to be bridged.
Both work on the needed columns, read once into a table.
"""

import re

from rules_as_sql import of_shape

# Names of segments are compared in every rule: as an enumeration that costs a third.
SEGMENTS = "CREATE TYPE segment_name AS ENUM ('approach', 'roll', 'missed');"


def load(files, columns):
    """The needed columns of all samples, without the second copies before cleaning."""
    listed = ",\n    ".join(f"'{path}'" for path in files)
    read = ", ".join(columns).replace("segment", "segment::segment_name AS segment")
    return f"""CREATE TEMP TABLE samples AS
SELECT {read}
FROM read_parquet([
    {listed}
], hive_partitioning = false)
WHERE approach_key >= 0;"""


def _inside(rule):
    return f"segment = '{rule.segment}' AND ({rule.sql(rule.within)})"


def level(rule):
    """The first level that matches, over columns named like measures or criteria."""
    cases = " ".join(f"WHEN {rule.sql(when)} THEN '{name}'" for name, when in rule.levels)
    for one in rule.criteria:
        cases = re.sub(rf"\b{one.name}\b", f'"{one.name}"', cases)  # a name may be a word of SQL
    return f"CASE {cases} END"


def _measures(rule):
    """The measures of an episode under the same two names for all rules; none has more than two."""
    values = [rule.sql(measure.value) for measure in rule.measures]
    if len(values) > 2:
        raise ValueError(f"{rule.id}: more than two measures decide")
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
        parts.append(f"""SELECT approach_key, '{rule.id}' AS rule, start_k, end_k, worst, {level(rule)} AS level
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
        parts.append(f"""SELECT approach_key, '{rule.id}' AS rule, k AS start_k, k AS end_k, worst,
    {level(rule)} AS level
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
