-- How close to its limit each flap position is selected
--
-- Tells: for each aircraft type and flap position the moves down to it on line approaches, the airspeed left to the
-- limit of the new position (margin, negative above the limit), and how many were within 5 kt of it or above.
-- Cannot tell: anything about moves of which speed or limit is not known; they are counted apart. Limits are those of
-- the type file. A margin rests on samples: docs/robustness.md tells how sure it is.
-- Restricted: it counts single approaches, and small counts are not withheld.
select
    approaches.aircraft_type,
    cast(lever_moves."to" as int) as flap_lever,
    count(*) as moves,
    count(lever_moves.margin_kt) as moves_with_margin,
    count(*) - count(lever_moves.margin_kt) as moves_without_margin,
    min(lever_moves.margin_kt) as least_margin_kt,
    median(lever_moves.margin_kt) as median_margin_kt,
    count(*) filter (where lever_moves.margin_kt >= 0 and lever_moves.margin_kt < 5) as within_5_kt,
    count(*) filter (where lever_moves.margin_kt < 0) as above_limit
from lever_moves
join approaches
    on approaches.flight_id = lever_moves.flight_id
    and approaches.approach_no = lever_moves.approach_no
where lever_moves.channel = 'flap_lever'
    and lever_moves."to" > lever_moves."from"
    and coalesce(approaches.flight_purpose, 'line') = 'line'
group by approaches.aircraft_type, lever_moves."to"
order by approaches.aircraft_type, lever_moves."to"
