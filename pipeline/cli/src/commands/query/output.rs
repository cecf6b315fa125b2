//! Rows of a query to stdout or a file, in the format asked for, as they come.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

use comfy_table::{Table, presets};
use rules::query::{Cell, CellRow};

use super::super::access::own_file;
use crate::arguments::{Format, Global};
use crate::failure::Failure;
use crate::show::quoted;

/// Where rows go, and how they look. Nothing is opened before the first rows are there: a query that fails leaves
/// an older file alone.
pub(super) struct Output {
    format: Format,
    path: Option<PathBuf>,
    is_restricted: bool,
    columns: Vec<String>,
    /// Rows of a table for people: its widths are known at the end only.
    table: Vec<CellRow>,
    to: Option<Box<dyn Write>>,
    written: usize,
}

impl Output {
    /// # Errors
    /// Two columns have one name, of which JSON could only keep one.
    pub(super) fn new(
        global: &Global,
        is_restricted: bool,
        columns: Vec<String>,
    ) -> Result<Self, Failure> {
        let twice = |(place, name): &(usize, &String)| columns[..*place].contains(name);
        if let (Format::Json, Some((_, name))) =
            (global.format, columns.iter().enumerate().find(twice))
        {
            return Err(Failure::text(format!(
                "two columns of the result are called `{name}`, of which JSON could keep only one: name one of them \
                 with AS"
            )));
        }
        Ok(Self {
            format: global.format,
            path: global.output.clone(),
            is_restricted,
            columns,
            table: Vec::new(),
            to: None,
            written: 0,
        })
    }

    /// Takes some rows.
    pub(super) fn rows(&mut self, rows: Vec<CellRow>) -> io::Result<()> {
        if self.format == Format::Table {
            self.table.extend(rows);
            return Ok(());
        }
        for row in rows {
            let line = match self.format {
                Format::Csv => csv(row.iter().map(Cell::text)),
                _ => self.json(&row),
            };
            self.write(&line)?;
            self.written += 1;
        }
        Ok(())
    }

    /// Writes what is left.
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        match self.format {
            Format::Table => {
                let text = self.text();
                self.write(&text)?;
            }
            Format::Csv => self.write("")?,
            Format::Json => self.write(if self.written > 0 { "\n]\n" } else { "]\n" })?,
        }
        if let Some(mut to) = self.to {
            to.flush()?;
        }
        Ok(())
    }

    fn write(&mut self, text: &str) -> io::Result<()> {
        if self.to.is_none() {
            let mut to = self.open()?;
            match self.format {
                Format::Csv => to.write_all(csv(self.columns.iter().cloned()).as_bytes())?,
                Format::Json => to.write_all(b"[")?,
                Format::Table => {}
            }
            self.to = Some(to);
        }
        self.to
            .as_mut()
            .map_or(Ok(()), |to| to.write_all(text.as_bytes()))
    }

    fn open(&self) -> io::Result<Box<dyn Write>> {
        let Some(path) = &self.path else {
            return Ok(Box::new(BufWriter::new(io::stdout().lock())));
        };
        let file = if self.is_restricted {
            own_file(path)
        } else {
            File::create(path)
        };
        let file = file.map_err(|error| {
            io::Error::new(error.kind(), format!("{}: {error}", path.display()))
        })?;
        Ok(Box::new(BufWriter::new(file)))
    }

    fn text(&self) -> String {
        let mut table = Table::new();
        table.load_preset(presets::NOTHING);
        table.set_header(&self.columns);
        table.add_rows(self.table.iter().map(|row| row.iter().map(Cell::text)));
        format!("{}\n", table.trim_fmt())
    }

    /// One object a line; numbers as they stand in the tables, null as null.
    fn json(&self, row: &[Cell]) -> String {
        let mut text = String::from(if self.written == 0 { "\n{" } else { ",\n{" });
        for (place, (name, cell)) in self.columns.iter().zip(row).enumerate() {
            if place > 0 {
                text.push(',');
            }
            text.push_str(&string(name));
            text.push(':');
            match cell {
                Cell::Null => text.push_str("null"),
                Cell::Number(number) => text.push_str(number),
                Cell::Truth(truth) => text.push_str(if *truth { "true" } else { "false" }),
                Cell::Text(words) => text.push_str(&string(words)),
            }
        }
        text.push('}');
        text
    }
}

fn string(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn csv(cells: impl Iterator<Item = String>) -> String {
    let cells: Vec<String> = cells.map(|cell| quoted(&cell)).collect();
    format!("{}\n", cells.join(","))
}
