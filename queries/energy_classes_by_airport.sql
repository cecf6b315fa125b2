-- Where approaches carry too much energy, checkpoint by checkpoint
--
-- Tells: for each airport and checkpoint how many approaches needed drag, the gear, or more than there is, to come
-- back to the plan, and what share of these was unstable at the governing gate.
-- Cannot tell: the share of all approaches that came in high, as classes with few flights are withheld (suppressed
-- is filled then, and the numbers are empty, not zero). Only approaches with a known verdict at the gate count.
select
    "group" as airport,
    checkpoint,
    energy_class,
    approaches,
    unstable,
    unstable_share,
    ci_low,
    ci_high,
    suppressed
from energy_outcomes
where group_kind = 'airport'
    and routing = 'all'
    and energy_class in ('drag', 'gear', 'beyond')
order by
    "group",
    case checkpoint
        when '20nm' then 1
        when '15nm' then 2
        when '10nm' then 3
        when '7nm' then 4
        when '5nm' then 5
        when '4nm' then 6
        when '3nm' then 7
        when '1000ft' then 8
        else 9
    end,
    checkpoint,
    case energy_class
        when 'drag' then 1
        when 'gear' then 2
        else 3
    end
