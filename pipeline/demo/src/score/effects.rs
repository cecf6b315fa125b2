//! The fleet-level effects that were planted, and the ones that only seem so: what the shared tables
//! say of each.
//!
//! A table that holds nothing yet for a question answers `not computed`, never `not found`.

use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::ScoreError;
use super::places::{Places, PlacesScore};
use super::series::Slopes;
use super::shared::{Groups, Months};
use super::told::Told;

#[derive(Deserialize)]
struct File {
    effects: Option<Vec<Planted>>,
}

/// One entry of `effects.json`.
#[derive(Clone, Debug, Deserialize)]
pub(super) struct Planted {
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) real: bool,
    #[serde(default)]
    pub(super) rules: Vec<String>,
    pub(super) airport: Option<String>,
    pub(super) month: Option<String>,
    pub(super) aircraft_type: Option<String>,
    #[serde(default)]
    pub(super) months_of_year: Vec<u32>,
    pub(super) lost_share: Option<f64>,
}

/// What the review makes of the fleet as a whole.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EffectsScore {
    /// One row an effect.
    pub effects: Vec<EffectScore>,
    /// Places without any effect that are called nevertheless.
    pub other_places: PlacesScore,
}

/// One effect.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EffectScore {
    /// Its name.
    pub name: String,
    /// `place`, `month`, `trend`, `type`, `season`, `intervention`, `recovery`.
    pub kind: String,
    /// Whether it is there, or only seems so.
    pub real: bool,
    /// What the review says.
    pub verdict: Verdict,
    /// Rule by rule, in words.
    pub why: String,
}

/// What a review says of an effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It is there, and the review says so.
    Found,
    /// It is there, and the review says that it is not, or that data do not suffice.
    NotFound,
    /// It only seems so, and the review claims it.
    FalseClaim,
    /// It only seems so, and the review does not claim it.
    NotClaimed,
    /// The cells that would tell are withheld.
    Withheld,
    /// The review has no answer to the question.
    NotComputed,
}

/// What the tables answer for one rule.
pub(super) struct Answer {
    /// Whether the effect is claimed; `None` = withheld.
    pub(super) claimed: Option<bool>,
    /// The same in words.
    pub(super) says: String,
}

/// Scores the effects, or says why not.
pub(super) fn score(fleet: &Path, out: &Path) -> Result<Result<EffectsScore, String>, ScoreError> {
    let path = fleet.join("truth").join("effects.json");
    if !path.exists() {
        return Ok(Err(format!("`{}` is missing", path.display())));
    }
    let text = fs::read_to_string(&path).map_err(|source| ScoreError::File {
        path: path.clone(),
        source,
    })?;
    let file: File = serde_json::from_str(&text).map_err(|source| ScoreError::Json {
        path: path.clone(),
        source,
    })?;
    let Some(planted) = file.effects else {
        return Ok(Err(format!(
            "`{}` has no list `effects`: an earlier version wrote the fleet",
            path.display()
        )));
    };
    let places = Places::read(out)?;
    let months = Months::read(out)?;
    let groups = Groups::read(out)?;
    let slopes = Slopes::read(out)?;
    let told = Told::read(out)?;
    let effects = planted
        .iter()
        .map(|effect| {
            let answers = match (effect.kind.as_str(), effect) {
                (
                    "place",
                    Planted {
                        airport: Some(airport),
                        ..
                    },
                ) => places.answers(airport, &effect.rules),
                (
                    "month",
                    Planted {
                        month: Some(month), ..
                    },
                ) => months.answers(month, &effect.rules),
                (
                    "type",
                    Planted {
                        aircraft_type: Some(kind),
                        ..
                    },
                ) => groups.answers(kind, &effect.rules),
                ("trend", _) => slopes.answers(&effect.rules),
                ("season", _) => {
                    slopes.answers_of_season(&months, &effect.months_of_year, &effect.rules)
                }
                (
                    "intervention",
                    Planted {
                        month: Some(month),
                        aircraft_type: Some(kind),
                        ..
                    },
                ) => told.of_change(month, kind, &effect.rules),
                (
                    "recovery",
                    Planted {
                        month: Some(month),
                        aircraft_type: Some(kind),
                        lost_share: Some(lost),
                        ..
                    },
                ) => told.of_loss(month, kind, *lost),
                _ => Err(format!(
                    "`{}` of this form is no effect known here",
                    effect.kind
                )),
            };
            verdict(effect, answers)
        })
        .collect();
    Ok(Ok(EffectsScore {
        effects,
        other_places: places.without_effect(&planted),
    }))
}

fn verdict(effect: &Planted, answers: Result<Vec<Answer>, String>) -> EffectScore {
    let (verdict, why) = match answers {
        Err(why) => (Verdict::NotComputed, why),
        Ok(answers) => {
            let claimed = answers.iter().any(|answer| answer.claimed == Some(true));
            let known = answers.iter().any(|answer| answer.claimed.is_some());
            let verdict = match (known, effect.real, claimed) {
                (false, _, _) => Verdict::Withheld,
                (true, true, true) => Verdict::Found,
                (true, true, false) => Verdict::NotFound,
                (true, false, true) => Verdict::FalseClaim,
                (true, false, false) => Verdict::NotClaimed,
            };
            let says: Vec<String> = answers.into_iter().map(|answer| answer.says).collect();
            (verdict, says.join("; "))
        }
    };
    EffectScore {
        name: effect.name.clone(),
        kind: effect.kind.clone(),
        real: effect.real,
        verdict,
        why,
    }
}
