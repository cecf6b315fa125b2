//! Whether the numbers of a type file fit together.

use super::{AircraftType, Allowance};

impl AircraftType {
    /// What does not fit together, if anything.
    pub(super) fn fault(&self, stem: &str) -> Option<String> {
        let ascending = |values: &[f64]| values.windows(2).all(|pair| pair[0] < pair[1]);
        let reversed: Vec<f64> = self
            .target_speed
            .distance_nm
            .iter()
            .rev()
            .copied()
            .collect();
        let masses = self.speeds.mass_kg.len();
        let levers = self.levers.len();
        let rows = &self.speeds.min_manoeuvre_kt;
        if self.aircraft_type != stem {
            return Some(format!(
                "aircraft_type is `{}`, expected the file's name `{stem}`",
                self.aircraft_type
            ));
        }
        if levers == 0 || masses == 0 || reversed.is_empty() {
            return Some(
                "[[lever]], speeds.mass_kg and target_speed.distance_nm need an entry".into(),
            );
        }
        if !ascending(&self.speeds.mass_kg) {
            return Some("speeds.mass_kg must ascend".into());
        }
        if self.speeds.vref_kt.len() != masses {
            let found = self.speeds.vref_kt.len();
            return Some(format!(
                "speeds.vref_kt has {found} speeds, expected one for each of the {masses} masses"
            ));
        }
        if rows.len() != levers {
            return Some(format!(
                "speeds.min_manoeuvre_kt has {} rows, expected one for each of the {levers} lever positions",
                rows.len()
            ));
        }
        if let Some(at) = rows.iter().position(|row| row.len() != masses) {
            return Some(format!(
                "speeds.min_manoeuvre_kt row {} has {} speeds, expected one for each of the {masses} masses",
                at + 1,
                rows[at].len()
            ));
        }
        if !ascending(&reversed) {
            return Some("target_speed.distance_nm must descend, far end first".into());
        }
        if self.target_speed.cas_kt.len() != reversed.len() {
            let found = self.target_speed.cas_kt.len();
            return Some(format!(
                "target_speed.cas_kt has {found} speeds, expected one for each of the {} distances",
                reversed.len()
            ));
        }
        if self
            .levers
            .windows(2)
            .any(|pair| pair[0].limit_kt < pair[1].limit_kt || pair[0].flap_deg > pair[1].flap_deg)
        {
            return Some("[[lever]] must go from clean to full: limits must not rise, flap_deg must not fall".into());
        }
        if let Some(fault) = self.reference_fault() {
            return Some(fault);
        }
        if !self.levers.iter().any(|lever| lever.landing) {
            return Some("no [[lever]] has landing = true".into());
        }
        None
    }

    /// A reference speed of a lever position that has no place there.
    fn reference_fault(&self) -> Option<String> {
        let masses = self.speeds.mass_kg.len();
        for lever in &self.levers {
            let name = &lever.name;
            match lever.vref_kt.as_ref().map(Vec::len) {
                Some(_) if !lever.landing => {
                    return Some(format!(
                        "[[lever]] \"{name}\" has vref_kt, expected only where landing = true"
                    ));
                }
                Some(found) if found != masses => {
                    return Some(format!(
                        "[[lever]] \"{name}\": vref_kt has {found} speeds, expected one for each of the {masses} masses"
                    ));
                }
                _ => {}
            }
        }
        if self.target_speed.allowance == Allowance::Speed && self.levers.len() < 2 {
            return Some(
                "target_speed.allowance = \"speed\" needs a [[lever]] after the clean one".into(),
            );
        }
        None
    }
}
