//! What the page is made of.

/// The topics of a review and the approaches chosen for them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Examples {
    /// Title of the fleet.
    pub fleet_title: String,
    /// First and last month the examples are from, `YYYY-MM`; none where months are not known.
    pub months: Option<(String, String)>,
    /// Number of the run of the store.
    pub run_number: u64,
    /// Topics with a rank, in its order.
    pub topics: Vec<Topic>,
    /// Topics that have none.
    pub without: Vec<WithoutExamples>,
}

/// One topic of training.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Topic {
    /// Its name, as rules name it.
    pub name: String,
    /// 1 for the first.
    pub rank: u32,
    /// What the review says of it, as the report has it.
    pub sentence: Option<String>,
    /// Its approaches, in the order to show them.
    pub examples: Vec<Example>,
}

/// A topic that has no examples.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WithoutExamples {
    /// Its name, as rules name it.
    pub name: String,
    /// Why, in words.
    pub why: String,
}

/// One approach.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Example {
    /// Opaque flight id.
    pub flight_id: String,
    /// From 1, in flight order.
    pub approach_no: i32,
    /// Its page, relative to this one, as a link has it; none where the approach cannot be shown any more.
    pub link: Option<String>,
    /// Title of the rule whose event makes it an example.
    pub shows: String,
    /// Worst level of that rule's events here.
    pub level: String,
    /// Airport; none where unknown.
    pub airport: Option<String>,
    /// Runway end; none where unknown.
    pub runway: Option<String>,
    /// `YYYY-MM`; none where unknown.
    pub month: Option<String>,
    /// Aircraft type; none where unknown.
    pub aircraft_type: Option<String>,
    /// How the approach ended, in words.
    pub outcome: String,
    /// What it was chosen for.
    pub why: Why,
}

/// What an approach was chosen for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Why {
    /// Near the middle of the events of its kind.
    #[default]
    Typical,
    /// It came out of it: it went around, or was as it should be from the governing gate on.
    Recovered,
}
