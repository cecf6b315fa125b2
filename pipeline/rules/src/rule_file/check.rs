//! Raw rule to checked rule: everything that can be said of one file by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::checked::{CheckedRule, FAMILIES, Segment, Status};
use super::fault::{Fault, SourceFile};
use super::raw::RawRule;
use super::reader::{Number, Reader, Text};
use super::{RuleContext, hash, levels, overrides, shape};
use crate::expression::{Expression, Kind, Scope, Unit, nearest};

/// What a file is checked against.
pub(super) struct Surroundings<'a> {
    pub(super) context: &'a RuleContext,
    /// Ids of all files of the pack, faulty ones too.
    pub(super) ids: &'a BTreeSet<String>,
    /// The file's name without ending.
    pub(super) stem: &'a str,
}

/// Checks one file's rule; `None` as soon as it has a fault.
pub(super) fn check(
    file: &SourceFile,
    raw: &RawRule,
    earlier: Vec<Fault>,
    around: &Surroundings<'_>,
) -> (Option<CheckedRule>, Vec<Fault>) {
    let mut checker = Checker {
        reader: Reader {
            file,
            faults: earlier,
        },
        limits: raw
            .limits
            .iter()
            .map(|(name, number)| (name.value.clone(), number.value))
            .collect(),
        used_limits: BTreeSet::new(),
    };
    let rule = checker.rule(raw, around);
    let faults = checker.reader.faults;
    (rule.filter(|_| faults.is_empty()), faults)
}

/// The file being checked and what was gathered of it.
pub(super) struct Checker<'a> {
    pub(super) reader: Reader<'a>,
    pub(super) limits: BTreeMap<String, f64>,
    pub(super) used_limits: BTreeSet<String>,
}

impl Checker<'_> {
    fn rule(&mut self, raw: &RawRule, around: &Surroundings<'_>) -> Option<CheckedRule> {
        let id = raw.id.as_ref().and_then(|id| self.id(id, around));
        let version = raw
            .version
            .as_ref()
            .and_then(|version| self.version(version));
        let family = raw
            .family
            .as_ref()
            .and_then(|family| self.one_of("family", family, &FAMILIES));
        let status = self.choice(
            "status",
            raw.status.as_ref(),
            Status::Core,
            &[("core", Status::Core), ("trial", Status::Trial)],
        );
        let segment = self.choice(
            "segment",
            raw.segment.as_ref(),
            Segment::Approach,
            &[
                ("approach", Segment::Approach),
                ("roll", Segment::Roll),
                ("missed", Segment::Missed),
            ],
        );
        let coverage = raw
            .coverage
            .as_ref()
            .map_or(Some(0.9), |share| self.coverage(share));
        let among = raw.among.as_ref().map(|among| self.among(among, around));
        for (name, _) in &raw.limits {
            self.plain_name("limit", name);
        }
        let samples = sample_scope(around.context, &self.limits);
        let measures = shape::measures(self, raw, &samples);
        let shape = shape::shape(self, raw, &samples, around);
        let levels = levels::levels(self, raw, &measures, shape.as_ref(), &samples);
        let overrides = overrides::overrides(self, raw);
        self.unused_limits(raw);
        let mut rule = CheckedRule {
            id: id?,
            version: version?,
            title: raw.title.as_ref()?.value.clone(),
            family: family?,
            why: raw.why.as_ref()?.value.clone(),
            source: raw.source.as_ref()?.value.clone(),
            topics: raw.topics.iter().map(|topic| topic.value.clone()).collect(),
            status: status?,
            segment: segment?,
            among: among.map_or(Some(None), |among| among.map(Some))?,
            coverage: coverage?,
            shape: shape?,
            measures,
            levels,
            limits: self.limits.clone(),
            overrides,
            text_hash: String::new(),
            path: self.reader.file.path.clone(),
        };
        rule.text_hash = hash::text_hash(&rule);
        Some(rule)
    }

    fn id(&mut self, id: &Text, around: &Surroundings<'_>) -> Option<String> {
        self.plain_name("id", id)?;
        if id.value != around.stem {
            let message = format!("id `{}` is not the file's name", id.value);
            self.reader
                .note(id.span.clone(), message, "differs from the file's name")
                .help = Some(format!(
                "write `id = \"{}\"` or rename the file",
                around.stem
            ));
            return None;
        }
        if around
            .context
            .approach_columns
            .iter()
            .any(|column| column.name == id.value)
        {
            let message = format!("id `{}` is also a column of approaches", id.value);
            self.reader
                .note(id.span.clone(), message, "ambiguous in outcomes")
                .help = Some("choose another name".to_owned());
            return None;
        }
        Some(id.value.clone())
    }

    fn version(&mut self, version: &Number) -> Option<u32> {
        // Rounding is refused by the comparison that follows.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let whole = version.value as u32;
        if whole >= 1 && f64::from(whole) == version.value {
            return Some(whole);
        }
        let message = "`version` counts from 1".to_owned();
        self.reader
            .note(version.span.clone(), message, "a whole number expected");
        None
    }

    fn coverage(&mut self, share: &Number) -> Option<f64> {
        if share.value > 0.0 && share.value <= 1.0 {
            return Some(share.value);
        }
        let message = "`coverage` is a share above 0 and up to 1".to_owned();
        self.reader.note(share.span.clone(), message, "here").help =
            Some("nine tenths of the window are `coverage = 0.9`".to_owned());
        None
    }

    fn among(&mut self, among: &Text, around: &Surroundings<'_>) -> Option<String> {
        if among.value == around.stem {
            let message = "a rule cannot be its own denominator".to_owned();
            self.reader.note(among.span.clone(), message, "its own id");
            return None;
        }
        let others = around
            .ids
            .iter()
            .map(String::as_str)
            .filter(|id| *id != around.stem);
        if !around.ids.contains(&among.value) {
            let message = format!("unknown rule `{}`", among.value);
            let help = nearest(&among.value, others).map_or_else(
                || "name a rule of this pack".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            self.reader
                .note(among.span.clone(), message, "not in this pack")
                .help = Some(help);
            return None;
        }
        Some(among.value.clone())
    }

    /// Names have to stand in SQL without quotes.
    pub(super) fn plain_name(&mut self, what: &str, name: &Text) -> Option<()> {
        let letters = name.value.as_bytes();
        let plain = letters.first().is_some_and(u8::is_ascii_lowercase)
            && letters
                .iter()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || *c == b'_');
        if plain {
            return Some(());
        }
        let message = format!("{what} `{}` is not snake_case", name.value);
        self.reader.note(name.span.clone(), message, "here").help =
            Some("small letters, digits and `_`, beginning with a letter".to_owned());
        None
    }

    /// A text out of a list.
    fn one_of(&mut self, key: &str, text: &Text, known: &[&str]) -> Option<String> {
        if known.contains(&text.value.as_str()) {
            return Some(text.value.clone());
        }
        let message = format!("unknown {key} `{}`", text.value);
        let help = nearest(&text.value, known.iter().copied()).map_or_else(
            || format!("one of {}", known.join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        self.reader
            .note(text.span.clone(), message, "not in the list")
            .help = Some(help);
        None
    }

    /// A choice out of a list, or the default where nothing is written.
    pub(super) fn choice<T: Copy>(
        &mut self,
        key: &str,
        text: Option<&Text>,
        default: T,
        known: &[(&str, T)],
    ) -> Option<T> {
        let Some(text) = text else {
            return Some(default);
        };
        let names: Vec<_> = known.iter().map(|(name, _)| *name).collect();
        let name = self.one_of(key, text, &names)?;
        known
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, value)| *value)
    }

    /// Seconds of a text such as `3s` or `2min`; 0 where nothing is written.
    pub(super) fn seconds(&mut self, text: Option<&Text>) -> Option<f64> {
        let Some(text) = text else { return Some(0.0) };
        let (digits, factor) = match (text.value.strip_suffix("min"), text.value.strip_suffix('s'))
        {
            (Some(digits), _) => (digits, 60.0),
            (None, Some(digits)) => (digits, 1.0),
            (None, None) => ("", 1.0),
        };
        let plain = !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit() || c == '.');
        if let (true, Ok(number)) = (plain, digits.parse::<f64>()) {
            return Some(number * factor);
        }
        let message = format!("`{}` is not a duration", text.value);
        self.reader.note(text.span.clone(), message, "here").help =
            Some("write seconds or minutes: \"3s\", \"0.5s\", \"2min\"".to_owned());
        None
    }

    /// Reads an expression and moves its faults into the file.
    pub(super) fn expression(
        &mut self,
        text: &Text,
        wanted: Kind,
        scope: &Scope,
    ) -> Option<Expression> {
        match Expression::read(&text.value, wanted, scope) {
            Ok(expression) => Some(self.placed(text, expression)),
            Err(faults) => {
                // What is named in a faulty expression is not reported again as unused.
                self.used_limits.extend(self.limits.keys().cloned());
                self.reader.expression_faults(text, faults);
                None
            }
        }
    }

    pub(super) fn placed(&mut self, text: &Text, mut expression: Expression) -> Expression {
        self.used_limits.extend(expression.limits.iter().cloned());
        expression.span = self.reader.inside(text, 0..text.value.len());
        expression
    }

    fn unused_limits(&mut self, raw: &RawRule) {
        for (name, _) in &raw.limits {
            if !self.used_limits.contains(&name.value) {
                let message = format!("limit `{}` is never used", name.value);
                self.reader
                    .note(name.span.clone(), message, "changes nothing")
                    .help = Some(format!("use it as `limits.{}` or take it out", name.value));
            }
        }
    }
}

/// The sample columns and the rule's limits.
fn sample_scope(context: &RuleContext, limits: &BTreeMap<String, f64>) -> Scope {
    let mut scope = Scope {
        noun: "column",
        ..Scope::default()
    };
    scope.limits = limits.keys().cloned().collect();
    for column in &context.columns {
        column.add_to(&mut scope);
    }
    for measure in ["duration_s", "failed", "held", "not_held", "worst"] {
        scope.elsewhere.insert(
            measure.to_owned(),
            format!("`{measure}` is a result: it is read in `[[levels]]`"),
        );
    }
    scope
}

impl super::ColumnSpec {
    /// Makes the column known to an expression.
    pub(super) fn add_to(&self, scope: &mut Scope) {
        match (self.text, self.unit.as_str()) {
            (true, _) => scope.text(&self.name),
            (false, "bool") => scope.condition(&self.name),
            (false, unit) => scope.number(&self.name, Unit::parse(unit)),
        }
    }
}
