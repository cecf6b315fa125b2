"""The SQL that tells in DuckDB whether the criteria of a gate were held from the crossing down to its end."""

from rules_as_sql import ABOVE_GATE, followed, gates, held_criteria, number


def statements(rules):
    """Two tables for every stretch: its samples, and whether each criterion was held; needs `crossings`."""
    numbers = list(gates(rules))
    for at, ((gate, to), sharing) in enumerate(followed(rules).items()):
        criteria = list(enumerate(held_criteria(sharing).values()))
        yield _below(at, numbers.index(gate), gate, to, criteria)
        yield _held(at, criteria)


def _below(at, gate_at, gate, to, criteria):
    segment, column, level = gate
    flags = []
    for name, (rule, one) in criteria:
        known, outside = f"{one.value} IS NOT NULL", f"({rule.sql(rule.outside(one))})"
        if one.applies:
            known = f"({one.applies}) IS FALSE OR ({one.applies}) AND {known}"
            outside = f"({one.applies}) AND {outside}"
        flags += [f"coalesce({known}, false) AS known_{name}", f"{outside} AS outside_{name}"]
    listed = ",\n    ".join(flags)
    return f"""CREATE TEMP TABLE below_{at} AS
WITH crossed AS (
    SELECT approach_key, above_k FROM crossings WHERE gate = {gate_at}
),
ends AS (
    SELECT approach_key, any_value(above_k) AS above_k, max(k) + 1 AS last_k,
        min(k) FILTER ({column} < {to} AND k > above_k) AS past_k
    FROM samples JOIN crossed USING (approach_key)
    WHERE segment = '{segment}' GROUP BY approach_key
)
SELECT approach_key, k, past_k IS NOT NULL AS reached,
    {listed}
FROM samples JOIN ends USING (approach_key)
WHERE k > above_k AND k < coalesce(past_k, last_k)
    AND segment = '{segment}' AND {column} < {number(level + ABOVE_GATE)};"""


def _held(at, criteria):
    islands = "\n    UNION ALL\n".join(
        f"""    SELECT approach_key, {name} AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_{at} WHERE outside_{name}
    ) GROUP BY approach_key, island HAVING count(*) > {one.grace}"""
        for name, (_, one) in criteria
    )
    broken = ",\n        ".join(f"bool_or(criterion = {name}) AS broken_{name}" for name, _ in criteria)
    known = ", ".join(f"bool_and(known_{name}) AS known_{name}" for name, _ in criteria)
    held = ",\n    ".join(
        f"CASE WHEN broken_{name} THEN false WHEN known_{name} AND reached THEN true END AS held_{name}"
        for name, _ in criteria
    )
    return f"""CREATE TEMP TABLE held_{at} AS
WITH excursions AS (
{islands}
),
broken AS (
    SELECT approach_key,
        {broken}
    FROM excursions GROUP BY approach_key
),
counted AS (
    SELECT approach_key, bool_and(reached) AS reached, {known}
    FROM below_{at} GROUP BY approach_key
)
SELECT approach_key,
    {held}
FROM counted LEFT JOIN broken USING (approach_key);"""
