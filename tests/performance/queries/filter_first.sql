-- segments
CREATE TYPE segment_name AS ENUM ('approach', 'roll', 'missed');

-- load
CREATE TEMP TABLE samples AS
SELECT approach_key, k, airport, approach_kind, cas_kt, cas_kt_max, distance_to_threshold_nm, flap_lever, gear_down, glide_path_dev_dots, height_aal_ft, landing_flap_set, localizer_dev_dots, over_vref_kt, roll_deg, segment::segment_name AS segment, sink_rate_fpm, thrust_over_min_pct, vfe_kt, vfe_lever_kt
FROM read_parquet([
    'STORE/samples/month=2025-01/HASH.parquet',
    'STORE/samples/month=2025-02/HASH.parquet'
], hive_partitioning = false)
WHERE approach_key >= 0;

-- episodes
WITH on_samples AS (
    SELECT 0 AS rule, approach_key, k, cas_kt_max - vfe_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0) AND (cas_kt_max > vfe_kt)
),
steps AS (
    SELECT *, lag(k) OVER (PARTITION BY rule, approach_key ORDER BY k) AS last_on,
        CASE rule WHEN 0 THEN 3 END AS bridge
    FROM on_samples
),
short_breaks AS (
    SELECT rule, approach_key, k, unnest(range(last_on + 1, k)) AS between_k
    FROM steps WHERE k - last_on - 1 BETWEEN 1 AND bridge
),
left_window AS (
    SELECT DISTINCT rule, approach_key, b.k
    FROM short_breaks b JOIN samples s USING (approach_key)
    WHERE s.k = b.between_k AND CASE rule
        WHEN 0 THEN (segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0)) IS FALSE END
),
marked AS (
    SELECT steps.*, coalesce(steps.k - last_on - 1 > bridge, true) OR left_window.k IS NOT NULL AS begins
    FROM steps LEFT JOIN left_window USING (rule, approach_key, k)
),
islands AS (
    SELECT *, sum(begins::INTEGER) OVER (PARTITION BY rule, approach_key ORDER BY k) AS island
    FROM marked
),
episodes AS (
    SELECT rule, approach_key, min(k) AS start_k, max(k) + 1 AS end_k,
        max(first) AS max_first, min(first) AS min_first,
        max(second) AS max_second, min(second) AS min_second
    FROM islands GROUP BY rule, approach_key, island
    HAVING count(*) >= CASE rule WHEN 0 THEN 0 END
)
SELECT * FROM (
SELECT approach_key, 'flap_limit_exceeded' AS rule, start_k, end_k, worst, CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 0)
) WHERE level IS NOT NULL;

-- changes
WITH steps_0 AS MATERIALIZED (
    SELECT *, lag(flap_lever) OVER known AS state_before, lag(k) OVER known AS k_before
    FROM samples WHERE segment = 'approach' AND flap_lever IS NOT NULL
    WINDOW known AS (PARTITION BY approach_key ORDER BY k)
    QUALIFY flap_lever <> state_before
)
SELECT * FROM (
SELECT approach_key, 'flap_selection_margin' AS rule, k AS start_k, k AS end_k, worst,
    CASE WHEN worst < 0 THEN 'high' WHEN worst < 5 / 2 THEN 'medium' WHEN worst < 5 THEN 'low' END AS level
FROM (
    SELECT approach_key, k, vfe_lever_kt - cas_kt AS worst
    FROM steps_0 WHERE flap_lever > state_before AND k - k_before - 1 <= 4
)
WHERE worst IS NOT NULL
) WHERE level IS NOT NULL;

-- crossings
CREATE TEMP TABLE crossings AS
WITH last_below AS (
    SELECT approach_key,
        max(k) FILTER (segment = 'approach' AND height_aal_ft < 1000.0) AS below_0
    FROM samples GROUP BY approach_key
),
last_above AS (
    SELECT approach_key,
        max(k) FILTER (segment = 'approach' AND height_aal_ft >= 1000.0 AND k < below_0) AS above_0
    FROM samples JOIN last_below USING (approach_key) GROUP BY approach_key
),
candidates AS (
    SELECT approach_key, gate, above_k FROM last_above, LATERAL (VALUES (0, above_0)) AS each(gate, above_k)
    WHERE above_k IS NOT NULL
)
SELECT gate, approach_key, above_k
FROM candidates JOIN samples AS after USING (approach_key)
WHERE after.k = above_k + 1 AND (
    gate = 0 AND after.segment = 'approach' AND after.height_aal_ft < 1000.0
);

-- around
CREATE TEMP TABLE samples_around AS
SELECT gate, approach_key, above_k, k, airport, approach_kind, distance_to_threshold_nm, gear_down, glide_path_dev_dots, height_aal_ft, landing_flap_set, localizer_dev_dots, over_vref_kt, roll_deg, segment, sink_rate_fpm, thrust_over_min_pct
FROM (
    SELECT gate, approach_key, above_k, unnest(range(above_k - 4, above_k + 6)) AS k
    FROM crossings
) JOIN samples USING (approach_key, k);

-- held_0
CREATE TEMP TABLE below_0 AS
WITH crossed AS (
    SELECT approach_key, above_k FROM crossings WHERE gate = 0
),
ends AS (
    SELECT approach_key, any_value(above_k) AS above_k, max(k) + 1 AS last_k,
        min(k) FILTER (height_aal_ft < 50 AND k > above_k) AS past_k
    FROM samples JOIN crossed USING (approach_key)
    WHERE segment = 'approach' GROUP BY approach_key
)
SELECT approach_key, k, past_k IS NOT NULL AS reached,
    coalesce(over_vref_kt IS NOT NULL, false) AS known_0,
    (over_vref_kt < 0 or over_vref_kt > 20) AS outside_0,
    coalesce(sink_rate_fpm IS NOT NULL, false) AS known_1,
    (sink_rate_fpm > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END)) AS outside_1,
    coalesce((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) AND glide_path_dev_dots IS NOT NULL, false) AS known_2,
    (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) AND (glide_path_dev_dots < -1 or glide_path_dev_dots > 1) AS outside_2,
    coalesce((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND localizer_dev_dots IS NOT NULL, false) AS known_3,
    (approach_kind = 'ils' or approach_kind = 'localizer' ) AND (localizer_dev_dots < -1 or localizer_dev_dots > 1) AS outside_3,
    coalesce(landing_flap_set IS NOT NULL, false) AS known_4,
    (landing_flap_set < 1) AS outside_4,
    coalesce(gear_down IS NOT NULL, false) AS known_5,
    (gear_down < 1) AS outside_5,
    coalesce(thrust_over_min_pct IS NOT NULL, false) AS known_6,
    (thrust_over_min_pct < 0) AS outside_6,
    coalesce(abs(roll_deg) IS NOT NULL, false) AS known_7,
    (abs(roll_deg) > 30) AS outside_7
FROM samples JOIN ends USING (approach_key)
WHERE k > above_k AND k < coalesce(past_k, last_k)
    AND segment = 'approach' AND height_aal_ft < 3000;

-- held_1
CREATE TEMP TABLE held_0 AS
WITH excursions AS (
    SELECT approach_key, 0 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_0
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 1 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_1
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 2 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_2
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 3 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_3
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 4 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_4
    ) GROUP BY approach_key, island HAVING count(*) > 0
    UNION ALL
    SELECT approach_key, 5 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_5
    ) GROUP BY approach_key, island HAVING count(*) > 0
    UNION ALL
    SELECT approach_key, 6 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_6
    ) GROUP BY approach_key, island HAVING count(*) > 5
    UNION ALL
    SELECT approach_key, 7 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_0 WHERE outside_7
    ) GROUP BY approach_key, island HAVING count(*) > 2
),
broken AS (
    SELECT approach_key,
        bool_or(criterion = 0) AS broken_0,
        bool_or(criterion = 1) AS broken_1,
        bool_or(criterion = 2) AS broken_2,
        bool_or(criterion = 3) AS broken_3,
        bool_or(criterion = 4) AS broken_4,
        bool_or(criterion = 5) AS broken_5,
        bool_or(criterion = 6) AS broken_6,
        bool_or(criterion = 7) AS broken_7
    FROM excursions GROUP BY approach_key
),
counted AS (
    SELECT approach_key, bool_and(reached) AS reached, bool_and(known_0) AS known_0, bool_and(known_1) AS known_1, bool_and(known_2) AS known_2, bool_and(known_3) AS known_3, bool_and(known_4) AS known_4, bool_and(known_5) AS known_5, bool_and(known_6) AS known_6, bool_and(known_7) AS known_7
    FROM below_0 GROUP BY approach_key
)
SELECT approach_key,
    CASE WHEN broken_0 THEN false WHEN known_0 AND reached THEN true END AS held_0,
    CASE WHEN broken_1 THEN false WHEN known_1 AND reached THEN true END AS held_1,
    CASE WHEN broken_2 THEN false WHEN known_2 AND reached THEN true END AS held_2,
    CASE WHEN broken_3 THEN false WHEN known_3 AND reached THEN true END AS held_3,
    CASE WHEN broken_4 THEN false WHEN known_4 AND reached THEN true END AS held_4,
    CASE WHEN broken_5 THEN false WHEN known_5 AND reached THEN true END AS held_5,
    CASE WHEN broken_6 THEN false WHEN known_6 AND reached THEN true END AS held_6,
    CASE WHEN broken_7 THEN false WHEN known_7 AND reached THEN true END AS held_7
FROM counted LEFT JOIN broken USING (approach_key);

-- gate_0
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(height_aal_ft) FILTER (k = above_k) AS gate_above,
        max(height_aal_ft) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND height_aal_ft < 3000) AS samples_around,
        max(over_vref_kt) FILTER (k = above_k) AS c0_above,
        max(over_vref_kt) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (over_vref_kt IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c0_known,
        max(sink_rate_fpm) FILTER (k = above_k) AS c1_above,
        max(sink_rate_fpm) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (sink_rate_fpm IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c1_known,
        max(glide_path_dev_dots) FILTER (k = above_k) AS c2_above,
        max(glide_path_dev_dots) FILTER (k = above_k + 1) AS c2_below,
        bool_or(approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) FILTER (k = above_k) AS c2_applies,
        count(*) FILTER (((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) AND glide_path_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c2_known,
        max(localizer_dev_dots) FILTER (k = above_k) AS c3_above,
        max(localizer_dev_dots) FILTER (k = above_k + 1) AS c3_below,
        bool_or(approach_kind = 'ils' or approach_kind = 'localizer' ) FILTER (k = above_k) AS c3_applies,
        count(*) FILTER (((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND localizer_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c3_known,
        max(landing_flap_set) FILTER (k = above_k) AS c4_above,
        max(landing_flap_set) FILTER (k = above_k + 1) AS c4_below,
        bool_or(true) FILTER (k = above_k) AS c4_applies,
        count(*) FILTER (landing_flap_set IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c4_known,
        max(gear_down) FILTER (k = above_k) AS c5_above,
        max(gear_down) FILTER (k = above_k + 1) AS c5_below,
        bool_or(true) FILTER (k = above_k) AS c5_applies,
        count(*) FILTER (gear_down IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c5_known,
        max(thrust_over_min_pct) FILTER (k = above_k) AS c6_above,
        max(thrust_over_min_pct) FILTER (k = above_k + 1) AS c6_below,
        bool_or(true) FILTER (k = above_k) AS c6_applies,
        count(*) FILTER (thrust_over_min_pct IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c6_known,
        max(abs(roll_deg)) FILTER (k = above_k) AS c7_above,
        max(abs(roll_deg)) FILTER (k = above_k + 1) AS c7_below,
        bool_or(true) FILTER (k = above_k) AS c7_applies,
        count(*) FILTER (abs(roll_deg) IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c7_known,
        any_value(airport) AS airport
    FROM samples_around WHERE gate = 0 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 1000) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
unstable_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "speed",
        CASE WHEN c0_applies THEN "speed" >= 0 AND "speed" <= 20 END AS speed_passed,
        CASE WHEN c0_applies THEN held_0 END AS speed_held,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "sink",
        CASE WHEN c1_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        CASE WHEN c1_applies THEN held_1 END AS sink_held,
        CASE WHEN c2_known >= 0.9 * samples_around THEN (c2_above + fraction * (c2_below::DOUBLE - c2_above))::FLOAT END AS "glide_path",
        CASE WHEN c2_applies THEN "glide_path" >= -1 AND "glide_path" <= 1 END AS glide_path_passed,
        CASE WHEN c2_applies THEN held_2 END AS glide_path_held,
        CASE WHEN c3_known >= 0.9 * samples_around THEN (c3_above + fraction * (c3_below::DOUBLE - c3_above))::FLOAT END AS "localizer",
        CASE WHEN c3_applies THEN "localizer" >= -1 AND "localizer" <= 1 END AS localizer_passed,
        CASE WHEN c3_applies THEN held_3 END AS localizer_held,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        CASE WHEN c4_applies THEN held_4 END AS flap_held,
        CASE WHEN c5_known >= 0.9 * samples_around THEN c5_above END AS "gear",
        CASE WHEN c5_applies THEN "gear" >= 1 END AS gear_passed,
        CASE WHEN c5_applies THEN held_5 END AS gear_held,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "thrust",
        CASE WHEN c6_applies THEN "thrust" >= 0 END AS thrust_passed,
        CASE WHEN c6_applies THEN held_6 END AS thrust_held,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "bank",
        CASE WHEN c7_applies THEN "bank" <= 30 END AS bank_passed,
        CASE WHEN c7_applies THEN held_7 END AS bank_held,
        coalesce(speed_passed IS FALSE, false)::INTEGER + coalesce(sink_passed IS FALSE, false)::INTEGER + coalesce(glide_path_passed IS FALSE, false)::INTEGER + coalesce(localizer_passed IS FALSE, false)::INTEGER + coalesce(flap_passed IS FALSE, false)::INTEGER + coalesce(gear_passed IS FALSE, false)::INTEGER + coalesce(thrust_passed IS FALSE, false)::INTEGER + coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(speed_held IS FALSE, false)::INTEGER + coalesce(sink_held IS FALSE, false)::INTEGER + coalesce(glide_path_held IS FALSE, false)::INTEGER + coalesce(localizer_held IS FALSE, false)::INTEGER + coalesce(flap_held IS FALSE, false)::INTEGER + coalesce(gear_held IS FALSE, false)::INTEGER + coalesce(thrust_held IS FALSE, false)::INTEGER + coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed LEFT JOIN held_0 USING (approach_key)
)
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'speed' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "speed"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, speed_passed AS passed, speed_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, sink_passed AS passed, sink_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'glide_path' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "glide_path"::DOUBLE AS value, NULL::VARCHAR AS level,
    c2_applies AS applies, glide_path_passed AS passed, glide_path_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'localizer' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "localizer"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, localizer_passed AS passed, localizer_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c5_applies AS applies, gear_passed AS passed, gear_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, bank_passed AS passed, bank_held AS held
FROM unstable_1000
UNION ALL
SELECT 'event', approach_key, 'unstable_1000', NULL, crossing_k, crossing_k, failed::DOUBLE,
    CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM unstable_1000 WHERE failed > 0 AND CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END IS NOT NULL;
