//! The table of published figures, kept between two marks of a page.

use crate::fault::{Fault, read_text};
use crate::figures::{Figure, figures_of};
use std::path::Path;

const BEGIN: &str = "<!-- figures: written by the example `pictures` -->\n";
const END: &str = "<!-- end of the figures -->\n";

/// The figures as a table.
pub(crate) fn table(figures: &[Figure]) -> String {
    let mut text = String::from(
        "| figure | published | source | accepted | the fleet shows | |\n|---|---|---|---|---|---|\n",
    );
    for figure in figures {
        let verdict = match (figure.known(), figure.holds()) {
            (false, _) => "",
            (true, true) => "agrees",
            (true, false) => "**differs**",
        };
        text += &format!(
            "| {} | {} | {} | {} … {} | {} | {verdict} |\n",
            figure.name,
            figure.published,
            figure.source,
            figures_of(figure.range.0),
            figures_of(figure.range.1),
            figure.answer()
        );
    }
    text
}

/// Puts the table into the page between its marks; gives it back where there is no such page.
pub(crate) fn write(page: &Path, figures: &[Figure]) -> Result<String, Fault> {
    let table = table(figures);
    if !page.exists() {
        return Ok(format!("\n{table}"));
    }
    let text = read_text(page)?;
    let marks = text.find(BEGIN).zip(text.find(END));
    let Some((begin, end)) = marks.filter(|(begin, end)| begin < end) else {
        let what = format!(
            "no lines `{}` and `{}` to put the table between",
            BEGIN.trim(),
            END.trim()
        );
        return Err(Fault::text(page, what));
    };
    let new = format!("{}{BEGIN}\n{table}\n{}", &text[..begin], &text[end..]);
    std::fs::write(page, new).map_err(|source| Fault::Write {
        path: page.to_owned(),
        source,
    })?;
    Ok(format!(
        "{} figures in `{}`\n",
        figures.len(),
        page.display()
    ))
}
