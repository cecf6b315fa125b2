//! Results to stdout or a file, in the format asked for.

use std::fs::File;
use std::io::{self, Write};

use comfy_table::{ContentArrangement, Table, presets};

use crate::arguments::{Format, Global};
use crate::failure::Failure;

/// A small table of results.
pub(crate) struct Sheet {
    header: Vec<&'static str>,
    rows: Vec<Vec<String>>,
}

impl Sheet {
    pub(crate) fn new(header: &[&'static str]) -> Self {
        Self {
            header: header.to_vec(),
            rows: Vec::new(),
        }
    }

    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Prints to stdout, or to the file of `--output`.
    pub(crate) fn print(&self, global: &Global) -> Result<(), Failure> {
        print(global, &self.text(global.format))
    }

    fn text(&self, format: Format) -> String {
        match format {
            Format::Table => {
                let mut table = Table::new();
                table.load_preset(presets::NOTHING);
                table.set_content_arrangement(ContentArrangement::Dynamic);
                table.set_header(&self.header);
                table.add_rows(&self.rows);
                format!("{}\n", table.trim_fmt())
            }
            Format::Json => {
                let rows: Vec<serde_json::Map<String, serde_json::Value>> = self
                    .rows
                    .iter()
                    .map(|row| {
                        let cells = self.header.iter().zip(row);
                        cells
                            .map(|(key, cell)| ((*key).to_owned(), cell.clone().into()))
                            .collect()
                    })
                    .collect();
                format!("{}\n", serde_json::Value::from_iter(rows))
            }
            Format::Csv => {
                let header: Vec<String> = self.header.iter().map(|h| (*h).to_owned()).collect();
                let mut text = String::new();
                for row in std::iter::once(&header).chain(&self.rows) {
                    let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
                    text.push_str(&cells.join(","));
                    text.push('\n');
                }
                text
            }
        }
    }
}

/// A cell as it stands in CSV.
pub(crate) fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// Several tables under headings. As CSV they are one long table of single figures, so that one file
/// holds them all.
#[derive(Default)]
pub(crate) struct Sections {
    sections: Vec<(&'static str, Sheet)>,
}

impl Sections {
    /// Adds a table, unless it has no row.
    pub(crate) fn add(&mut self, heading: &'static str, sheet: Sheet) {
        if !sheet.rows.is_empty() {
            self.sections.push((heading, sheet));
        }
    }

    /// Prints to stdout, or to the file of `--output`.
    pub(crate) fn print(&self, global: &Global) -> Result<(), Failure> {
        if global.format == Format::Table {
            let parts = self.sections.iter();
            let parts: Vec<String> = parts
                .map(|(heading, sheet)| format!("{heading}\n\n{}", sheet.text(Format::Table)))
                .collect();
            return print(global, &parts.join("\n"));
        }
        let mut long = Sheet::new(&["section", "number", "row", "column", "value"]);
        for (heading, sheet) in &self.sections {
            for (number, row) in sheet.rows.iter().enumerate() {
                for (column, value) in sheet.header.iter().zip(row).skip(1) {
                    long.row([
                        (*heading).to_owned(),
                        (number + 1).to_string(),
                        row[0].clone(),
                        (*column).to_owned(),
                        value.clone(),
                    ]);
                }
            }
        }
        long.print(global)
    }
}

/// Text to stdout, or to the file of `--output`.
pub(crate) fn print(global: &Global, text: &str) -> Result<(), Failure> {
    match &global.output {
        Some(path) => File::create(path)
            .and_then(|mut file| file.write_all(text.as_bytes()))
            .map_err(|error| Failure::text(format!("cannot write {}: {error}", path.display()))),
        None => Ok(io::stdout().lock().write_all(text.as_bytes())?),
    }
}
