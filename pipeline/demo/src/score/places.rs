//! What the review says of places, with an effect and without.

use std::collections::BTreeMap;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::effects::{Answer, Planted};
use super::table;
use super::{EXAMPLES, ScoreError};

#[derive(Deserialize)]
struct Row {
    airport: String,
    runway: Option<String>,
    /// Null in the rows of whole families.
    rule: Option<String>,
    class: Option<String>,
}

/// Airports × rules that no effect touches.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct PlacesScore {
    /// Those that the review gives a class.
    pub judged: u64,
    /// Those called `hot spot`.
    pub hot_spots: u64,
    /// Those called `watch`.
    pub watched: u64,
    /// Some of the called ones. Invented places differ by geography too: a call is no fault as such.
    pub examples: Vec<PlaceExample>,
}

/// One airport and rule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaceExample {
    /// Airport.
    pub airport: String,
    /// Rule.
    pub rule: String,
    /// What it is called.
    pub class: String,
}

/// Classes by airport and rule; `None` = withheld.
pub(super) struct Places {
    classes: BTreeMap<(String, String), Option<String>>,
}

impl Places {
    /// Reads the rows of whole airports.
    pub(super) fn read(out: &Path) -> Result<Self, ScoreError> {
        let mut classes = BTreeMap::new();
        table::of_review(&out.join("share/tables/hotspots.parquet"), |row: Row| {
            if let (None, Some(rule)) = (row.runway, row.rule) {
                classes.insert((row.airport, rule), row.class);
            }
            Ok(())
        })?;
        Ok(Self { classes })
    }

    /// Whether the review calls the airport, rule by rule; `Err` = no class is computed anywhere.
    pub(super) fn answers(&self, airport: &str, rules: &[String]) -> Result<Vec<Answer>, String> {
        if self.classes.values().all(Option::is_none) {
            return Err("`hotspots` gives no place a class".to_owned());
        }
        let answer = |rule: &String| {
            let class = self.classes.get(&(airport.to_owned(), rule.clone()));
            let (claimed, says) = match class {
                Some(Some(class)) => (Some(is_called(class)), class.as_str()),
                Some(None) => (None, "withheld"),
                None => (Some(false), "no row"),
            };
            Answer {
                claimed,
                says: format!("{rule}: {says}"),
            }
        };
        Ok(rules.iter().map(answer).collect())
    }

    /// The airports × rules that no effect, real or not, speaks of.
    pub(super) fn without_effect(&self, planted: &[Planted]) -> PlacesScore {
        let mut score = PlacesScore::default();
        for ((airport, rule), class) in &self.classes {
            let is_planted = planted.iter().any(|effect| {
                effect.airport.as_ref() == Some(airport) && effect.rules.contains(rule)
            });
            let Some(class) = class.as_ref().filter(|_| !is_planted) else {
                continue;
            };
            score.judged += 1;
            score.hot_spots += u64::from(class == "hot spot");
            score.watched += u64::from(class == "watch");
            if is_called(class) && score.examples.len() < EXAMPLES {
                score.examples.push(PlaceExample {
                    airport: airport.clone(),
                    rule: rule.clone(),
                    class: class.clone(),
                });
            }
        }
        score
    }
}

fn is_called(class: &str) -> bool {
    matches!(class, "hot spot" | "watch")
}
