-- Rates of the last six months, rule by rule
--
-- Tells: events per 1,000 approaches of the whole fleet with their interval, whether a month differs from the
-- months before, and where not, why not and how large a rise the month could have shown.
-- Cannot tell: why a rate is what it is, nor that nothing rose. A month without a signal may hold a rise
-- smaller than detectable_rise_pct. The denominator is the evaluable approaches, not all of them.
-- Empty numbers beside a filled suppressed are withheld; they are no zeros.
with reviewed as (
    select distinct month
    from trend_monthly
    order by month desc
    limit 6
)
select
    rule,
    month,
    rule_status,
    evaluable,
    approaches_with_event,
    rate_per_1000,
    ci_low,
    ci_high,
    baseline_rate,
    ratio,
    signal,
    why_no_signal,
    detectable_rise_pct,
    suppressed
from trend_monthly
where rule is not null
    and at_least_level = 'low'
    and group_kind = 'fleet'
    and month >= (select min(month) from reviewed)
order by rule, month
