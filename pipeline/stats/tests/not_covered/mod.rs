//! Check values no code answers yet, in alphabetical order.

/// Methods the crate does not have, and why.
pub(crate) const METHODS: &[(&str, &str)] = &[
    (
        "byar_ci_x_plus_half_variant",
        "another formula under the same name",
    ),
    (
        "clayton_kaldor_moment_iteration",
        "the spread of rates is fitted by maximum likelihood",
    ),
    (
        "funnel_dispersion_and_flags",
        "places are classed by their posterior, not by a funnel",
    ),
    (
        "gamma_poisson_marshall_moments",
        "the spread of rates is fitted by maximum likelihood",
    ),
    (
        "gelfand_smith_moment_shape",
        "the spread of rates is fitted by maximum likelihood",
    ),
    (
        "month_vs_prev12_betabinomial",
        "dispersion enters through effective counts",
    ),
    (
        "poisson_cusum_arl",
        "no cumulative sums: the slope covers it",
    ),
    ("poisson_cusum_k", "no cumulative sums: the slope covers it"),
    (
        "poisson_e_test",
        "not exact, and four versions of it disagree",
    ),
    ("pumps_full_bayes_MCMC", "no prior on the prior"),
    ("pumps_full_bayes_exact", "no prior on the prior"),
    ("rate_ratio_score_ci", "the exact interval is used"),
    (
        "run_rules_ARL0_normal",
        "zone rules on normal values: counts have exact limits here",
    ),
    (
        "severity_weighted_rate_fay_feuer",
        "no severity index: rates are given level by level",
    ),
];

/// Single fields of rows that are otherwise checked.
pub(crate) const FIELDS: &[&str] = &[
    "CHT-03.sas_alpha_continuous",
    "CHT-09.naive_3sigma",
    "EB-04.prior_mean",
    "EB-04.rate",
    "EB-04.shape",
    "EB-06.prior_mean",
    "EB-06.rank_by_raw_top5_0based",
    "EB-06.rate",
    "EB-06.shape",
    "EB-08.prior_mean",
    "EB-08.rate",
    "EB-08.shape",
    "EB-09.prior_mean",
    "EB-09.rate",
    "EB-09.shape",
    "TWO-02.p_minlike",
    "TWO-03.p_minlike",
    "TWO-04.cond-midp",
    "TWO-04.etest",
    "TWO-04.score",
    "TWO-04.sqrt",
    "TWO-04.wald",
    "TWO-04.wald-log",
    "TWO-05.p_minlike",
    "TWO-07.cond-midp",
    "TWO-07.etest",
    "TWO-07.score",
    "TWO-09.ci_log_wald",
    "TWO-09.ci_midp",
    "TWO-09.p_etest_score_two_sided",
    "TWO-09.p_etest_wald_two_sided",
    "TWO-09.p_midp",
    "TWO-09.p_score_two_sided",
    "TWO-10.ci_midp",
    "TWO-10.p_midp",
    "TWO-11.ci_midp",
    "TWO-11.p_midp",
    "TWO-13.ci_midp",
    "TWO-13.p_midp",
];
