//! A rule as its file says it: every key of the right type, nothing looked up yet.

use toml::de::DeTable;

use super::fault::{Fault, SourceFile};
use super::reader::{Number, NumberOrText, Reader, Section, Text};

/// A rule file, read. `None` where a value is absent or was faulty.
pub(super) struct RawRule {
    pub(super) id: Option<Text>,
    pub(super) version: Option<Number>,
    pub(super) title: Option<Text>,
    pub(super) family: Option<Text>,
    pub(super) why: Option<Text>,
    pub(super) source: Option<Text>,
    pub(super) topics: Vec<Text>,
    pub(super) status: Option<Text>,
    pub(super) segment: Option<Text>,
    pub(super) among: Option<Text>,
    pub(super) coverage: Option<Number>,
    pub(super) shape: Option<RawShape>,
    pub(super) measures: Vec<(Text, Text)>,
    pub(super) criteria: Vec<RawCriterion>,
    pub(super) levels: Vec<RawLevel>,
    pub(super) limits: Vec<(Text, Number)>,
    pub(super) overrides: Vec<RawOverride>,
}

/// The one of four shapes.
pub(super) enum RawShape {
    Episode {
        within: Option<Text>,
        when: Option<Text>,
        release: Option<Text>,
        hold: Option<Text>,
        bridge: Option<Text>,
    },
    Gate {
        at: Option<Text>,
        to: Option<Number>,
        asks: Option<Text>,
    },
    Change {
        of: Option<Text>,
        direction: Option<Text>,
        before: Option<Text>,
    },
    Outcome {
        when: Option<Text>,
        value: Option<Text>,
        level: Option<Text>,
    },
}

pub(super) struct RawCriterion {
    pub(super) name: Option<Text>,
    pub(super) value: Option<Text>,
    pub(super) lower: Option<NumberOrText>,
    pub(super) upper: Option<NumberOrText>,
    pub(super) grace: Option<Text>,
    pub(super) applies: Option<Text>,
}

pub(super) struct RawLevel {
    pub(super) name: Option<Text>,
    pub(super) when: Option<Text>,
}

pub(super) struct RawOverride {
    pub(super) span: std::ops::Range<usize>,
    pub(super) aircraft_type: Option<Text>,
    pub(super) airport: Option<Text>,
    pub(super) runway: Option<Text>,
    pub(super) limits: Vec<(Text, Number)>,
    pub(super) why: Option<Text>,
}

/// Keys of a rule file.
pub(super) const KEYS: [&str; 20] = [
    "id",
    "version",
    "title",
    "family",
    "why",
    "source",
    "topics",
    "status",
    "segment",
    "among",
    "coverage",
    "episode",
    "gate",
    "change",
    "outcome",
    "measures",
    "criterion",
    "levels",
    "limits",
    "override",
];

/// Keys of each table within; the schema for editors names the same.
pub(super) const EPISODE_KEYS: [&str; 5] = ["within", "when", "release", "hold", "bridge"];
pub(super) const GATE_KEYS: [&str; 3] = ["at", "to", "asks"];
pub(super) const CHANGE_KEYS: [&str; 3] = ["of", "direction", "before"];
pub(super) const OUTCOME_KEYS: [&str; 3] = ["when", "value", "level"];
pub(super) const CRITERION_KEYS: [&str; 6] =
    ["name", "value", "lower", "upper", "grace", "applies"];
pub(super) const LEVEL_KEYS: [&str; 2] = ["name", "when"];
pub(super) const OVERRIDE_KEYS: [&str; 5] = ["aircraft_type", "airport", "runway", "limits", "why"];

/// Reads a file; `None` where it is no TOML at all.
pub(super) fn read(file: &SourceFile) -> (Option<RawRule>, Vec<Fault>) {
    let (table, errors) = DeTable::parse_recoverable(&file.text);
    let mut reader = Reader {
        file,
        faults: Vec::new(),
    };
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        let end = span.end.min(file.text.len());
        let span = span.start.min(end)..end;
        reader.note(
            span,
            format!("not TOML: {}", error.message().replace('\n', ", ")),
            "here",
        );
    }
    if !errors.is_empty() {
        return (None, reader.faults);
    }
    // What is missing from the file as a whole is shown at its first line.
    let first_line = 0..file.text.lines().next().unwrap_or_default().len();
    let root = Section {
        name: "the rule",
        table: table.get_ref(),
        span: first_line,
    };
    let rule = rule(&mut reader, &root);
    (Some(rule), reader.faults)
}

fn rule(reader: &mut Reader<'_>, root: &Section<'_>) -> RawRule {
    reader.only(root, &KEYS);
    if !root.table.contains_key("version") {
        reader
            .note(
                root.span.clone(),
                "the rule lacks `version`".to_owned(),
                "in here",
            )
            .help = Some("add `version = 1`; raise it when the meaning changes".to_owned());
    }
    let measures = reader.table(root, "measures", "[measures]");
    let limits = reader.table(root, "limits", "[limits]");
    let criteria = reader.tables(root, "criterion", "[[criterion]]");
    let levels = reader.tables(root, "levels", "[[levels]]");
    let overrides = reader.tables(root, "override", "[[override]]");
    RawRule {
        id: reader.required(root, "id"),
        version: reader.number(root, "version"),
        title: reader.required(root, "title"),
        family: reader.required(root, "family"),
        why: reader.required(root, "why"),
        source: reader.required(root, "source"),
        topics: reader.texts(root, "topics"),
        status: reader.text(root, "status"),
        segment: reader.text(root, "segment"),
        among: reader.text(root, "among"),
        coverage: reader.number(root, "coverage"),
        shape: shape(reader, root),
        measures: measures.map_or_else(Vec::new, |section| reader.named_texts(&section)),
        criteria: criteria
            .iter()
            .map(|section| criterion(reader, section))
            .collect(),
        levels: levels
            .iter()
            .map(|section| level(reader, section))
            .collect(),
        limits: limits.map_or_else(Vec::new, |section| reader.numbers(&section)),
        overrides: overrides
            .iter()
            .map(|section| override_of(reader, section))
            .collect(),
    }
}

/// Exactly one shape, and no table that belongs to another.
fn shape(reader: &mut Reader<'_>, root: &Section<'_>) -> Option<RawShape> {
    const SHAPES: [(&str, &str); 4] = [
        ("episode", "[episode]"),
        ("gate", "[gate]"),
        ("change", "[change]"),
        ("outcome", "[outcome]"),
    ];
    let mut found: Vec<(&str, Section<'_>)> = Vec::new();
    for (key, name) in SHAPES {
        if let Some(section) = reader.table(root, key, name) {
            found.push((key, section));
        }
    }
    found.sort_by_key(|(_, section)| section.span.start);
    for (_, section) in found.iter().skip(1) {
        let message = format!("{} beside {}", section.name, found[0].1.name);
        reader
            .note(section.span.clone(), message, "a second shape")
            .help = Some("a rule has one shape: make two rules".to_owned());
    }
    let Some((key, section)) = found.first() else {
        if !SHAPES.iter().any(|(key, _)| root.table.contains_key(*key)) {
            reader
                .note(
                    root.span.clone(),
                    "the rule has no shape".to_owned(),
                    "in here",
                )
                .help = Some("add [episode], [gate], [change] or [outcome]".to_owned());
        }
        return None;
    };
    let foreign: &[&str] = match *key {
        "episode" | "change" => &["criterion"],
        "gate" => &["measures"],
        _ if section.table.contains_key("value") => {
            &["criterion", "measures", "segment", "coverage"]
        }
        _ => &["criterion", "measures", "levels", "segment", "coverage"],
    };
    for name in foreign {
        if let Some((foreign_key, _)) = root.table.get_key_value(*name) {
            let message = format!("`{name}` does not go with {}", section.name);
            reader.note(foreign_key.span(), message, "here").help = Some(match *name {
                "criterion" => "criteria belong to a [gate]".to_owned(),
                "levels" => {
                    "an outcome without a `value` has one level: `level = \"medium\"`; with \
                             `value = '…'` levels read it as `worst`"
                        .to_owned()
                }
                "measures" if *key == "outcome" => {
                    "an outcome has one number: write it as `value = '…'` under [outcome]"
                        .to_owned()
                }
                "measures" if *key == "gate" => {
                    "the values of a gate are its criteria; levels read them by name".to_owned()
                }
                _ => "an outcome reads the approach as a whole, no samples".to_owned(),
            });
        }
    }
    Some(match *key {
        "episode" => {
            reader.only(section, &EPISODE_KEYS);
            RawShape::Episode {
                within: reader.required(section, "within"),
                when: reader.required(section, "when"),
                release: reader.text(section, "release"),
                hold: reader.text(section, "hold"),
                bridge: reader.text(section, "bridge"),
            }
        }
        "gate" => {
            reader.only(section, &GATE_KEYS);
            RawShape::Gate {
                at: reader.required(section, "at"),
                to: reader.number(section, "to"),
                asks: reader.text(section, "asks"),
            }
        }
        "change" => {
            reader.only(section, &CHANGE_KEYS);
            RawShape::Change {
                of: reader.required(section, "of"),
                direction: reader.text(section, "direction"),
                before: reader.text(section, "before"),
            }
        }
        _ => {
            reader.only(section, &OUTCOME_KEYS);
            if let (Some((_, levels)), Some((level, _))) = (
                root.table.get_key_value("levels"),
                section.table.get_key_value("level"),
            ) && !levels.span().is_empty()
            {
                let message = "`level` beside [[levels]]".to_owned();
                reader.note(level.span(), message, "which of the two?").help =
                    Some("take `level` out: [[levels]] give the level".to_owned());
            }
            RawShape::Outcome {
                when: reader.required(section, "when"),
                value: reader.text(section, "value"),
                level: reader.text(section, "level"),
            }
        }
    })
}

fn criterion(reader: &mut Reader<'_>, section: &Section<'_>) -> RawCriterion {
    reader.only(section, &CRITERION_KEYS);
    if !section.table.contains_key("lower") && !section.table.contains_key("upper") {
        let message = "the criterion has no bound".to_owned();
        reader.note(section.span.clone(), message, "in here").help =
            Some("add `lower = …`, `upper = …` or both".to_owned());
    }
    RawCriterion {
        name: reader.required(section, "name"),
        value: reader.required(section, "value"),
        lower: reader.number_or_text(section, "lower"),
        upper: reader.number_or_text(section, "upper"),
        grace: reader.text(section, "grace"),
        applies: reader.text(section, "applies"),
    }
}

fn level(reader: &mut Reader<'_>, section: &Section<'_>) -> RawLevel {
    reader.only(section, &LEVEL_KEYS);
    RawLevel {
        name: reader.required(section, "name"),
        when: reader.required(section, "when"),
    }
}

fn override_of(reader: &mut Reader<'_>, section: &Section<'_>) -> RawOverride {
    reader.only(section, &OVERRIDE_KEYS);
    let limits = reader.table(section, "limits", "[[override]] limits");
    if limits.is_none() && !section.table.contains_key("limits") {
        let message = "the override changes nothing".to_owned();
        reader.note(section.span.clone(), message, "in here").help =
            Some("add `limits.NAME = …`".to_owned());
    }
    RawOverride {
        span: section.span.clone(),
        aircraft_type: reader.text(section, "aircraft_type"),
        airport: reader.text(section, "airport"),
        runway: reader.text(section, "runway"),
        limits: limits.map_or_else(Vec::new, |section| reader.numbers(&section)),
        why: reader.required(section, "why"),
    }
}
