-- segments
CREATE TYPE segment_name AS ENUM ('approach', 'roll', 'missed');

-- load
CREATE TEMP TABLE samples AS
SELECT approach_key, k, airport, altitude_msl_ft, approach_kind, baro_altitude_ft, cas_kt, cas_kt_max, decel_kt_per_nm, distance_to_threshold_nm, energy_excess_ft, flap_altitude_limit_ft, flap_lever, gear_down, gear_lever, glide_path_dev_dots, ground_speed_kt, ground_spoiler, height_aal_ft, height_geometric_ft, height_over_rule_of_three_ft, landing_flap_set, localizer_dev_dots, over_target_kt, over_vref_kt, pitch_deg, planning_height_ft, pressure_altitude_ft, radio_altitude_ft, resolution_advisory, reverser, roll_deg, runway_remaining_ft, segment::segment_name AS segment, sink_rate_fpm, speedbrake, stall_warning, taws_alert, thrust_over_min_pct, vfe_kt, vfe_lever_kt, vfe_surface_kt, vle_kt, vlo_extend_kt, windshear_alert
FROM read_parquet([
    'STORE/samples/month=2025-01/HASH.parquet',
    'STORE/samples/month=2025-02/HASH.parquet'
], hive_partitioning = false)
WHERE approach_key >= 0;

-- episodes
WITH on_samples AS (
    SELECT 0 AS rule, approach_key, k, abs(baro_altitude_ft - altitude_msl_ft) AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 3000) AND (abs(baro_altitude_ft - altitude_msl_ft) > 150)
    UNION ALL
    SELECT 1 AS rule, approach_key, k, cas_kt - 250 AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (altitude_msl_ft < 10000) AND (cas_kt > 250 + 10)
    UNION ALL
    SELECT 2 AS rule, approach_key, k, over_target_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (distance_to_threshold_nm between 5 and 10) AND (over_target_kt > 25)
    UNION ALL
    SELECT 3 AS rule, approach_key, k, over_target_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (distance_to_threshold_nm < 5 and height_aal_ft > 500) AND (over_target_kt > 15)
    UNION ALL
    SELECT 4 AS rule, approach_key, k, pressure_altitude_ft - flap_altitude_limit_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (flap_lever > 0) AND (pressure_altitude_ft > flap_altitude_limit_ft)
    UNION ALL
    SELECT 5 AS rule, approach_key, k, cas_kt_max - vfe_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0) AND (cas_kt_max > vfe_kt)
    UNION ALL
    SELECT 6 AS rule, approach_key, k, cas_kt_max - vfe_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'missed' AND (flap_lever > 0) AND (cas_kt_max > vfe_kt)
    UNION ALL
    SELECT 7 AS rule, approach_key, k, vfe_kt - cas_kt_max AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0) AND (cas_kt_max > vfe_kt - 5 and cas_kt_max <= vfe_kt)
    UNION ALL
    SELECT 8 AS rule, approach_key, k, cas_kt_max - vle_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (gear_down = 1) AND (cas_kt_max > vle_kt)
    UNION ALL
    SELECT 9 AS rule, approach_key, k, cas_kt_max - vlo_extend_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (gear_lever = 1 and gear_down = 0) AND (cas_kt_max > vlo_extend_kt)
    UNION ALL
    SELECT 10 AS rule, approach_key, k, ground_speed_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'roll' AND (ground_speed_kt > 60) AND (ground_speed_kt > 160)
    UNION ALL
    SELECT 11 AS rule, approach_key, k, ground_speed_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'roll' AND (ground_speed_kt > 80) AND (ground_spoiler = 0)
    UNION ALL
    SELECT 12 AS rule, approach_key, k, height_geometric_ft - planning_height_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (distance_to_threshold_nm between 3 and 20) AND (height_geometric_ft - planning_height_ft > 600 and speedbrake <= 0.1)
    UNION ALL
    SELECT 13 AS rule, approach_key, k, abs(vfe_lever_kt - vfe_surface_kt) AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000) AND (vfe_lever_kt <> vfe_surface_kt)
    UNION ALL
    SELECT 14 AS rule, approach_key, k, pitch_deg AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 100 and radio_altitude_ft < 10) AND (pitch_deg > 8)
    UNION ALL
    SELECT 15 AS rule, approach_key, k, pitch_deg AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 100 and radio_altitude_ft < 10) AND (pitch_deg < 1)
    UNION ALL
    SELECT 16 AS rule, approach_key, k, height_aal_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000) AND (resolution_advisory = 1)
    UNION ALL
    SELECT 17 AS rule, approach_key, k, ground_speed_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'roll' AND (ground_speed_kt > 80) AND (reverser = 0)
    UNION ALL
    SELECT 18 AS rule, approach_key, k, sink_rate_fpm AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'missed' AND (height_aal_ft between 100 and 3000) AND (sink_rate_fpm > 500)
    UNION ALL
    SELECT 19 AS rule, approach_key, k, speedbrake AS first, height_aal_ft AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 1000) AND (speedbrake > 0.1)
    UNION ALL
    SELECT 20 AS rule, approach_key, k, height_aal_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000) AND (stall_warning = 1)
    UNION ALL
    SELECT 21 AS rule, approach_key, k, over_target_kt AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (distance_to_threshold_nm between 3 and 20) AND (sink_rate_fpm > 1000 and over_target_kt > 20 and flap_lever = 0 and gear_down = 0 and speedbrake <= 0.1)
    UNION ALL
    SELECT 22 AS rule, approach_key, k, height_aal_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000) AND (taws_alert = 1)
    UNION ALL
    SELECT 23 AS rule, approach_key, k, height_aal_ft AS first, NULL::FLOAT AS second
    FROM samples WHERE segment = 'approach' AND (height_aal_ft < 10000) AND (windshear_alert = 1)
),
steps AS (
    SELECT *, lag(k) OVER (PARTITION BY rule, approach_key ORDER BY k) AS last_on,
        CASE rule WHEN 0 THEN 5 WHEN 1 THEN 3 WHEN 2 THEN 3 WHEN 3 THEN 3 WHEN 4 THEN 3 WHEN 5 THEN 3 WHEN 6 THEN 3 WHEN 7 THEN 2 WHEN 8 THEN 3 WHEN 9 THEN 3 WHEN 10 THEN 2 WHEN 11 THEN 1 WHEN 12 THEN 5 WHEN 13 THEN 5 WHEN 14 THEN 1 WHEN 15 THEN 1 WHEN 16 THEN 5 WHEN 17 THEN 1 WHEN 18 THEN 1 WHEN 19 THEN 2 WHEN 20 THEN 5 WHEN 21 THEN 3 WHEN 22 THEN 5 WHEN 23 THEN 5 END AS bridge
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
        WHEN 0 THEN (segment = 'approach' AND (height_aal_ft < 3000)) IS FALSE
        WHEN 1 THEN (segment = 'approach' AND (altitude_msl_ft < 10000)) IS FALSE
        WHEN 2 THEN (segment = 'approach' AND (distance_to_threshold_nm between 5 and 10)) IS FALSE
        WHEN 3 THEN (segment = 'approach' AND (distance_to_threshold_nm < 5 and height_aal_ft > 500)) IS FALSE
        WHEN 4 THEN (segment = 'approach' AND (flap_lever > 0)) IS FALSE
        WHEN 5 THEN (segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0)) IS FALSE
        WHEN 6 THEN (segment = 'missed' AND (flap_lever > 0)) IS FALSE
        WHEN 7 THEN (segment = 'approach' AND (height_aal_ft < 10000 and flap_lever > 0)) IS FALSE
        WHEN 8 THEN (segment = 'approach' AND (gear_down = 1)) IS FALSE
        WHEN 9 THEN (segment = 'approach' AND (gear_lever = 1 and gear_down = 0)) IS FALSE
        WHEN 10 THEN (segment = 'roll' AND (ground_speed_kt > 60)) IS FALSE
        WHEN 11 THEN (segment = 'roll' AND (ground_speed_kt > 80)) IS FALSE
        WHEN 12 THEN (segment = 'approach' AND (distance_to_threshold_nm between 3 and 20)) IS FALSE
        WHEN 13 THEN (segment = 'approach' AND (height_aal_ft < 10000)) IS FALSE
        WHEN 14 THEN (segment = 'approach' AND (height_aal_ft < 100 and radio_altitude_ft < 10)) IS FALSE
        WHEN 15 THEN (segment = 'approach' AND (height_aal_ft < 100 and radio_altitude_ft < 10)) IS FALSE
        WHEN 16 THEN (segment = 'approach' AND (height_aal_ft < 10000)) IS FALSE
        WHEN 17 THEN (segment = 'roll' AND (ground_speed_kt > 80)) IS FALSE
        WHEN 18 THEN (segment = 'missed' AND (height_aal_ft between 100 and 3000)) IS FALSE
        WHEN 19 THEN (segment = 'approach' AND (height_aal_ft < 1000)) IS FALSE
        WHEN 20 THEN (segment = 'approach' AND (height_aal_ft < 10000)) IS FALSE
        WHEN 21 THEN (segment = 'approach' AND (distance_to_threshold_nm between 3 and 20)) IS FALSE
        WHEN 22 THEN (segment = 'approach' AND (height_aal_ft < 10000)) IS FALSE
        WHEN 23 THEN (segment = 'approach' AND (height_aal_ft < 10000)) IS FALSE END
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
    HAVING count(*) >= CASE rule WHEN 0 THEN 20 WHEN 1 THEN 10 WHEN 2 THEN 10 WHEN 3 THEN 10 WHEN 4 THEN 0 WHEN 5 THEN 0 WHEN 6 THEN 0 WHEN 7 THEN 5 WHEN 8 THEN 0 WHEN 9 THEN 0 WHEN 10 THEN 0 WHEN 11 THEN 5 WHEN 12 THEN 30 WHEN 13 THEN 60 WHEN 14 THEN 0 WHEN 15 THEN 0 WHEN 16 THEN 0 WHEN 17 THEN 8 WHEN 18 THEN 5 WHEN 19 THEN 3 WHEN 20 THEN 0 WHEN 21 THEN 15 WHEN 22 THEN 0 WHEN 23 THEN 0 END
)
SELECT * FROM (
SELECT approach_key, 'altimeter_setting_wrong' AS rule, start_k, end_k, worst, CASE WHEN worst > 150 + 300 THEN 'high' WHEN worst > 150 + 100 THEN 'medium' WHEN worst > 150 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 0)
UNION ALL
SELECT approach_key, 'fast_below_10000_msl' AS rule, start_k, end_k, worst, CASE WHEN worst > 40 THEN 'high' WHEN worst > 25 THEN 'medium' WHEN worst > 10 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 1)
UNION ALL
SELECT approach_key, 'fast_inside_10nm' AS rule, start_k, end_k, worst, CASE WHEN worst > 25 + 20 THEN 'high' WHEN worst > 25 + 10 THEN 'medium' WHEN worst > 25 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 2)
UNION ALL
SELECT approach_key, 'fast_inside_5nm' AS rule, start_k, end_k, worst, CASE WHEN worst > 15 + 20 THEN 'high' WHEN worst > 15 + 10 THEN 'medium' WHEN worst > 15 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 3)
UNION ALL
SELECT approach_key, 'flap_above_altitude_limit' AS rule, start_k, end_k, worst, CASE WHEN worst >= 500 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 4)
UNION ALL
SELECT approach_key, 'flap_limit_exceeded' AS rule, start_k, end_k, worst, CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 5)
UNION ALL
SELECT approach_key, 'flap_limit_exceeded_in_go_around' AS rule, start_k, end_k, worst, CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 6)
UNION ALL
SELECT approach_key, 'flap_limit_near' AS rule, start_k, end_k, worst, CASE WHEN worst < 5 THEN 'low' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 7)
UNION ALL
SELECT approach_key, 'gear_extended_limit_exceeded' AS rule, start_k, end_k, worst, CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 8)
UNION ALL
SELECT approach_key, 'gear_extension_limit_exceeded' AS rule, start_k, end_k, worst, CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 9)
UNION ALL
SELECT approach_key, 'ground_speed_high_at_touchdown' AS rule, start_k, end_k, worst, CASE WHEN worst > 160 + 20 THEN 'high' WHEN worst > 160 + 10 THEN 'medium' WHEN worst > 160 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 10)
UNION ALL
SELECT approach_key, 'ground_spoilers_not_deployed' AS rule, start_k, end_k, worst, CASE WHEN duration_s >= 15 THEN 'high' WHEN duration_s >= 5 THEN 'medium' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 11)
UNION ALL
SELECT approach_key, 'high_with_speedbrake_stowed' AS rule, start_k, end_k, worst, CASE WHEN worst >= 2000 THEN 'high' WHEN worst >= 1200 THEN 'medium' WHEN worst > 600 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 12)
UNION ALL
SELECT approach_key, 'lever_and_surface_disagree' AS rule, start_k, end_k, worst, CASE WHEN true THEN 'medium' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 13)
UNION ALL
SELECT approach_key, 'pitch_high_at_touchdown' AS rule, start_k, end_k, worst, CASE WHEN worst > 8 + 2 THEN 'high' WHEN worst > 8 + 1 THEN 'medium' WHEN worst > 8 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 14)
UNION ALL
SELECT approach_key, 'pitch_low_at_touchdown' AS rule, start_k, end_k, worst, CASE WHEN worst < 1 - 2 THEN 'high' WHEN worst < 1 - 1 THEN 'medium' WHEN worst < 1 THEN 'low' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 15)
UNION ALL
SELECT approach_key, 'resolution_advisory_on_approach' AS rule, start_k, end_k, worst, CASE WHEN worst < 1000 THEN 'high' WHEN worst >= 1000 THEN 'medium' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 16)
UNION ALL
SELECT approach_key, 'reverse_not_deployed' AS rule, start_k, end_k, worst, CASE WHEN duration_s >= 8 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 17)
UNION ALL
SELECT approach_key, 'sink_after_go_around' AS rule, start_k, end_k, worst, CASE WHEN worst > 1500 THEN 'high' WHEN worst > 1000 THEN 'medium' WHEN worst > 500 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 18)
UNION ALL
SELECT approach_key, 'speedbrake_below_1000' AS rule, start_k, end_k, worst, CASE WHEN lowest < 300 THEN 'high' WHEN lowest < 500 THEN 'medium' WHEN worst > 0.1 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, min_second AS lowest, end_k - start_k AS duration_s FROM episodes WHERE rule = 19)
UNION ALL
SELECT approach_key, 'stall_warning_on_approach' AS rule, start_k, end_k, worst, CASE WHEN worst < 1000 THEN 'high' WHEN worst >= 1000 THEN 'medium' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 20)
UNION ALL
SELECT approach_key, 'steep_while_decelerating' AS rule, start_k, end_k, worst, CASE WHEN worst > 40 and duration_s >= 60 THEN 'high' WHEN worst > 25 and duration_s >= 30 THEN 'medium' WHEN worst > 20 THEN 'low' END AS level
FROM (SELECT *, max_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 21)
UNION ALL
SELECT approach_key, 'terrain_warning' AS rule, start_k, end_k, worst, CASE WHEN worst < 1000 THEN 'high' WHEN worst >= 1000 THEN 'medium' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 22)
UNION ALL
SELECT approach_key, 'windshear_warning' AS rule, start_k, end_k, worst, CASE WHEN worst < 1000 THEN 'high' WHEN worst >= 1000 THEN 'medium' END AS level
FROM (SELECT *, min_first AS worst, end_k - start_k AS duration_s FROM episodes WHERE rule = 23)
) WHERE level IS NOT NULL;

-- changes
WITH steps_0 AS MATERIALIZED (
    SELECT *, lag(flap_lever) OVER known AS state_before, lag(k) OVER known AS k_before
    FROM samples WHERE segment = 'approach' AND flap_lever IS NOT NULL
    WINDOW known AS (PARTITION BY approach_key ORDER BY k)
    QUALIFY flap_lever <> state_before
)
SELECT * FROM (
SELECT approach_key, 'flap_selected_above_limit' AS rule, k AS start_k, k AS end_k, worst,
    CASE WHEN worst >= 10 THEN 'high' WHEN worst >= 4 THEN 'medium' WHEN worst > 0 THEN 'low' END AS level
FROM (
    SELECT approach_key, k, cas_kt - vfe_lever_kt AS worst
    FROM steps_0 WHERE flap_lever > state_before AND k - k_before - 1 <= 4
)
WHERE worst IS NOT NULL
UNION ALL
SELECT approach_key, 'flap_selected_while_accelerating' AS rule, k AS start_k, k AS end_k, worst,
    CASE WHEN worst < -2 * 4 THEN 'medium' WHEN worst < -4 THEN 'low' END AS level
FROM (
    SELECT approach_key, k, decel_kt_per_nm AS worst
    FROM steps_0 WHERE flap_lever > state_before AND k - k_before - 1 <= 4
)
WHERE worst IS NOT NULL
UNION ALL
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
        max(k) FILTER (segment = 'approach' AND height_aal_ft < 1000.0) AS below_0,
        max(k) FILTER (segment = 'approach' AND height_aal_ft < 500.0) AS below_1,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm < 10.0) AS below_2,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm < 15.0) AS below_3,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm < 20.0) AS below_4,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm < 5.0) AS below_5,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm < 0.0) AS below_6,
        max(k) FILTER (segment = 'roll' AND ground_speed_kt < 80.0) AS below_7
    FROM samples GROUP BY approach_key
),
last_above AS (
    SELECT approach_key,
        max(k) FILTER (segment = 'approach' AND height_aal_ft >= 1000.0 AND k < below_0) AS above_0,
        max(k) FILTER (segment = 'approach' AND height_aal_ft >= 500.0 AND k < below_1) AS above_1,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm >= 10.0 AND k < below_2) AS above_2,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm >= 15.0 AND k < below_3) AS above_3,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm >= 20.0 AND k < below_4) AS above_4,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm >= 5.0 AND k < below_5) AS above_5,
        max(k) FILTER (segment = 'approach' AND distance_to_threshold_nm >= 0.0 AND k < below_6) AS above_6,
        max(k) FILTER (segment = 'roll' AND ground_speed_kt >= 80.0 AND k < below_7) AS above_7
    FROM samples JOIN last_below USING (approach_key) GROUP BY approach_key
),
candidates AS (
    SELECT approach_key, gate, above_k FROM last_above, LATERAL (VALUES (0, above_0), (1, above_1), (2, above_2), (3, above_3), (4, above_4), (5, above_5), (6, above_6), (7, above_7)) AS each(gate, above_k)
    WHERE above_k IS NOT NULL
)
SELECT gate, approach_key, above_k
FROM candidates JOIN samples AS after USING (approach_key)
WHERE after.k = above_k + 1 AND (
    gate = 0 AND after.segment = 'approach' AND after.height_aal_ft < 1000.0
    OR gate = 1 AND after.segment = 'approach' AND after.height_aal_ft < 500.0
    OR gate = 2 AND after.segment = 'approach' AND after.distance_to_threshold_nm < 10.0
    OR gate = 3 AND after.segment = 'approach' AND after.distance_to_threshold_nm < 15.0
    OR gate = 4 AND after.segment = 'approach' AND after.distance_to_threshold_nm < 20.0
    OR gate = 5 AND after.segment = 'approach' AND after.distance_to_threshold_nm < 5.0
    OR gate = 6 AND after.segment = 'approach' AND after.distance_to_threshold_nm < 0.0
    OR gate = 7 AND after.segment = 'roll' AND after.ground_speed_kt < 80.0
);

-- around
CREATE TEMP TABLE samples_around AS
SELECT gate, approach_key, above_k, k, airport, approach_kind, distance_to_threshold_nm, energy_excess_ft, gear_down, glide_path_dev_dots, ground_speed_kt, height_aal_ft, height_geometric_ft, height_over_rule_of_three_ft, landing_flap_set, localizer_dev_dots, over_vref_kt, roll_deg, runway_remaining_ft, segment, sink_rate_fpm, thrust_over_min_pct
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

-- held_2
CREATE TEMP TABLE below_1 AS
WITH crossed AS (
    SELECT approach_key, above_k FROM crossings WHERE gate = 1
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
    AND segment = 'approach' AND height_aal_ft < 2500;

-- held_3
CREATE TEMP TABLE held_1 AS
WITH excursions AS (
    SELECT approach_key, 0 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_0
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 1 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_1
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 2 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_2
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 3 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_3
    ) GROUP BY approach_key, island HAVING count(*) > 3
    UNION ALL
    SELECT approach_key, 4 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_4
    ) GROUP BY approach_key, island HAVING count(*) > 0
    UNION ALL
    SELECT approach_key, 5 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_5
    ) GROUP BY approach_key, island HAVING count(*) > 0
    UNION ALL
    SELECT approach_key, 6 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_6
    ) GROUP BY approach_key, island HAVING count(*) > 5
    UNION ALL
    SELECT approach_key, 7 AS criterion FROM (
        SELECT approach_key, k - row_number() OVER (PARTITION BY approach_key ORDER BY k) AS island
        FROM below_1 WHERE outside_7
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
    FROM below_1 GROUP BY approach_key
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
        max(glide_path_dev_dots) FILTER (k = above_k) AS c0_above,
        max(glide_path_dev_dots) FILTER (k = above_k + 1) AS c0_below,
        bool_or(approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) AND glide_path_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c0_known,
        max(abs(roll_deg)) FILTER (k = above_k) AS c1_above,
        max(abs(roll_deg)) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (abs(roll_deg) IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c1_known,
        max(energy_excess_ft) FILTER (k = above_k) AS c2_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c2_below,
        bool_or(true) FILTER (k = above_k) AS c2_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c2_known,
        max(gear_down) FILTER (k = above_k) AS c3_above,
        max(gear_down) FILTER (k = above_k + 1) AS c3_below,
        bool_or(true) FILTER (k = above_k) AS c3_applies,
        count(*) FILTER (gear_down IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c3_known,
        max(landing_flap_set) FILTER (k = above_k) AS c4_above,
        max(landing_flap_set) FILTER (k = above_k + 1) AS c4_below,
        bool_or(true) FILTER (k = above_k) AS c4_applies,
        count(*) FILTER (landing_flap_set IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c4_known,
        max(abs(localizer_dev_dots)) FILTER (k = above_k) AS c5_above,
        max(abs(localizer_dev_dots)) FILTER (k = above_k + 1) AS c5_below,
        bool_or(approach_kind = 'ils' or approach_kind = 'localizer' ) FILTER (k = above_k) AS c5_applies,
        count(*) FILTER (((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND abs(localizer_dev_dots) IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c5_known,
        max(sink_rate_fpm) FILTER (k = above_k) AS c6_above,
        max(sink_rate_fpm) FILTER (k = above_k + 1) AS c6_below,
        bool_or(true) FILTER (k = above_k) AS c6_applies,
        count(*) FILTER (sink_rate_fpm IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c6_known,
        max(over_vref_kt) FILTER (k = above_k) AS c7_above,
        max(over_vref_kt) FILTER (k = above_k + 1) AS c7_below,
        bool_or(true) FILTER (k = above_k) AS c7_applies,
        count(*) FILTER (over_vref_kt IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c7_known,
        max(thrust_over_min_pct) FILTER (k = above_k) AS c8_above,
        max(thrust_over_min_pct) FILTER (k = above_k + 1) AS c8_below,
        bool_or(true) FILTER (k = above_k) AS c8_applies,
        count(*) FILTER (thrust_over_min_pct IS NOT NULL AND segment = 'approach' AND height_aal_ft < 3000) AS c8_known,
        max(glide_path_dev_dots) FILTER (k = above_k) AS c9_above,
        max(glide_path_dev_dots) FILTER (k = above_k + 1) AS c9_below,
        bool_or(approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) FILTER (k = above_k) AS c9_applies,
        count(*) FILTER (((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) AND glide_path_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c9_known,
        max(localizer_dev_dots) FILTER (k = above_k) AS c10_above,
        max(localizer_dev_dots) FILTER (k = above_k + 1) AS c10_below,
        bool_or(approach_kind = 'ils' or approach_kind = 'localizer' ) FILTER (k = above_k) AS c10_applies,
        count(*) FILTER (((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND localizer_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 3000) AS c10_known,
        any_value(airport) AS airport
    FROM samples_around WHERE gate = 0 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 1000) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
above_glide_path_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "above",
        CASE WHEN c0_applies THEN "above" <= 1 END AS above_passed,
        NULL::BOOLEAN AS above_held,
        coalesce(above_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(above_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
bank_high_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "bank",
        CASE WHEN c1_applies THEN "bank" <= 30 END AS bank_passed,
        NULL::BOOLEAN AS bank_held,
        coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
below_glide_path_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "below",
        CASE WHEN c0_applies THEN "below" >= -1.0 END AS below_passed,
        NULL::BOOLEAN AS below_held,
        coalesce(below_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(below_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
energy_excess_1000ft AS MATERIALIZED (
    SELECT *,
        CASE WHEN c2_known >= 0.9 * samples_around THEN (c2_above + fraction * (c2_below::DOUBLE - c2_above))::FLOAT END AS "excess",
        CASE WHEN c2_applies THEN "excess" <= 300 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
gear_not_down_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c3_known >= 0.9 * samples_around THEN c3_above END AS "gear",
        CASE WHEN c3_applies THEN "gear" >= 1 END AS gear_passed,
        NULL::BOOLEAN AS gear_held,
        coalesce(gear_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(gear_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
landing_flap_not_set_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        NULL::BOOLEAN AS flap_held,
        coalesce(flap_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(flap_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
off_localizer_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c5_known >= 0.9 * samples_around THEN (c5_above + fraction * (c5_below::DOUBLE - c5_above))::FLOAT END AS "aside",
        CASE WHEN c5_applies THEN "aside" <= 1 END AS aside_passed,
        NULL::BOOLEAN AS aside_held,
        coalesce(aside_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(aside_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
sink_high_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "sink",
        CASE WHEN c6_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        NULL::BOOLEAN AS sink_held,
        coalesce(sink_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(sink_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
speed_high_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "over",
        CASE WHEN c7_applies THEN "over" <= 20 END AS over_passed,
        NULL::BOOLEAN AS over_held,
        coalesce(over_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(over_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
speed_low_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "over",
        CASE WHEN c7_applies THEN "over" >= 0.0 END AS over_passed,
        NULL::BOOLEAN AS over_held,
        coalesce(over_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(over_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
thrust_low_at_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c8_known >= 0.9 * samples_around THEN (c8_above + fraction * (c8_below::DOUBLE - c8_above))::FLOAT END AS "thrust",
        CASE WHEN c8_applies THEN "thrust" >= 0.0 END AS thrust_passed,
        NULL::BOOLEAN AS thrust_held,
        coalesce(thrust_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(thrust_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
unstable_1000 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "speed",
        CASE WHEN c7_applies THEN "speed" >= 0 AND "speed" <= 20 END AS speed_passed,
        CASE WHEN c7_applies THEN held_0 END AS speed_held,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "sink",
        CASE WHEN c6_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        CASE WHEN c6_applies THEN held_1 END AS sink_held,
        CASE WHEN c9_known >= 0.9 * samples_around THEN (c9_above + fraction * (c9_below::DOUBLE - c9_above))::FLOAT END AS "glide_path",
        CASE WHEN c9_applies THEN "glide_path" >= -1 AND "glide_path" <= 1 END AS glide_path_passed,
        CASE WHEN c9_applies THEN held_2 END AS glide_path_held,
        CASE WHEN c10_known >= 0.9 * samples_around THEN (c10_above + fraction * (c10_below::DOUBLE - c10_above))::FLOAT END AS "localizer",
        CASE WHEN c10_applies THEN "localizer" >= -1 AND "localizer" <= 1 END AS localizer_passed,
        CASE WHEN c10_applies THEN held_3 END AS localizer_held,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        CASE WHEN c4_applies THEN held_4 END AS flap_held,
        CASE WHEN c3_known >= 0.9 * samples_around THEN c3_above END AS "gear",
        CASE WHEN c3_applies THEN "gear" >= 1 END AS gear_passed,
        CASE WHEN c3_applies THEN held_5 END AS gear_held,
        CASE WHEN c8_known >= 0.9 * samples_around THEN (c8_above + fraction * (c8_below::DOUBLE - c8_above))::FLOAT END AS "thrust",
        CASE WHEN c8_applies THEN "thrust" >= 0 END AS thrust_passed,
        CASE WHEN c8_applies THEN held_6 END AS thrust_held,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "bank",
        CASE WHEN c1_applies THEN "bank" <= 30 END AS bank_passed,
        CASE WHEN c1_applies THEN held_7 END AS bank_held,
        coalesce(speed_passed IS FALSE, false)::INTEGER + coalesce(sink_passed IS FALSE, false)::INTEGER + coalesce(glide_path_passed IS FALSE, false)::INTEGER + coalesce(localizer_passed IS FALSE, false)::INTEGER + coalesce(flap_passed IS FALSE, false)::INTEGER + coalesce(gear_passed IS FALSE, false)::INTEGER + coalesce(thrust_passed IS FALSE, false)::INTEGER + coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(speed_held IS FALSE, false)::INTEGER + coalesce(sink_held IS FALSE, false)::INTEGER + coalesce(glide_path_held IS FALSE, false)::INTEGER + coalesce(localizer_held IS FALSE, false)::INTEGER + coalesce(flap_held IS FALSE, false)::INTEGER + coalesce(gear_held IS FALSE, false)::INTEGER + coalesce(thrust_held IS FALSE, false)::INTEGER + coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed LEFT JOIN held_0 USING (approach_key)
)
SELECT 'gate' AS kind, approach_key, 'above_glide_path_at_1000' AS rule, 'above' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "above"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, above_passed AS passed, above_held AS held
FROM above_glide_path_at_1000
UNION ALL
SELECT 'event', approach_key, 'above_glide_path_at_1000', NULL, crossing_k, crossing_k, "above"::DOUBLE,
    CASE WHEN "above" > 2 THEN 'high' WHEN "above" > 1.5 THEN 'medium' WHEN "above" > 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM above_glide_path_at_1000 WHERE failed > 0 AND CASE WHEN "above" > 2 THEN 'high' WHEN "above" > 1.5 THEN 'medium' WHEN "above" > 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'bank_high_at_1000' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, bank_passed AS passed, bank_held AS held
FROM bank_high_at_1000
UNION ALL
SELECT 'event', approach_key, 'bank_high_at_1000', NULL, crossing_k, crossing_k, "bank"::DOUBLE,
    CASE WHEN "bank" > 40 THEN 'high' WHEN "bank" > 35 THEN 'medium' WHEN "bank" > 30 THEN 'low' END AS level, NULL, NULL, NULL
FROM bank_high_at_1000 WHERE failed > 0 AND CASE WHEN "bank" > 40 THEN 'high' WHEN "bank" > 35 THEN 'medium' WHEN "bank" > 30 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'below_glide_path_at_1000' AS rule, 'below' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "below"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, below_passed AS passed, below_held AS held
FROM below_glide_path_at_1000
UNION ALL
SELECT 'event', approach_key, 'below_glide_path_at_1000', NULL, crossing_k, crossing_k, "below"::DOUBLE,
    CASE WHEN "below" < -2 THEN 'high' WHEN "below" < -1.5 THEN 'medium' WHEN "below" < -1 THEN 'low' END AS level, NULL, NULL, NULL
FROM below_glide_path_at_1000 WHERE failed > 0 AND CASE WHEN "below" < -2 THEN 'high' WHEN "below" < -1.5 THEN 'medium' WHEN "below" < -1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'energy_excess_1000ft' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c2_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_1000ft
UNION ALL
SELECT 'event', approach_key, 'energy_excess_1000ft', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 300 + 400 THEN 'high' WHEN "excess" > 300 + 200 THEN 'medium' WHEN "excess" > 300 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_1000ft WHERE failed > 0 AND CASE WHEN "excess" > 300 + 400 THEN 'high' WHEN "excess" > 300 + 200 THEN 'medium' WHEN "excess" > 300 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'gear_not_down_at_1000' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, gear_passed AS passed, gear_held AS held
FROM gear_not_down_at_1000
UNION ALL
SELECT 'event', approach_key, 'gear_not_down_at_1000', NULL, crossing_k, crossing_k, "gear"::DOUBLE,
    CASE WHEN "gear" < 1 THEN 'medium' END AS level, NULL, NULL, NULL
FROM gear_not_down_at_1000 WHERE failed > 0 AND CASE WHEN "gear" < 1 THEN 'medium' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'landing_flap_not_set_at_1000' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM landing_flap_not_set_at_1000
UNION ALL
SELECT 'event', approach_key, 'landing_flap_not_set_at_1000', NULL, crossing_k, crossing_k, "flap"::DOUBLE,
    CASE WHEN "flap" < 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM landing_flap_not_set_at_1000 WHERE failed > 0 AND CASE WHEN "flap" < 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'off_localizer_at_1000' AS rule, 'aside' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "aside"::DOUBLE AS value, NULL::VARCHAR AS level,
    c5_applies AS applies, aside_passed AS passed, aside_held AS held
FROM off_localizer_at_1000
UNION ALL
SELECT 'event', approach_key, 'off_localizer_at_1000', NULL, crossing_k, crossing_k, "aside"::DOUBLE,
    CASE WHEN "aside" > 2 THEN 'high' WHEN "aside" > 1.5 THEN 'medium' WHEN "aside" > 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM off_localizer_at_1000 WHERE failed > 0 AND CASE WHEN "aside" > 2 THEN 'high' WHEN "aside" > 1.5 THEN 'medium' WHEN "aside" > 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'sink_high_at_1000' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, sink_passed AS passed, sink_held AS held
FROM sink_high_at_1000
UNION ALL
SELECT 'event', approach_key, 'sink_high_at_1000', NULL, crossing_k, crossing_k, "sink"::DOUBLE,
    CASE WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 500 THEN 'high' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 250 THEN 'medium' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) THEN 'low' END AS level, NULL, NULL, NULL
FROM sink_high_at_1000 WHERE failed > 0 AND CASE WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 500 THEN 'high' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 250 THEN 'medium' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'speed_high_at_1000' AS rule, 'over' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "over"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, over_passed AS passed, over_held AS held
FROM speed_high_at_1000
UNION ALL
SELECT 'event', approach_key, 'speed_high_at_1000', NULL, crossing_k, crossing_k, "over"::DOUBLE,
    CASE WHEN "over" > 20 + 20 THEN 'high' WHEN "over" > 20 + 10 THEN 'medium' WHEN "over" > 20 THEN 'low' END AS level, NULL, NULL, NULL
FROM speed_high_at_1000 WHERE failed > 0 AND CASE WHEN "over" > 20 + 20 THEN 'high' WHEN "over" > 20 + 10 THEN 'medium' WHEN "over" > 20 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'speed_low_at_1000' AS rule, 'over' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "over"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, over_passed AS passed, over_held AS held
FROM speed_low_at_1000
UNION ALL
SELECT 'event', approach_key, 'speed_low_at_1000', NULL, crossing_k, crossing_k, "over"::DOUBLE,
    CASE WHEN "over" < -10 THEN 'high' WHEN "over" < -5 THEN 'medium' WHEN "over" < 0 THEN 'low' END AS level, NULL, NULL, NULL
FROM speed_low_at_1000 WHERE failed > 0 AND CASE WHEN "over" < -10 THEN 'high' WHEN "over" < -5 THEN 'medium' WHEN "over" < 0 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'thrust_low_at_1000' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c8_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM thrust_low_at_1000
UNION ALL
SELECT 'event', approach_key, 'thrust_low_at_1000', NULL, crossing_k, crossing_k, "thrust"::DOUBLE,
    CASE WHEN "thrust" < -15 THEN 'high' WHEN "thrust" < -8 THEN 'medium' WHEN "thrust" < 0 THEN 'low' END AS level, NULL, NULL, NULL
FROM thrust_low_at_1000 WHERE failed > 0 AND CASE WHEN "thrust" < -15 THEN 'high' WHEN "thrust" < -8 THEN 'medium' WHEN "thrust" < 0 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'speed' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "speed"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, speed_passed AS passed, speed_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, sink_passed AS passed, sink_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'glide_path' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "glide_path"::DOUBLE AS value, NULL::VARCHAR AS level,
    c9_applies AS applies, glide_path_passed AS passed, glide_path_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'localizer' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "localizer"::DOUBLE AS value, NULL::VARCHAR AS level,
    c10_applies AS applies, localizer_passed AS passed, localizer_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, gear_passed AS passed, gear_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c8_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM unstable_1000
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_1000' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, bank_passed AS passed, bank_held AS held
FROM unstable_1000
UNION ALL
SELECT 'event', approach_key, 'unstable_1000', NULL, crossing_k, crossing_k, failed::DOUBLE,
    CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM unstable_1000 WHERE failed > 0 AND CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END IS NOT NULL;

-- gate_1
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(height_aal_ft) FILTER (k = above_k) AS gate_above,
        max(height_aal_ft) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND height_aal_ft < 2500) AS samples_around,
        max(glide_path_dev_dots) FILTER (k = above_k) AS c0_above,
        max(glide_path_dev_dots) FILTER (k = above_k + 1) AS c0_below,
        bool_or(approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2) AND glide_path_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 2500) AS c0_known,
        max(abs(roll_deg)) FILTER (k = above_k) AS c1_above,
        max(abs(roll_deg)) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (abs(roll_deg) IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c1_known,
        max(energy_excess_ft) FILTER (k = above_k) AS c2_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c2_below,
        bool_or(true) FILTER (k = above_k) AS c2_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c2_known,
        max(gear_down) FILTER (k = above_k) AS c3_above,
        max(gear_down) FILTER (k = above_k + 1) AS c3_below,
        bool_or(true) FILTER (k = above_k) AS c3_applies,
        count(*) FILTER (gear_down IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c3_known,
        max(landing_flap_set) FILTER (k = above_k) AS c4_above,
        max(landing_flap_set) FILTER (k = above_k + 1) AS c4_below,
        bool_or(true) FILTER (k = above_k) AS c4_applies,
        count(*) FILTER (landing_flap_set IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c4_known,
        max(abs(localizer_dev_dots)) FILTER (k = above_k) AS c5_above,
        max(abs(localizer_dev_dots)) FILTER (k = above_k + 1) AS c5_below,
        bool_or(approach_kind = 'ils' or approach_kind = 'localizer' ) FILTER (k = above_k) AS c5_applies,
        count(*) FILTER (((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND abs(localizer_dev_dots) IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 2500) AS c5_known,
        max(sink_rate_fpm) FILTER (k = above_k) AS c6_above,
        max(sink_rate_fpm) FILTER (k = above_k + 1) AS c6_below,
        bool_or(true) FILTER (k = above_k) AS c6_applies,
        count(*) FILTER (sink_rate_fpm IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c6_known,
        max(over_vref_kt) FILTER (k = above_k) AS c7_above,
        max(over_vref_kt) FILTER (k = above_k + 1) AS c7_below,
        bool_or(true) FILTER (k = above_k) AS c7_applies,
        count(*) FILTER (over_vref_kt IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c7_known,
        max(thrust_over_min_pct) FILTER (k = above_k) AS c8_above,
        max(thrust_over_min_pct) FILTER (k = above_k + 1) AS c8_below,
        bool_or(true) FILTER (k = above_k) AS c8_applies,
        count(*) FILTER (thrust_over_min_pct IS NOT NULL AND segment = 'approach' AND height_aal_ft < 2500) AS c8_known,
        max(glide_path_dev_dots) FILTER (k = above_k) AS c9_above,
        max(glide_path_dev_dots) FILTER (k = above_k + 1) AS c9_below,
        bool_or(approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) FILTER (k = above_k) AS c9_applies,
        count(*) FILTER (((approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) IS FALSE OR (approach_kind = 'ils' and distance_to_threshold_nm < 10 and abs(localizer_dev_dots) < 2 and height_aal_ft > 200) AND glide_path_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 2500) AS c9_known,
        max(localizer_dev_dots) FILTER (k = above_k) AS c10_above,
        max(localizer_dev_dots) FILTER (k = above_k + 1) AS c10_below,
        bool_or(approach_kind = 'ils' or approach_kind = 'localizer' ) FILTER (k = above_k) AS c10_applies,
        count(*) FILTER (((approach_kind = 'ils' or approach_kind = 'localizer' ) IS FALSE OR (approach_kind = 'ils' or approach_kind = 'localizer' ) AND localizer_dev_dots IS NOT NULL) AND segment = 'approach' AND height_aal_ft < 2500) AS c10_known,
        any_value(airport) AS airport
    FROM samples_around WHERE gate = 1 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 500) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
above_glide_path_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "above",
        CASE WHEN c0_applies THEN "above" <= 1 END AS above_passed,
        NULL::BOOLEAN AS above_held,
        coalesce(above_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(above_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
bank_high_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "bank",
        CASE WHEN c1_applies THEN "bank" <= 30 END AS bank_passed,
        NULL::BOOLEAN AS bank_held,
        coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
below_glide_path_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "below",
        CASE WHEN c0_applies THEN "below" >= -1.0 END AS below_passed,
        NULL::BOOLEAN AS below_held,
        coalesce(below_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(below_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
energy_excess_500ft AS MATERIALIZED (
    SELECT *,
        CASE WHEN c2_known >= 0.9 * samples_around THEN (c2_above + fraction * (c2_below::DOUBLE - c2_above))::FLOAT END AS "excess",
        CASE WHEN c2_applies THEN "excess" <= 200 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
gear_not_down_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c3_known >= 0.9 * samples_around THEN c3_above END AS "gear",
        CASE WHEN c3_applies THEN "gear" >= 1 END AS gear_passed,
        NULL::BOOLEAN AS gear_held,
        coalesce(gear_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(gear_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
landing_flap_not_set_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        NULL::BOOLEAN AS flap_held,
        coalesce(flap_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(flap_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
off_localizer_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c5_known >= 0.9 * samples_around THEN (c5_above + fraction * (c5_below::DOUBLE - c5_above))::FLOAT END AS "aside",
        CASE WHEN c5_applies THEN "aside" <= 1 END AS aside_passed,
        NULL::BOOLEAN AS aside_held,
        coalesce(aside_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(aside_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
sink_high_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "sink",
        CASE WHEN c6_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        NULL::BOOLEAN AS sink_held,
        coalesce(sink_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(sink_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
speed_high_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "over",
        CASE WHEN c7_applies THEN "over" <= 20 END AS over_passed,
        NULL::BOOLEAN AS over_held,
        coalesce(over_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(over_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
speed_low_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "over",
        CASE WHEN c7_applies THEN "over" >= 0.0 END AS over_passed,
        NULL::BOOLEAN AS over_held,
        coalesce(over_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(over_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
thrust_low_at_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c8_known >= 0.9 * samples_around THEN (c8_above + fraction * (c8_below::DOUBLE - c8_above))::FLOAT END AS "thrust",
        CASE WHEN c8_applies THEN "thrust" >= 0.0 END AS thrust_passed,
        NULL::BOOLEAN AS thrust_held,
        coalesce(thrust_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(thrust_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
unstable_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "speed",
        CASE WHEN c7_applies THEN "speed" >= 0 AND "speed" <= 20 END AS speed_passed,
        CASE WHEN c7_applies THEN held_0 END AS speed_held,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "sink",
        CASE WHEN c6_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        CASE WHEN c6_applies THEN held_1 END AS sink_held,
        CASE WHEN c9_known >= 0.9 * samples_around THEN (c9_above + fraction * (c9_below::DOUBLE - c9_above))::FLOAT END AS "glide_path",
        CASE WHEN c9_applies THEN "glide_path" >= -1 AND "glide_path" <= 1 END AS glide_path_passed,
        CASE WHEN c9_applies THEN held_2 END AS glide_path_held,
        CASE WHEN c10_known >= 0.9 * samples_around THEN (c10_above + fraction * (c10_below::DOUBLE - c10_above))::FLOAT END AS "localizer",
        CASE WHEN c10_applies THEN "localizer" >= -1 AND "localizer" <= 1 END AS localizer_passed,
        CASE WHEN c10_applies THEN held_3 END AS localizer_held,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        CASE WHEN c4_applies THEN held_4 END AS flap_held,
        CASE WHEN c3_known >= 0.9 * samples_around THEN c3_above END AS "gear",
        CASE WHEN c3_applies THEN "gear" >= 1 END AS gear_passed,
        CASE WHEN c3_applies THEN held_5 END AS gear_held,
        CASE WHEN c8_known >= 0.9 * samples_around THEN (c8_above + fraction * (c8_below::DOUBLE - c8_above))::FLOAT END AS "thrust",
        CASE WHEN c8_applies THEN "thrust" >= 0 END AS thrust_passed,
        CASE WHEN c8_applies THEN held_6 END AS thrust_held,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "bank",
        CASE WHEN c1_applies THEN "bank" <= 30 END AS bank_passed,
        CASE WHEN c1_applies THEN held_7 END AS bank_held,
        coalesce(speed_passed IS FALSE, false)::INTEGER + coalesce(sink_passed IS FALSE, false)::INTEGER + coalesce(glide_path_passed IS FALSE, false)::INTEGER + coalesce(localizer_passed IS FALSE, false)::INTEGER + coalesce(flap_passed IS FALSE, false)::INTEGER + coalesce(gear_passed IS FALSE, false)::INTEGER + coalesce(thrust_passed IS FALSE, false)::INTEGER + coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(speed_held IS FALSE, false)::INTEGER + coalesce(sink_held IS FALSE, false)::INTEGER + coalesce(glide_path_held IS FALSE, false)::INTEGER + coalesce(localizer_held IS FALSE, false)::INTEGER + coalesce(flap_held IS FALSE, false)::INTEGER + coalesce(gear_held IS FALSE, false)::INTEGER + coalesce(thrust_held IS FALSE, false)::INTEGER + coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed LEFT JOIN held_1 USING (approach_key)
),
unstable_below_500 AS MATERIALIZED (
    SELECT *,
        CASE WHEN c7_known >= 0.9 * samples_around THEN (c7_above + fraction * (c7_below::DOUBLE - c7_above))::FLOAT END AS "speed",
        CASE WHEN c7_applies THEN "speed" >= 0 AND "speed" <= 20 END AS speed_passed,
        CASE WHEN c7_applies THEN held_0 END AS speed_held,
        CASE WHEN c6_known >= 0.9 * samples_around THEN (c6_above + fraction * (c6_below::DOUBLE - c6_above))::FLOAT END AS "sink",
        CASE WHEN c6_applies THEN "sink" <= (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) END AS sink_passed,
        CASE WHEN c6_applies THEN held_1 END AS sink_held,
        CASE WHEN c9_known >= 0.9 * samples_around THEN (c9_above + fraction * (c9_below::DOUBLE - c9_above))::FLOAT END AS "glide_path",
        CASE WHEN c9_applies THEN "glide_path" >= -1 AND "glide_path" <= 1 END AS glide_path_passed,
        CASE WHEN c9_applies THEN held_2 END AS glide_path_held,
        CASE WHEN c10_known >= 0.9 * samples_around THEN (c10_above + fraction * (c10_below::DOUBLE - c10_above))::FLOAT END AS "localizer",
        CASE WHEN c10_applies THEN "localizer" >= -1 AND "localizer" <= 1 END AS localizer_passed,
        CASE WHEN c10_applies THEN held_3 END AS localizer_held,
        CASE WHEN c4_known >= 0.9 * samples_around THEN c4_above END AS "flap",
        CASE WHEN c4_applies THEN "flap" >= 1 END AS flap_passed,
        CASE WHEN c4_applies THEN held_4 END AS flap_held,
        CASE WHEN c3_known >= 0.9 * samples_around THEN c3_above END AS "gear",
        CASE WHEN c3_applies THEN "gear" >= 1 END AS gear_passed,
        CASE WHEN c3_applies THEN held_5 END AS gear_held,
        CASE WHEN c8_known >= 0.9 * samples_around THEN (c8_above + fraction * (c8_below::DOUBLE - c8_above))::FLOAT END AS "thrust",
        CASE WHEN c8_applies THEN "thrust" >= 0 END AS thrust_passed,
        CASE WHEN c8_applies THEN held_6 END AS thrust_held,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "bank",
        CASE WHEN c1_applies THEN "bank" <= 30 END AS bank_passed,
        CASE WHEN c1_applies THEN held_7 END AS bank_held,
        coalesce(speed_passed IS FALSE, false)::INTEGER + coalesce(sink_passed IS FALSE, false)::INTEGER + coalesce(glide_path_passed IS FALSE, false)::INTEGER + coalesce(localizer_passed IS FALSE, false)::INTEGER + coalesce(flap_passed IS FALSE, false)::INTEGER + coalesce(gear_passed IS FALSE, false)::INTEGER + coalesce(thrust_passed IS FALSE, false)::INTEGER + coalesce(bank_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(speed_held IS FALSE, false)::INTEGER + coalesce(sink_held IS FALSE, false)::INTEGER + coalesce(glide_path_held IS FALSE, false)::INTEGER + coalesce(localizer_held IS FALSE, false)::INTEGER + coalesce(flap_held IS FALSE, false)::INTEGER + coalesce(gear_held IS FALSE, false)::INTEGER + coalesce(thrust_held IS FALSE, false)::INTEGER + coalesce(bank_held IS FALSE, false)::INTEGER AS not_held
    FROM placed LEFT JOIN held_1 USING (approach_key)
)
SELECT 'gate' AS kind, approach_key, 'above_glide_path_at_500' AS rule, 'above' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "above"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, above_passed AS passed, above_held AS held
FROM above_glide_path_at_500
UNION ALL
SELECT 'event', approach_key, 'above_glide_path_at_500', NULL, crossing_k, crossing_k, "above"::DOUBLE,
    CASE WHEN "above" > 2 THEN 'high' WHEN "above" > 1.5 THEN 'medium' WHEN "above" > 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM above_glide_path_at_500 WHERE failed > 0 AND CASE WHEN "above" > 2 THEN 'high' WHEN "above" > 1.5 THEN 'medium' WHEN "above" > 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'bank_high_at_500' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, bank_passed AS passed, bank_held AS held
FROM bank_high_at_500
UNION ALL
SELECT 'event', approach_key, 'bank_high_at_500', NULL, crossing_k, crossing_k, "bank"::DOUBLE,
    CASE WHEN "bank" > 40 THEN 'high' WHEN "bank" > 35 THEN 'medium' WHEN "bank" > 30 THEN 'low' END AS level, NULL, NULL, NULL
FROM bank_high_at_500 WHERE failed > 0 AND CASE WHEN "bank" > 40 THEN 'high' WHEN "bank" > 35 THEN 'medium' WHEN "bank" > 30 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'below_glide_path_at_500' AS rule, 'below' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "below"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, below_passed AS passed, below_held AS held
FROM below_glide_path_at_500
UNION ALL
SELECT 'event', approach_key, 'below_glide_path_at_500', NULL, crossing_k, crossing_k, "below"::DOUBLE,
    CASE WHEN "below" < -2 THEN 'high' WHEN "below" < -1.5 THEN 'medium' WHEN "below" < -1 THEN 'low' END AS level, NULL, NULL, NULL
FROM below_glide_path_at_500 WHERE failed > 0 AND CASE WHEN "below" < -2 THEN 'high' WHEN "below" < -1.5 THEN 'medium' WHEN "below" < -1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'energy_excess_500ft' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c2_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_500ft
UNION ALL
SELECT 'event', approach_key, 'energy_excess_500ft', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 200 + 300 THEN 'high' WHEN "excess" > 200 + 150 THEN 'medium' WHEN "excess" > 200 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_500ft WHERE failed > 0 AND CASE WHEN "excess" > 200 + 300 THEN 'high' WHEN "excess" > 200 + 150 THEN 'medium' WHEN "excess" > 200 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'gear_not_down_at_500' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, gear_passed AS passed, gear_held AS held
FROM gear_not_down_at_500
UNION ALL
SELECT 'event', approach_key, 'gear_not_down_at_500', NULL, crossing_k, crossing_k, "gear"::DOUBLE,
    CASE WHEN "gear" < 1 THEN 'high' END AS level, NULL, NULL, NULL
FROM gear_not_down_at_500 WHERE failed > 0 AND CASE WHEN "gear" < 1 THEN 'high' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'landing_flap_not_set_at_500' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM landing_flap_not_set_at_500
UNION ALL
SELECT 'event', approach_key, 'landing_flap_not_set_at_500', NULL, crossing_k, crossing_k, "flap"::DOUBLE,
    CASE WHEN "flap" < 1 THEN 'medium' END AS level, NULL, NULL, NULL
FROM landing_flap_not_set_at_500 WHERE failed > 0 AND CASE WHEN "flap" < 1 THEN 'medium' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'off_localizer_at_500' AS rule, 'aside' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "aside"::DOUBLE AS value, NULL::VARCHAR AS level,
    c5_applies AS applies, aside_passed AS passed, aside_held AS held
FROM off_localizer_at_500
UNION ALL
SELECT 'event', approach_key, 'off_localizer_at_500', NULL, crossing_k, crossing_k, "aside"::DOUBLE,
    CASE WHEN "aside" > 2 THEN 'high' WHEN "aside" > 1.5 THEN 'medium' WHEN "aside" > 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM off_localizer_at_500 WHERE failed > 0 AND CASE WHEN "aside" > 2 THEN 'high' WHEN "aside" > 1.5 THEN 'medium' WHEN "aside" > 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'sink_high_at_500' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, sink_passed AS passed, sink_held AS held
FROM sink_high_at_500
UNION ALL
SELECT 'event', approach_key, 'sink_high_at_500', NULL, crossing_k, crossing_k, "sink"::DOUBLE,
    CASE WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 500 THEN 'high' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 250 THEN 'medium' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) THEN 'low' END AS level, NULL, NULL, NULL
FROM sink_high_at_500 WHERE failed > 0 AND CASE WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 500 THEN 'high' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) + 250 THEN 'medium' WHEN "sink" > (CASE WHEN airport = 'ZSTP' THEN 1300 ELSE 1000 END) THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'speed_high_at_500' AS rule, 'over' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "over"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, over_passed AS passed, over_held AS held
FROM speed_high_at_500
UNION ALL
SELECT 'event', approach_key, 'speed_high_at_500', NULL, crossing_k, crossing_k, "over"::DOUBLE,
    CASE WHEN "over" > 20 + 20 THEN 'high' WHEN "over" > 20 + 10 THEN 'medium' WHEN "over" > 20 THEN 'low' END AS level, NULL, NULL, NULL
FROM speed_high_at_500 WHERE failed > 0 AND CASE WHEN "over" > 20 + 20 THEN 'high' WHEN "over" > 20 + 10 THEN 'medium' WHEN "over" > 20 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'speed_low_at_500' AS rule, 'over' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "over"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, over_passed AS passed, over_held AS held
FROM speed_low_at_500
UNION ALL
SELECT 'event', approach_key, 'speed_low_at_500', NULL, crossing_k, crossing_k, "over"::DOUBLE,
    CASE WHEN "over" < -10 THEN 'high' WHEN "over" < -5 THEN 'medium' WHEN "over" < 0 THEN 'low' END AS level, NULL, NULL, NULL
FROM speed_low_at_500 WHERE failed > 0 AND CASE WHEN "over" < -10 THEN 'high' WHEN "over" < -5 THEN 'medium' WHEN "over" < 0 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'thrust_low_at_500' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c8_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM thrust_low_at_500
UNION ALL
SELECT 'event', approach_key, 'thrust_low_at_500', NULL, crossing_k, crossing_k, "thrust"::DOUBLE,
    CASE WHEN "thrust" < -15 THEN 'high' WHEN "thrust" < -8 THEN 'medium' WHEN "thrust" < 0 THEN 'low' END AS level, NULL, NULL, NULL
FROM thrust_low_at_500 WHERE failed > 0 AND CASE WHEN "thrust" < -15 THEN 'high' WHEN "thrust" < -8 THEN 'medium' WHEN "thrust" < 0 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'speed' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "speed"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, speed_passed AS passed, speed_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, sink_passed AS passed, sink_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'glide_path' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "glide_path"::DOUBLE AS value, NULL::VARCHAR AS level,
    c9_applies AS applies, glide_path_passed AS passed, glide_path_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'localizer' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "localizer"::DOUBLE AS value, NULL::VARCHAR AS level,
    c10_applies AS applies, localizer_passed AS passed, localizer_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, gear_passed AS passed, gear_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c8_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM unstable_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_500' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, bank_passed AS passed, bank_held AS held
FROM unstable_500
UNION ALL
SELECT 'event', approach_key, 'unstable_500', NULL, crossing_k, crossing_k, failed::DOUBLE,
    CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM unstable_500 WHERE failed > 0 AND CASE WHEN failed >= 4 THEN 'high' WHEN failed >= 2 THEN 'medium' WHEN failed >= 1 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'speed' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "speed"::DOUBLE AS value, NULL::VARCHAR AS level,
    c7_applies AS applies, speed_passed AS passed, speed_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'sink' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "sink"::DOUBLE AS value, NULL::VARCHAR AS level,
    c6_applies AS applies, sink_passed AS passed, sink_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'glide_path' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "glide_path"::DOUBLE AS value, NULL::VARCHAR AS level,
    c9_applies AS applies, glide_path_passed AS passed, glide_path_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'localizer' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "localizer"::DOUBLE AS value, NULL::VARCHAR AS level,
    c10_applies AS applies, localizer_passed AS passed, localizer_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'flap' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "flap"::DOUBLE AS value, NULL::VARCHAR AS level,
    c4_applies AS applies, flap_passed AS passed, flap_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'gear' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "gear"::DOUBLE AS value, NULL::VARCHAR AS level,
    c3_applies AS applies, gear_passed AS passed, gear_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'thrust' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "thrust"::DOUBLE AS value, NULL::VARCHAR AS level,
    c8_applies AS applies, thrust_passed AS passed, thrust_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'gate' AS kind, approach_key, 'unstable_below_500' AS rule, 'bank' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "bank"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, bank_passed AS passed, bank_held AS held
FROM unstable_below_500
UNION ALL
SELECT 'event', approach_key, 'unstable_below_500', NULL, crossing_k, crossing_k, not_held::DOUBLE,
    CASE WHEN failed = 0 and not_held >= 3 THEN 'high' WHEN failed = 0 and not_held >= 2 THEN 'medium' WHEN failed = 0 and not_held >= 1 THEN 'low' END AS level, NULL, NULL, NULL
FROM unstable_below_500 WHERE not_held > 0 AND CASE WHEN failed = 0 and not_held >= 3 THEN 'high' WHEN failed = 0 and not_held >= 2 THEN 'medium' WHEN failed = 0 and not_held >= 1 THEN 'low' END IS NOT NULL;

-- gate_2
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(distance_to_threshold_nm) FILTER (k = above_k) AS gate_above,
        max(distance_to_threshold_nm) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND distance_to_threshold_nm < 2010) AS samples_around,
        max(energy_excess_ft) FILTER (k = above_k) AS c0_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2010) AS c0_known
    FROM samples_around WHERE gate = 2 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 10) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
energy_excess_10nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "excess",
        CASE WHEN c0_applies THEN "excess" <= 800 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'energy_excess_10nm' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_10nm
UNION ALL
SELECT 'event', approach_key, 'energy_excess_10nm', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 800 + 1600 THEN 'high' WHEN "excess" > 800 + 800 THEN 'medium' WHEN "excess" > 800 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_10nm WHERE failed > 0 AND CASE WHEN "excess" > 800 + 1600 THEN 'high' WHEN "excess" > 800 + 800 THEN 'medium' WHEN "excess" > 800 THEN 'low' END IS NOT NULL;

-- gate_3
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(distance_to_threshold_nm) FILTER (k = above_k) AS gate_above,
        max(distance_to_threshold_nm) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND distance_to_threshold_nm < 2015) AS samples_around,
        max(energy_excess_ft) FILTER (k = above_k) AS c0_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2015) AS c0_known,
        max(height_over_rule_of_three_ft) FILTER (k = above_k) AS c1_above,
        max(height_over_rule_of_three_ft) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (height_over_rule_of_three_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2015) AS c1_known
    FROM samples_around WHERE gate = 3 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 15) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
energy_excess_15nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "excess",
        CASE WHEN c0_applies THEN "excess" <= 1000 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
high_at_15nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "above",
        CASE WHEN c1_applies THEN "above" <= 1000 END AS above_passed,
        NULL::BOOLEAN AS above_held,
        coalesce(above_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(above_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'energy_excess_15nm' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_15nm
UNION ALL
SELECT 'event', approach_key, 'energy_excess_15nm', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 1000 + 1800 THEN 'high' WHEN "excess" > 1000 + 900 THEN 'medium' WHEN "excess" > 1000 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_15nm WHERE failed > 0 AND CASE WHEN "excess" > 1000 + 1800 THEN 'high' WHEN "excess" > 1000 + 900 THEN 'medium' WHEN "excess" > 1000 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'high_at_15nm' AS rule, 'above' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "above"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, above_passed AS passed, above_held AS held
FROM high_at_15nm
UNION ALL
SELECT 'event', approach_key, 'high_at_15nm', NULL, crossing_k, crossing_k, "above"::DOUBLE,
    CASE WHEN "above" > 1000 + 1500 THEN 'high' WHEN "above" > 1000 + 750 THEN 'medium' WHEN "above" > 1000 THEN 'low' END AS level, NULL, NULL, NULL
FROM high_at_15nm WHERE failed > 0 AND CASE WHEN "above" > 1000 + 1500 THEN 'high' WHEN "above" > 1000 + 750 THEN 'medium' WHEN "above" > 1000 THEN 'low' END IS NOT NULL;

-- gate_4
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(distance_to_threshold_nm) FILTER (k = above_k) AS gate_above,
        max(distance_to_threshold_nm) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND distance_to_threshold_nm < 2020) AS samples_around,
        max(energy_excess_ft) FILTER (k = above_k) AS c0_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2020) AS c0_known,
        max(height_over_rule_of_three_ft) FILTER (k = above_k) AS c1_above,
        max(height_over_rule_of_three_ft) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (height_over_rule_of_three_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2020) AS c1_known
    FROM samples_around WHERE gate = 4 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 20) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
energy_excess_20nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "excess",
        CASE WHEN c0_applies THEN "excess" <= 1000 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
high_at_20nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "above",
        CASE WHEN c1_applies THEN "above" <= 1500 END AS above_passed,
        NULL::BOOLEAN AS above_held,
        coalesce(above_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(above_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'energy_excess_20nm' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_20nm
UNION ALL
SELECT 'event', approach_key, 'energy_excess_20nm', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 1000 + 2000 THEN 'high' WHEN "excess" > 1000 + 1000 THEN 'medium' WHEN "excess" > 1000 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_20nm WHERE failed > 0 AND CASE WHEN "excess" > 1000 + 2000 THEN 'high' WHEN "excess" > 1000 + 1000 THEN 'medium' WHEN "excess" > 1000 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'high_at_20nm' AS rule, 'above' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "above"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, above_passed AS passed, above_held AS held
FROM high_at_20nm
UNION ALL
SELECT 'event', approach_key, 'high_at_20nm', NULL, crossing_k, crossing_k, "above"::DOUBLE,
    CASE WHEN "above" > 1500 + 2000 THEN 'high' WHEN "above" > 1500 + 1000 THEN 'medium' WHEN "above" > 1500 THEN 'low' END AS level, NULL, NULL, NULL
FROM high_at_20nm WHERE failed > 0 AND CASE WHEN "above" > 1500 + 2000 THEN 'high' WHEN "above" > 1500 + 1000 THEN 'medium' WHEN "above" > 1500 THEN 'low' END IS NOT NULL;

-- gate_5
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(distance_to_threshold_nm) FILTER (k = above_k) AS gate_above,
        max(distance_to_threshold_nm) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND distance_to_threshold_nm < 2005) AS samples_around,
        max(energy_excess_ft) FILTER (k = above_k) AS c0_above,
        max(energy_excess_ft) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (energy_excess_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2005) AS c0_known
    FROM samples_around WHERE gate = 5 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 5) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
energy_excess_5nm AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "excess",
        CASE WHEN c0_applies THEN "excess" <= 500 END AS excess_passed,
        NULL::BOOLEAN AS excess_held,
        coalesce(excess_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(excess_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'energy_excess_5nm' AS rule, 'excess' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "excess"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, excess_passed AS passed, excess_held AS held
FROM energy_excess_5nm
UNION ALL
SELECT 'event', approach_key, 'energy_excess_5nm', NULL, crossing_k, crossing_k, "excess"::DOUBLE,
    CASE WHEN "excess" > 500 + 600 THEN 'high' WHEN "excess" > 500 + 300 THEN 'medium' WHEN "excess" > 500 THEN 'low' END AS level, NULL, NULL, NULL
FROM energy_excess_5nm WHERE failed > 0 AND CASE WHEN "excess" > 500 + 600 THEN 'high' WHEN "excess" > 500 + 300 THEN 'medium' WHEN "excess" > 500 THEN 'low' END IS NOT NULL;

-- gate_6
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(distance_to_threshold_nm) FILTER (k = above_k) AS gate_above,
        max(distance_to_threshold_nm) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'approach' AND distance_to_threshold_nm < 2000) AS samples_around,
        max(over_vref_kt) FILTER (k = above_k) AS c0_above,
        max(over_vref_kt) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (over_vref_kt IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2000) AS c0_known,
        max(height_geometric_ft) FILTER (k = above_k) AS c1_above,
        max(height_geometric_ft) FILTER (k = above_k + 1) AS c1_below,
        bool_or(true) FILTER (k = above_k) AS c1_applies,
        count(*) FILTER (height_geometric_ft IS NOT NULL AND segment = 'approach' AND distance_to_threshold_nm < 2000) AS c1_known
    FROM samples_around WHERE gate = 6 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 0) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
fast_over_threshold AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "over",
        CASE WHEN c0_applies THEN "over" <= 15 END AS over_passed,
        NULL::BOOLEAN AS over_held,
        coalesce(over_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(over_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
),
high_and_fast_over_threshold AS MATERIALIZED (
    SELECT *,
        CASE WHEN c1_known >= 0.9 * samples_around THEN (c1_above + fraction * (c1_below::DOUBLE - c1_above))::FLOAT END AS "height",
        CASE WHEN c1_applies THEN "height" <= 65 END AS height_passed,
        NULL::BOOLEAN AS height_held,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "speed",
        CASE WHEN c0_applies THEN "speed" <= 15 END AS speed_passed,
        NULL::BOOLEAN AS speed_held,
        coalesce(height_passed IS FALSE, false)::INTEGER + coalesce(speed_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(height_held IS FALSE, false)::INTEGER + coalesce(speed_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'fast_over_threshold' AS rule, 'over' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "over"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, over_passed AS passed, over_held AS held
FROM fast_over_threshold
UNION ALL
SELECT 'event', approach_key, 'fast_over_threshold', NULL, crossing_k, crossing_k, "over"::DOUBLE,
    CASE WHEN "over" > 15 + 10 THEN 'high' WHEN "over" > 15 + 5 THEN 'medium' WHEN "over" > 15 THEN 'low' END AS level, NULL, NULL, NULL
FROM fast_over_threshold WHERE failed > 0 AND CASE WHEN "over" > 15 + 10 THEN 'high' WHEN "over" > 15 + 5 THEN 'medium' WHEN "over" > 15 THEN 'low' END IS NOT NULL
UNION ALL
SELECT 'gate' AS kind, approach_key, 'high_and_fast_over_threshold' AS rule, 'height' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "height"::DOUBLE AS value, NULL::VARCHAR AS level,
    c1_applies AS applies, height_passed AS passed, height_held AS held
FROM high_and_fast_over_threshold
UNION ALL
SELECT 'gate' AS kind, approach_key, 'high_and_fast_over_threshold' AS rule, 'speed' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "speed"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, speed_passed AS passed, speed_held AS held
FROM high_and_fast_over_threshold
UNION ALL
SELECT 'event', approach_key, 'high_and_fast_over_threshold', NULL, crossing_k, crossing_k, failed::DOUBLE,
    CASE WHEN failed >= 2 and "speed" > 15 + 10 THEN 'high' WHEN failed >= 2 THEN 'medium' END AS level, NULL, NULL, NULL
FROM high_and_fast_over_threshold WHERE failed > 0 AND CASE WHEN failed >= 2 and "speed" > 15 + 10 THEN 'high' WHEN failed >= 2 THEN 'medium' END IS NOT NULL;

-- gate_7
WITH around AS MATERIALIZED (
    SELECT approach_key, above_k,
        max(ground_speed_kt) FILTER (k = above_k) AS gate_above,
        max(ground_speed_kt) FILTER (k = above_k + 1) AS gate_below,
        count(*) FILTER (segment = 'roll' AND ground_speed_kt < 2080) AS samples_around,
        max(runway_remaining_ft) FILTER (k = above_k) AS c0_above,
        max(runway_remaining_ft) FILTER (k = above_k + 1) AS c0_below,
        bool_or(true) FILTER (k = above_k) AS c0_applies,
        count(*) FILTER (runway_remaining_ft IS NOT NULL AND segment = 'roll' AND ground_speed_kt < 2080) AS c0_known
    FROM samples_around WHERE gate = 7 GROUP BY approach_key, above_k
),
placed AS MATERIALIZED (
    SELECT *, (gate_above::DOUBLE - 80) / (gate_above::DOUBLE - gate_below) AS fraction,
        above_k + fraction AS crossing_k
    FROM around
),
runway_remaining_low_at_80kt AS MATERIALIZED (
    SELECT *,
        CASE WHEN c0_known >= 0.9 * samples_around THEN (c0_above + fraction * (c0_below::DOUBLE - c0_above))::FLOAT END AS "left",
        CASE WHEN c0_applies THEN "left" >= 1500 END AS left_passed,
        NULL::BOOLEAN AS left_held,
        coalesce(left_passed IS FALSE, false)::INTEGER AS failed,
        coalesce(left_held IS FALSE, false)::INTEGER AS not_held
    FROM placed
)
SELECT 'gate' AS kind, approach_key, 'runway_remaining_low_at_80kt' AS rule, 'left' AS criterion,
    crossing_k AS start_k, crossing_k AS end_k, "left"::DOUBLE AS value, NULL::VARCHAR AS level,
    c0_applies AS applies, left_passed AS passed, left_held AS held
FROM runway_remaining_low_at_80kt
UNION ALL
SELECT 'event', approach_key, 'runway_remaining_low_at_80kt', NULL, crossing_k, crossing_k, "left"::DOUBLE,
    CASE WHEN "left" < 1500 - 1000 THEN 'high' WHEN "left" < 1500 - 500 THEN 'medium' WHEN "left" < 1500 THEN 'low' END AS level, NULL, NULL, NULL
FROM runway_remaining_low_at_80kt WHERE failed > 0 AND CASE WHEN "left" < 1500 - 1000 THEN 'high' WHEN "left" < 1500 - 500 THEN 'medium' WHEN "left" < 1500 THEN 'low' END IS NOT NULL;
