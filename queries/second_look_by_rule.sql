-- What people should look at, and what those who looked say
--
-- Tells: for each rule and level how many approaches wait for a look, and of how many the event stands or does not.
-- Cannot tell: how good a rule is where few were looked at; the table precision has the share with its interval. Open
-- is not yet looked at, which is neither of the two.
-- Restricted: it counts single approaches, and small counts are not withheld. `select * from second_look` lists them.
select
    rule,
    level,
    count(*) as listed,
    count(*) filter (where counts) as in_a_rate,
    count(*) filter (where verdict = 'open') as open,
    count(*) filter (where verdict = 'stands') as stands,
    count(*) filter (where verdict = 'does not stand') as does_not_stand
from second_look
group by rule, level
order by
    rule,
    case level
        when 'high' then 1
        when 'medium' then 2
        else 3
    end
