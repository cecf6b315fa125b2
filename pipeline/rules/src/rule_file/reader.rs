//! TOML tables read key by key, so that one wrong key does not hide the next.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::{Fault, SourceFile};
use crate::expression::{ExpressionFault, nearest};

/// A text of the file, and where it stands, quotes included.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Text {
    pub(super) value: String,
    pub(super) span: Range<usize>,
}

/// A number of the file, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Number {
    pub(super) value: f64,
    pub(super) span: Range<usize>,
}

/// A number or an expression.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NumberOrText {
    Number(Number),
    Text(Text),
}

/// A table and what to call it in messages.
#[derive(Clone)]
pub(super) struct Section<'a> {
    pub(super) name: &'static str,
    pub(super) table: &'a DeTable<'a>,
    pub(super) span: Range<usize>,
}

/// Reads values of the wanted type, and notes every one that is not.
pub(super) struct Reader<'a> {
    pub(super) file: &'a SourceFile,
    pub(super) faults: Vec<Fault>,
}

impl<'a> Reader<'a> {
    pub(super) fn note(&mut self, span: Range<usize>, message: String, label: &str) -> &mut Fault {
        let at = self.faults.len();
        self.faults.push(self.file.fault(span, message, label));
        &mut self.faults[at]
    }

    /// Refuses keys outside `known`.
    pub(super) fn only(&mut self, section: &Section<'_>, known: &[&str]) {
        for (key, _) in section.table.iter() {
            let name = key.get_ref().as_ref();
            if known.contains(&name) {
                continue;
            }
            let help = nearest(name, known.iter().copied()).map_or_else(
                || format!("{} takes {}", section.name, known.join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            let message = format!("unknown key `{name}` in {}", section.name);
            self.note(key.span(), message, "not a key here").help = Some(help);
        }
    }

    pub(super) fn text(&mut self, section: &Section<'_>, key: &str) -> Option<Text> {
        let value = section.table.get(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(Text {
                value: text.to_string(),
                span: value.span(),
            }),
            other => self.wrong_type(key, "a text in quotes", other, value.span()),
        }
    }

    /// A text that has to be there and to say something.
    pub(super) fn required(&mut self, section: &Section<'_>, key: &str) -> Option<Text> {
        if !section.table.contains_key(key) {
            let message = format!("{} lacks `{key}`", section.name);
            self.note(section.span.clone(), message, "in here").help =
                Some(format!("add `{key} = …`"));
            return None;
        }
        let text = self.text(section, key)?;
        if text.value.trim().is_empty() {
            self.note(text.span, format!("`{key}` is empty"), "nothing here")
                .help = Some("say it in words".to_owned());
            return None;
        }
        Some(text)
    }

    pub(super) fn texts(&mut self, section: &Section<'_>, key: &str) -> Vec<Text> {
        let Some(value) = section.table.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type::<()>(key, "a list of texts", value.get_ref(), value.span());
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => {
                    texts.push(Text {
                        value: text.to_string(),
                        span: item.span(),
                    });
                }
                other => {
                    self.wrong_type::<()>(key, "a list of texts", other, item.span());
                }
            }
        }
        texts
    }

    pub(super) fn number(&mut self, section: &Section<'_>, key: &str) -> Option<Number> {
        let value = section.table.get(key)?;
        self.as_number(key, value, "a number")
    }

    pub(super) fn number_or_text(
        &mut self,
        section: &Section<'_>,
        key: &str,
    ) -> Option<NumberOrText> {
        let value = section.table.get(key)?;
        if let DeValue::String(text) = value.get_ref() {
            let text = Text {
                value: text.to_string(),
                span: value.span(),
            };
            return Some(NumberOrText::Text(text));
        }
        self.as_number(key, value, "a number or an expression in quotes")
            .map(NumberOrText::Number)
    }

    /// Every key of a table of numbers, in file order.
    pub(super) fn numbers(&mut self, section: &Section<'_>) -> Vec<(Text, Number)> {
        let mut numbers = Vec::new();
        for (key, value) in section.table.iter() {
            if let Some(number) = self.as_number(key.get_ref(), value, "a number") {
                let name = Text {
                    value: key.get_ref().to_string(),
                    span: key.span(),
                };
                numbers.push((name, number));
            }
        }
        numbers.sort_by_key(|(name, _)| name.span.start);
        numbers
    }

    /// Every key of a table of texts, in file order.
    pub(super) fn named_texts(&mut self, section: &Section<'_>) -> Vec<(Text, Text)> {
        let mut named = Vec::new();
        for (key, _) in section.table.iter() {
            let name = Text {
                value: key.get_ref().to_string(),
                span: key.span(),
            };
            if let Some(text) = self.text(section, &name.value) {
                named.push((name, text));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        named
    }

    pub(super) fn table<'t>(
        &mut self,
        section: &Section<'t>,
        key: &str,
        name: &'static str,
    ) -> Option<Section<'t>> {
        let (key, value) = section.table.get_key_value(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Section {
                name,
                table,
                span: self.header(key, value.span()),
            }),
            other => self.wrong_type(key.get_ref(), "a table", other, value.span()),
        }
    }

    pub(super) fn tables<'t>(
        &mut self,
        section: &Section<'t>,
        key: &str,
        name: &'static str,
    ) -> Vec<Section<'t>> {
        let Some((key, value)) = section.table.get_key_value(key) else {
            return Vec::new();
        };
        let wanted = format!("a list of tables, each under `{name}`");
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type::<()>(key.get_ref(), &wanted, value.get_ref(), value.span());
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    tables.push(Section {
                        name,
                        table,
                        span: self.header(key, item.span()),
                    });
                }
                other => {
                    self.wrong_type::<()>(key.get_ref(), &wanted, other, item.span());
                }
            }
        }
        tables
    }

    /// A table's span, cut to its first line: a label over the whole table says nothing.
    fn header<K>(&self, key: &Spanned<K>, span: Range<usize>) -> Range<usize> {
        if span.is_empty() {
            return key.span();
        }
        let line = self.file.text[span.clone()]
            .lines()
            .next()
            .unwrap_or_default();
        span.start..span.start + line.trim_end().len()
    }

    fn as_number(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        wanted: &str,
    ) -> Option<Number> {
        let number = match value.get_ref() {
            DeValue::Integer(digits) if digits.radix() == 10 => digits.as_str().parse().ok(),
            DeValue::Float(digits) => digits.as_str().parse::<f64>().ok(),
            other => return self.wrong_type(key, wanted, other, value.span()),
        };
        let usable = number.filter(|number: &f64| number.abs() <= f64::from(f32::MAX));
        if usable.is_none() {
            let message = format!("`{key}` is not a usable number");
            self.note(value.span(), message, "here").help =
                Some("write plain digits, at most 3e38".to_owned());
        }
        usable.map(|value_| Number {
            value: value_,
            span: value.span(),
        })
    }

    fn wrong_type<T>(
        &mut self,
        key: &str,
        wanted: &str,
        found: &DeValue<'_>,
        span: Range<usize>,
    ) -> Option<T> {
        let found = match found {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.note(
            span,
            format!("`{key}` is {found}, {wanted} expected"),
            "here",
        );
        None
    }

    /// Moves faults of an expression to their places in the file.
    pub(super) fn expression_faults(&mut self, text: &Text, faults: Vec<ExpressionFault>) {
        for fault in faults {
            let span = self.inside(text, fault.span);
            let mut moved = self.file.fault(span, fault.message, fault.label);
            moved.help = fault.help;
            self.faults.push(moved);
        }
    }

    /// Bytes of the file for bytes of a text's content.
    ///
    /// TOML drops the newline after `'''`. Where escapes make content and file differ, the whole
    /// content is meant.
    pub(super) fn inside(&self, text: &Text, inner: Range<usize>) -> Range<usize> {
        let raw = &self.file.text[text.span.clone()];
        let quotes = if raw.starts_with("'''") || raw.starts_with("\"\"\"") {
            3
        } else {
            1
        };
        let mut start = quotes;
        let end = raw.len().saturating_sub(quotes).max(start);
        if quotes == 3 {
            let rest = &raw[start..end];
            start += ["\r\n", "\n"]
                .iter()
                .find(|line| rest.starts_with(**line))
                .map_or(0, |l| l.len());
        }
        let file = text.span.start;
        if raw[start..end] == text.value && inner.end <= text.value.len() {
            file + start + inner.start..file + start + inner.end
        } else {
            file + start..file + end
        }
    }
}
