-- Which criterion fails at which gate
--
-- Tells: for each gate and criterion on how many line approaches it was outside its bounds at the crossing, out of
-- those on which it applies and is known.
-- Cannot tell: anything about approaches on which the value was not known (counted apart) or that never crossed the
-- gate. Criteria of one gate fail together: the counts do not add up to approaches.
-- Restricted: it counts single approaches, and small counts are not withheld.
with line as (
    select flight_id, approach_no
    from approaches
    where coalesce(flight_purpose, 'line') = 'line'
)
select
    gates.rule,
    gates.gate_column,
    gates.gate_value,
    gates.criterion,
    count(gates.passed) as known,
    count(*) filter (where not gates.passed) as failed,
    cast(count(*) filter (where not gates.passed) as double) / nullif(count(gates.passed), 0) as failed_share,
    count(*) filter (where gates.applies and gates.passed is null) as unknown,
    count(*) filter (where gates.applies is null) as not_known_whether_it_applies
from gates
join line
    on line.flight_id = gates.flight_id
    and line.approach_no = gates.approach_no
where gates.applies is distinct from false
group by gates.rule, gates.gate_column, gates.gate_value, gates.criterion
order by gates.rule, gates.gate_column, gates.gate_value desc, gates.criterion
