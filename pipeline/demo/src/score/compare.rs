//! Which value of the review stands for which value of the truth, and in which unit.
//!
//! A rule states its deciding measure, as the truth does. Of the criteria of a gate some state
//! something else: flap and gear state only whether they were set, where the truth knows how many
//! seconds late; thrust is stated above the type's minimum.

/// How a value of the review compares with the truth's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Comparison {
    /// The two are the same quantity.
    Same,
    /// The review states it less its limit.
    LessLimit,
    /// They are different things.
    None,
}

impl Comparison {
    pub(super) fn of(rule: &str) -> Self {
        match rule.split_once('.') {
            Some((_, "flap" | "gear")) => Self::None,
            Some((_, "thrust")) => Self::LessLimit,
            _ => Self::Same,
        }
    }

    /// The true value as the review would state it; NaN where there is none to compare.
    pub(super) fn true_value(self, worst: Option<f32>, limit: Option<f32>) -> f32 {
        let value = match self {
            Self::Same => worst,
            Self::LessLimit => worst.zip(limit).map(|(worst, limit)| worst - limit),
            Self::None => None,
        };
        value.unwrap_or(f32::NAN)
    }
}

/// The unit of a gate criterion, which no table states.
pub(super) fn criterion_unit(rule: &str) -> Option<&'static str> {
    match rule.split_once('.')?.1 {
        "speed" => Some("kt"),
        "sink" => Some("ft/min"),
        "glide_path" | "localizer" => Some("dots"),
        "thrust" => Some("%"),
        "bank" => Some("deg"),
        _ => None,
    }
}
