-- Training topics, the most pressing first
--
-- Tells: for the whole fleet each topic with the rules that are evidence for it, its rate, whether the latest month
-- differs, the checkpoint whose energy decides, the airports that stand out, and a sentence to read out.
-- Cannot tell: who needs training. Topics are ranked, never people. The rank rests on the lower end of a rate drawn
-- towards that of all topics; without a rank there was too little to rank.
select
    rank,
    topic,
    from_month,
    to_month,
    evaluable,
    approaches_with_event,
    rate_per_1000,
    ci_low,
    ci_high,
    change,
    why_no_change,
    detectable_rise_pct,
    decisive_checkpoint,
    airports,
    evidence_rules,
    sentence,
    suppressed
from training_topics
where group_kind = 'fleet'
order by rank nulls last, topic
