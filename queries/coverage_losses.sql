-- Rules that could be judged on too little in the month under review
--
-- Tells: where fewer than 90 % of the approaches that a rule is about could be judged in the latest month, or
-- 5 points less than in the months before, for the fleet and each aircraft type, with the most frequent reasons.
-- Cannot tell: what happened on the approaches that were not judged. They are in no rate: a rate of 0 with little
-- coverage is not reassuring. Withheld cells are left out here, on both sides of the comparison.
with latest as (
    select max(month) as month
    from coverage
),
earlier as (
    select
        coverage.rule,
        coverage.group_kind,
        coverage."group",
        count(*) as months,
        sum(coverage.evaluable) as evaluable,
        sum(coverage.in_scope) as in_scope
    from coverage
    cross join latest
    where coverage.month < latest.month
        and coverage.suppressed is null
    group by coverage.rule, coverage.group_kind, coverage."group"
),
compared as (
    select
        now.rule,
        now.group_kind,
        now."group",
        now.month,
        now.approaches,
        now.in_scope,
        now.evaluable,
        now.share_of_scope,
        cast(earlier.evaluable as double) / nullif(earlier.in_scope, 0) as share_of_scope_before,
        earlier.months as months_before,
        now.top_reasons
    from coverage as now
    join latest on now.month = latest.month
    left join earlier
        on earlier.rule = now.rule
        and earlier.group_kind = now.group_kind
        and earlier."group" = now."group"
    where now.suppressed is null
        and now.in_scope > 0
        and now.group_kind in ('fleet', 'aircraft_type')
)
select *
from compared
where share_of_scope < 0.9
    or share_of_scope_before - share_of_scope > 0.05
order by share_of_scope, rule, group_kind, "group"
