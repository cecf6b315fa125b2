-- Why rules could not be judged
--
-- Tells: for each rule and reason on how many line approaches it was not evaluable, or judged on too little to
-- count, and their share of the line approaches that it looked at.
-- Cannot tell: what would have been found there. Some reasons mean that the situation did not occur, others that data
-- were missing: docs/rules.md tells which.
-- Restricted: it counts single approaches, and small counts are not withheld.
with line as (
    select flight_id, approach_no
    from approaches
    where coalesce(flight_purpose, 'line') = 'line'
),
judged as (
    select
        measurements.rule,
        measurements.status,
        measurements.reason,
        count(*) over (partition by measurements.rule) as line_approaches
    from measurements
    join line
        on line.flight_id = measurements.flight_id
        and line.approach_no = measurements.approach_no
)
select
    rule,
    status,
    reason,
    count(*) as approaches,
    max(line_approaches) as line_approaches,
    cast(count(*) as double) / max(line_approaches) as share
from judged
where status in ('not_evaluable', 'partial')
group by rule, status, reason
order by rule, status, approaches desc, reason
