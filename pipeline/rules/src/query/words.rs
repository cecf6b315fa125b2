//! What the engine complains of, in words for whoever wrote the query, with the place in it.

use std::ops::Range;

use datafusion::common::{Column, DataFusionError, Diagnostic, SchemaError, Span as Place};
use datafusion::sql::sqlparser::tokenizer::{Location, Span};

use super::{QueryError, QueryFault};
use crate::expression::{byte_at, bytes_of, nearest, place_in_message};

/// So many columns are listed where none is near.
const LISTED: usize = 12;

/// What the engine puts before its words, of no help to whoever asks.
const PREFIXES: [&str; 4] = [
    "Error during planning: ",
    "Execution error: ",
    "Arrow error: ",
    "Optimizer rule failed: ",
];

/// The fault that an error of parsing, planning or running tells of.
pub(super) fn fault_of(name: &str, text: &str, error: &DataFusionError) -> QueryError {
    let mut seen = Seen::default();
    seen.look(error);
    let span = seen.span(text);
    let fault = QueryFault::new(name, text, seen.message);
    fault.at(span, seen.label).help(seen.help).into()
}

/// What has been found on the way down through the causes of an error.
#[derive(Default)]
struct Seen {
    message: String,
    label: String,
    help: Option<String>,
    place: Option<Span>,
    /// Where only a point is known.
    point: Option<Location>,
}

impl Seen {
    fn look(&mut self, error: &DataFusionError) {
        match error {
            DataFusionError::Diagnostic(diagnostic, inner) => {
                self.diagnostic(diagnostic);
                self.look(inner);
            }
            DataFusionError::Context(_, inner) => self.look(inner),
            DataFusionError::Shared(inner) => self.look(inner),
            DataFusionError::Collection(all) => {
                if let Some(first) = all.first() {
                    self.look(first);
                }
            }
            DataFusionError::SchemaError(error, _) => self.schema(error),
            DataFusionError::SQL(error, _) => {
                let text = error.to_string();
                let text = text.trim_start_matches("sql parser error: ");
                let (words, place) = place_in_message(text);
                self.point = place;
                self.say(words);
                "not understood from here".clone_into(&mut self.label);
            }
            DataFusionError::ResourcesExhausted(text) => {
                self.say(&format!("out of memory: {text}"));
                self.help = Some("allow more with --memory-limit, or ask for less".to_owned());
            }
            DataFusionError::NotImplemented(text) => self.say(&format!("not supported: {text}")),
            DataFusionError::Plan(text)
            | DataFusionError::Execution(text)
            | DataFusionError::Configuration(text) => self.say(text),
            DataFusionError::ArrowError(error, _) => self.say(&error.to_string()),
            other => self.say(&other.strip_backtrace()),
        }
    }

    /// The first line: what follows is for those who work on the engine.
    fn say(&mut self, text: &str) {
        let line = text.lines().next().unwrap_or_default();
        let mut line = line.trim_end_matches('.');
        while let Some(rest) = PREFIXES.iter().find_map(|prefix| line.strip_prefix(prefix)) {
            line = rest;
        }
        let mut letters = line.chars();
        self.message = match (letters.next(), letters.clone().next()) {
            // A name in capitals stays as it is.
            (Some(first), Some(second)) if !second.is_uppercase() => {
                first.to_lowercase().chain(letters).collect()
            }
            _ => line.to_owned(),
        };
    }

    fn diagnostic(&mut self, diagnostic: &Diagnostic) {
        if let Some(span) = diagnostic.span {
            self.place = Some(from_engine(span));
        }
        if self.help.is_none() {
            self.help = diagnostic.helps.first().map(|help| help.message.clone());
        }
    }

    fn schema(&mut self, error: &SchemaError) {
        match error {
            SchemaError::FieldNotFound {
                field,
                valid_fields,
            } => {
                self.message = format!("unknown column `{}`", field.flat_name());
                "not a column here".clone_into(&mut self.label);
                self.take_place_of(field);
                self.help = Some(instead(&field.name, valid_fields));
            }
            SchemaError::AmbiguousReference { field } => {
                self.message = format!("column `{}` is in more than one table", field.name);
                "of which table".clone_into(&mut self.label);
                self.take_place_of(field);
                self.help = Some(format!("write TABLE.{}", field.name));
            }
            SchemaError::DuplicateQualifiedField { name, .. }
            | SchemaError::DuplicateUnqualifiedField { name } => {
                self.message = format!("two columns are called `{name}`");
                self.help = Some("name one of them with AS".to_owned());
            }
        }
    }

    fn take_place_of(&mut self, column: &Column) {
        if let Some(span) = column.spans.first() {
            self.place = Some(from_engine(span));
        }
    }

    fn span(&self, text: &str) -> Option<Range<usize>> {
        if let Some(place) = self.place {
            return Some(bytes_of(text, place));
        }
        let start = byte_at(text, self.point?);
        let length = text[start..].chars().next().map_or(0, char::len_utf8);
        Some(start..start + length)
    }
}

fn from_engine(place: Place) -> Span {
    let at = |line, column| Location { line, column };
    Span::new(
        at(place.start.line, place.start.column),
        at(place.end.line, place.end.column),
    )
}

/// What to write in place of an unknown column.
fn instead(written: &str, valid: &[Column]) -> String {
    let mut names: Vec<&str> = valid.iter().map(|column| column.name.as_str()).collect();
    if let Some(near) = nearest(written, names.iter().copied()) {
        return format!("did you mean `{near}`?");
    }
    names.sort_unstable();
    names.dedup();
    if names.is_empty() || names.len() > LISTED {
        return "--tables lists the columns of every table".to_owned();
    }
    format!("the columns here are {}", names.join(", "))
}
