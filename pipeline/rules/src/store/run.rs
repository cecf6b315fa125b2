//! A run: what changed in the store at one moment, and with what.

use std::collections::{BTreeMap, BTreeSet};

use records::fleet::{Flags, LossRates, MapMark};
use serde::{Deserialize, Serialize};

/// An input file that was loaded.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct InputRecord {
    /// Path relative to the fleet folder.
    pub file: String,
    /// BLAKE3 of its bytes.
    pub hash: String,
    /// The parameter maps it was read by, by their place in [`Run::maps`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub maps: Vec<usize>,
}

/// One run: everything that changed in the store at one moment.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Run {
    /// `load`, `detect`, `robustness`, `review`, `compact`, `erase` or `collect`.
    pub kind: String,
    /// Version of the program.
    pub version: String,
    /// Hash of everything but the rules that decides what prepare makes of an input.
    pub config_hash: String,
    /// Hash of the rule pack; empty for a load.
    #[serde(default)]
    pub rules_hash: String,
    /// Files added, by table, relative to the store.
    pub added: BTreeMap<String, Vec<String>>,
    /// Files removed, by table.
    #[serde(default)]
    pub removed: BTreeMap<String, Vec<String>>,
    /// Inputs that this run loaded.
    #[serde(default)]
    pub inputs: Vec<InputRecord>,
    /// The parameter maps of the fleet when this run loaded.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub maps: Vec<MapMark>,
    /// Sample files that this run judged.
    #[serde(default)]
    pub judged: Vec<String>,
    /// Rules that it judged them by: hash of what decides the results of each.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub rules: BTreeMap<String, String>,
    /// Rules whose earlier results leave the store with this run.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub dropped: Vec<String>,
    /// Sample files that this run put together from others: with every approach of theirs, as judged as
    /// they were.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub merged: BTreeMap<String, Vec<String>>,
    /// Inputs that are known no more: their bytes have another name now.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub forgotten: Vec<String>,
    /// Flights that must not come back, by the hash of their id.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub erased: BTreeSet<String>,
    /// Files that this run takes off the disk: earlier states that need one can no longer be read.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub gone: BTreeSet<String>,
    /// Whether this run begins to load everything again: what was known of inputs no longer holds.
    #[serde(default)]
    pub all_again: bool,
    /// Inputs that were known to be new and are left to the runs after this one.
    #[serde(default)]
    pub left: u64,
    /// Fingerprint of the key that ids were replaced with, where there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// What a review was made with, where this run is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub review: Option<Review>,
}

/// What decides a review besides the rows of the store: with it, the same review can be made again.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Review {
    /// Month under review, where one was asked for.
    pub month: Option<String>,
    /// The month that is under review, asked for or the latest; none where no approach has a month.
    #[serde(default)]
    pub latest_month: Option<String>,
    /// Title of the fleet.
    pub title: String,
    /// Smallest number of flights of a cell that is shown.
    pub min_flights: u32,
    /// Height of the gate that decides whether an approach was stable.
    #[serde(default = "usual_gate_ft")]
    pub governing_gate_ft: f64,
    /// What each aircraft type loses by its table.
    #[serde(default)]
    pub loss_tables: BTreeMap<String, LossRates>,
    /// Whether energy classes go by the losses that the fleet shows rather than by the tables.
    #[serde(default)]
    pub measured_losses: bool,
    /// What makes a change, a trend or a place worth a flag.
    #[serde(default)]
    pub flags: Flags,
    /// What was assumed or left out.
    pub notes: Vec<String>,
    /// Refused files that were no longer in the fleet folder: no findings any more.
    pub gone: Vec<String>,
    /// Hash of the configuration that the flights were prepared under.
    pub config_hash: String,
    /// File with the text of every rule, relative to the store.
    pub pack: String,
}

impl Run {
    /// Notes a file that this run adds, if there is one.
    pub(crate) fn add(&mut self, table: &str, file: Option<String>) {
        self.added.entry(table.to_owned()).or_default().extend(file);
    }

    /// Notes a file that this run removes.
    pub(crate) fn remove(&mut self, table: &str, file: String) {
        self.removed.entry(table.to_owned()).or_default().push(file);
    }
}

/// That of reviews which were noted before it could be chosen.
fn usual_gate_ft() -> f64 {
    records::fleet::Review::default().governing_gate_ft
}
