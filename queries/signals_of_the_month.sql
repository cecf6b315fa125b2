-- What differs in the month under review
--
-- Tells: every rule, level and group of which the latest month is higher or lower than the months before, by the
-- test that holds the number of comparisons in check; the most certain first.
-- Cannot tell: that the rest did not change. Look at why_no_signal and detectable_rise_pct of trend_monthly for
-- what the month could have shown. No row means no signal shown, not no change. Groups overlap: a runway, its
-- airport and the fleet may all show the same approaches.
select
    rule,
    at_least_level,
    group_kind,
    "group",
    month,
    signal,
    evaluable,
    approaches_with_event,
    rate_per_1000,
    baseline_rate,
    ratio,
    ratio_low,
    ratio_high,
    standardised_ratio,
    season_controlled,
    q
from trend_monthly
where rule is not null
    and signal is not null
    and month = (select max(month) from trend_monthly)
order by q, rule, at_least_level, group_kind, "group"
