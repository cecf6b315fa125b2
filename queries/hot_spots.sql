-- Airports and runways that stand out
--
-- Tells: places called hot spot or watch, by rule, with the rate drawn towards that of all places and how
-- probable it is that the place is truly above them.
-- Cannot tell: why, nor who. Terrain, procedures and traffic make most of a place. Places with too few approaches
-- are not called at all (insufficient data), and rules on trial never are. A runway is part of its airport.
select
    rule,
    class,
    rank,
    airport,
    runway,
    from_month,
    to_month,
    evaluable,
    approaches_with_event,
    rate_per_1000,
    ci_low,
    ci_high,
    shrunk_rate,
    shrunk_low_5pct,
    standardised_ratio,
    prob_above_fleet,
    prob_above_1_5x
from hotspots
where rule is not null
    and class in ('hot spot', 'watch')
order by rule, rank nulls last, airport, runway nulls first
