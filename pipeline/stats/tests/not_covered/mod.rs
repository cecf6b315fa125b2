//! Check values no code answers yet, in alphabetical order.

/// Methods the crate does not have.
pub(crate) const METHODS: &[&str] = &[
    "byar_ci_x_plus_half_variant",
    "c_chart",
    "clayton_kaldor_moment_iteration",
    "funnel_dispersion_and_flags",
    "funnel_limits_spiegelhalter_poisson",
    "gamma_poisson_marshall_moments",
    "gelfand_smith_moment_shape",
    "laney_all_equal",
    "laney_u_prime",
    "laney_u_prime_KNOWN_BAD",
    "laney_u_prime_overdispersed",
    "mann_kendall",
    "mann_kendall_all_equal",
    "mann_kendall_exact",
    "mann_kendall_exact_one_sided",
    "mann_kendall_rates",
    "month_vs_prev12_betabinomial",
    "monthly_trend",
    "monthly_trend_all_equal",
    "monthly_trend_missing_months",
    "monthly_trend_overdispersed",
    "poisson_cusum_arl",
    "poisson_cusum_k",
    "poisson_e_test",
    "poisson_glm_offset_grouped",
    "poisson_trend_offset",
    "pumps_full_bayes_MCMC",
    "pumps_full_bayes_exact",
    "rate_ratio_score_ci",
    "run_rules_ARL0_normal",
    "severity_weighted_rate_fay_feuer",
    "u_chart",
    "u_chart_false_alarm_prob",
    "u_chart_varying_n",
];

/// Single fields of rows that are otherwise checked.
pub(crate) const FIELDS: &[&str] = &[];
