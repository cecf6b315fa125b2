//! Plain tables in, one self-contained HTML page out.
//!
//! The page is the sheet a safety review reads in its meeting: [`render`] takes counts, rates and
//! intervals that somebody else worked out and only words, orders and draws them.
//! What never happens here: no rate or interval is computed, no file is read or written, no clock
//! is asked, nothing is fetched. The same input gives the same bytes.
//!
//! A figure that is missing keeps its reason on the way to the reader: *suppressed* (too few
//! flights to show), *not evaluable* (the rule could not have fired) and *zero* (it could have and
//! did not) are three different things and are worded differently everywhere.

mod against;
mod airports;
mod cautions;
mod cells;
mod check;
mod distributions;
mod error;
pub mod examples;
mod flown;
pub mod input;
mod months;
mod page;
mod pictures;
mod plots;
mod quantiles;
mod rates;
pub mod retrace;
mod rule_list;
mod scale;
mod since;
mod summary;
mod svg;
pub mod sweep;
mod topics;
mod trend;
mod words;

pub use cautions::CAUTIONS;
pub use error::ReportError;
pub use input::ReportInput;
pub use pictures::Picture;

use minijinja::{Environment, UndefinedBehavior};

/// The page's parts, by the name they include one another with. The ending `.html` switches
/// escaping on; the style sheet is ours and goes in as it stands.
const TEMPLATES: &[(&str, &str)] = &[
    ("report.html", include_str!("../templates/report.html")),
    ("cells.html", include_str!("../templates/cells.html")),
    ("analysed.html", include_str!("../templates/analysed.html")),
    ("rates.html", include_str!("../templates/rates.html")),
    ("changed.html", include_str!("../templates/changed.html")),
    ("flown.html", include_str!("../templates/flown.html")),
    ("energy.html", include_str!("../templates/energy.html")),
    ("withheld.html", include_str!("../templates/withheld.html")),
    ("trend.html", include_str!("../templates/trend.html")),
    ("airports.html", include_str!("../templates/airports.html")),
    ("topics.html", include_str!("../templates/topics.html")),
    ("since.html", include_str!("../templates/since.html")),
    ("against.html", include_str!("../templates/against.html")),
    (
        "distributions.html",
        include_str!("../templates/distributions.html"),
    ),
    ("quality.html", include_str!("../templates/quality.html")),
    ("reading.html", include_str!("../templates/reading.html")),
    ("rules.html", include_str!("../templates/rules.html")),
    ("identity.html", include_str!("../templates/identity.html")),
    ("examples.html", include_str!("../templates/examples.html")),
    ("retrace.html", include_str!("../templates/retrace.html")),
    ("cautions.html", include_str!("../templates/cautions.html")),
    ("retrace.css", include_str!("../templates/retrace.css")),
    ("brief.html", include_str!("../templates/brief.html")),
    ("brief.css", include_str!("../templates/brief.css")),
    ("style.css", include_str!("../templates/style.css")),
];

/// Renders the report as one HTML page that needs no network, no script and no font of its own.
///
/// Rules, airports and lines appear in the order given, except that ranked airports come first in
/// their rank; months are put on the calendar, whatever their order.
///
/// # Errors
/// [`ReportError::Input`] lists every figure that cannot be true (not finite, an interval upside
/// down, a month that is not `YYYY-MM`, more approaches with an event than evaluable ones);
/// [`ReportError::Template`] is a fault of this crate.
pub fn render(input: &ReportInput) -> Result<String, ReportError> {
    check::check(input)?;
    filled("report.html", page::build(input))
}

/// Everything that is made of one review to be passed round.
#[derive(Debug, Clone, PartialEq)]
pub struct Rendered {
    /// The report, as [`render`] gives it.
    pub report: String,
    /// Two pages for the training manager.
    pub brief: String,
    /// The pictures of the report as files.
    pub pictures: Vec<Picture>,
}

/// Renders report, brief and pictures.
///
/// # Errors
/// As [`render`].
pub fn render_all(input: &ReportInput) -> Result<Rendered, ReportError> {
    check::check(input)?;
    let page = minijinja::Value::from_serialize(page::build(input));
    let report = filled("report.html", &page)?;
    Ok(Rendered {
        brief: filled("brief.html", &page)?,
        pictures: pictures::of_page(&report),
        report,
    })
}

/// A page from its template.
fn filled(name: &str, page: impl serde::Serialize) -> Result<String, ReportError> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_trim_blocks(true);
    environment.set_lstrip_blocks(true);
    for (name, text) in TEMPLATES {
        environment.add_template(name, text)?;
    }
    Ok(environment.get_template(name)?.render(page)?)
}
