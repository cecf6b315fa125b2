//! What is known of a training topic besides its rules: which competencies it asks for, and what to talk about.
//!
//! Topics are those that rules name; of a name that is not listed here nothing more is said. Competencies and
//! recurrent topics are those of evidence-based training. Their codes: KNO, PRO, COM, FPA, FPM and LTW as in
//! the EASA examiner manual; PSD, SAW and WLM by name in UK FCL.APP5 GM2, their codes from memory of ICAO Doc
//! 9995. The recurrent topics are from memory of AMC1 ORO.FC.232 and Doc 9995. Which topic asks for which
//! competency is judgement of this project, no standard.

/// A topic of recurrent training.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Topic {
    /// As rules name it.
    pub(super) name: &'static str,
    /// Codes of the competencies it asks for.
    pub(super) competencies: &'static str,
    /// Topics of recurrent training it belongs to.
    pub(super) recurrent: &'static str,
    /// Whether the energy on the way in decides how it ends.
    pub(super) decided_by_energy: bool,
    /// What to talk about.
    pub(super) talk: &'static str,
}

const fn topic(
    name: &'static str,
    competencies: &'static str,
    recurrent: &'static str,
    decided_by_energy: bool,
    talk: &'static str,
) -> Topic {
    Topic {
        name,
        competencies,
        recurrent,
        decided_by_energy,
        talk,
    }
}

/// What rules name and nobody trains: it is about recorders.
pub(super) const NO_TRAINING: &[&str] = &["data quality"];

#[rustfmt::skip] // one topic a line or two
const TOPICS: &[Topic] = &[
    topic("adverse wind", "FPM, SAW, PSD", "adverse wind; landing", false,
        "which wind is too much, and who says so"),
    topic("airspace", "PRO, SAW", "compliance; workload", false,
        "speed below the transition to lower airspace, and who watches it"),
    topic("altimetry", "PRO, SAW, KNO", "compliance; terrain", false,
        "setting and cross-checking the altimeters"),
    topic("automation management", "FPA, SAW, PRO", "automation management", false,
        "what the automation is doing, and when to take it away"),
    topic("configuration management", "PRO, FPM, FPA, SAW", "compliance; automation management", false,
        "slowing down before selecting, and watching where the speed is going"),
    topic("descent planning", "FPA, SAW, WLM", "unstable approach; workload", true,
        "height for distance, and what a shortcut takes away"),
    topic("energy management", "FPM, FPA, SAW, WLM", "unstable approach; automation management", true,
        "when to call for drag, and which"),
    topic("fuel and mass", "KNO, PRO, SAW", "loading, fuel and performance", false,
        "what the mass does to speeds and distances"),
    topic("go-around decision", "PSD, LTW, SAW", "go-around management; unstable approach", true,
        "the decision at the gate, and who may call it"),
    topic("go-around management", "FPM, FPA, PRO, WLM", "go-around management; surprise", false,
        "the first seconds after the decision"),
    topic("landing performance", "KNO, PSD, SAW", "landing; loading, fuel and performance", false,
        "how much runway is left after a long flare, and when to go around from it"),
    topic("landing technique", "FPM, SAW", "landing; manual control", false,
        "height and speed over the threshold, and where the wheels touch"),
    topic("manual control", "FPM, SAW", "manual control", false,
        "small corrections, made early"),
    topic("speed control", "FPM, FPA, SAW", "manual control; automation management", false,
        "which speed belongs to which distance"),
    topic("terrain", "PRO, SAW, KNO", "terrain", false,
        "what a warning asks for at once"),
    topic("traffic", "PRO, SAW, WLM", "traffic", false,
        "what an advisory asks for at once"),
    topic("unstable approach", "FPM, FPA, SAW, WLM, PRO", "unstable approach; monitoring and error management", true,
        "being configured and on speed in time, and saying so when not"),
    topic("use of drag", "FPM, FPA, SAW", "unstable approach; automation management", true,
        "speedbrake, flap or gear: what each is worth, and when"),
];

/// What is known of a topic; none for a name that is not listed.
pub(super) fn known(name: &str) -> Option<&'static Topic> {
    TOPICS.iter().find(|topic| topic.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rule_file::{RuleContext, builtin_pack};
    use ::records::catalogue::Catalogue;

    #[test]
    fn every_topic_of_the_built_in_rules_is_known() {
        let pack = builtin_pack(&RuleContext::of(&Catalogue::default())).unwrap();
        for rule in pack {
            for topic in rule.topics {
                let listed = known(&topic).is_some() || NO_TRAINING.contains(&topic.as_str());
                assert!(listed, "{}: {topic}", rule.id);
            }
        }
    }
}
