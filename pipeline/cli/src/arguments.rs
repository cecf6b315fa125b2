//! What can be typed.

mod query;
mod rules;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

pub(crate) use query::Query;
pub(crate) use rules::{
    CopyRules, DiffCommand, Explain, ExplainStage, OneRule, Pack, Rules, StoredFleet, SweepCommand,
};

/// Fleet-wide event rates from recorded flights.
#[derive(Debug, Parser)]
#[command(name = "glidetally", version, max_term_width = 100)]
#[command(after_help = "Example: glidetally review sample-data --out out\n\n\
    Events say that a condition was met in recorded data, not that someone erred. Demo limits are \
    invented; operators use their approved manuals and procedures.")]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
    #[command(flatten)]
    pub(crate) global: Global,
}

/// Options of every command.
#[derive(Debug, Args)]
pub(crate) struct Global {
    /// Format of what goes to stdout
    #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
    pub(crate) format: Format,
    /// Write to this file instead of stdout
    #[arg(short, long = "output", global = true, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Colours in messages; NO_COLOR switches them off too
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto)]
    pub(crate) color: Color,
    /// No progress, no notes: only results and errors
    #[arg(short, long, global = true)]
    pub(crate) quiet: bool,
    /// More messages; twice for still more
    #[arg(short, long, global = true, action = clap::ArgAction::Count)]
    pub(crate) verbose: u8,
    /// Format of log lines on stderr
    #[arg(long, global = true, value_enum, default_value_t = LogFormat::Text)]
    pub(crate) log_format: LogFormat,
    /// Threads to use; results never depend on it [default: all cores]
    #[arg(long, global = true, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub(crate) threads: Option<u16>,
    /// Memory that aggregates may hold, such as 2GB
    #[arg(long, global = true, value_name = "SIZE", value_parser = bytes, default_value = "4GB")]
    pub(crate) memory_limit: usize,
}

/// How results look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Aligned columns for people
    Table,
    /// One JSON array; of `review` and `report` one object with the headline figures
    Json,
    /// Comma-separated values with a header
    Csv,
}

/// When to use colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    /// On a terminal
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// How log lines look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum LogFormat {
    /// For people
    Text,
    /// One JSON object a line
    Json,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write an invented fleet with known truth
    #[command(subcommand)]
    Demo(Demo),
    /// The main job: load, detect, summarise and report what is new
    #[command(after_help = "Examples:\n  \
        glidetally review sample-data --out out --month 2026-02\n  \
        glidetally review sample-data --out out --against out    what is new since the last review\n  \
        glidetally review sample-data --out out --format json    headline figures instead of a path\n\n\
        The headline figures are also in OUT/share/headline.json.")]
    Review(Review),
    /// Load new flight records into the store
    Load(Stage),
    /// Judge what is in the store by the rules
    #[command(after_help = "Example: glidetally detect sample-data --out out --robustness")]
    Detect(Judging),
    /// Write the tables from what is in the store
    Summarise(Reading),
    /// Write the report and the tables from what is in the store
    #[command(
        after_help = "Example: glidetally report sample-data --out march --store out/restricted/store --as-of 12"
    )]
    Report(Report),
    /// One approach of the store as a page and as a table of its checkpoints
    #[command(after_help = "Example: glidetally retrace 3f9c0a 1 --out out\n\n\
        The page shows a single approach and lies in OUT/restricted; each use is noted in \
        OUT/restricted/access.log.")]
    Retrace(Retrace),
    /// Ask the tables of a review, and its store, in SQL
    #[command(after_help = "Examples:\n  \
        glidetally query out --named hot_spots\n  \
        glidetally query out \"select rule, rate_per_1000 from rates where group_kind = 'fleet'\"\n\n\
        Queries only read. Each that reads restricted tables or the store is noted in \
        OUT/restricted/access.log.")]
    Query(Query),
    /// Look into files of records and propose a parameter map for them
    #[command(after_help = "Example: glidetally inspect records --map fleet.toml")]
    Inspect(Inspect),
    /// List, check, test and try out rules
    #[command(subcommand)]
    Rules(Rules),
    /// Look after the store of a review
    #[command(subcommand)]
    Store(StoreCommand),
}

/// Fleet, store and output of a review and its stages.
#[derive(Debug, Args)]
pub(crate) struct Stage {
    /// Fleet folder: fleet.toml, flights, records, aircraft, runways
    pub(crate) fleet: PathBuf,
    /// Output folder
    #[arg(long, value_name = "OUT")]
    pub(crate) out: PathBuf,
    /// Store folder [default: OUT/restricted/store]
    #[arg(long, value_name = "DIR")]
    pub(crate) store: Option<PathBuf>,
    /// Month under review; later months are left out [default: the latest]
    #[arg(long, value_name = "YYYY-MM", value_parser = month)]
    pub(crate) month: Option<String>,
    /// Folder of rules, or `builtin`; may be given several times [default: FLEET/rules, else builtin]
    #[arg(long, value_name = "DIR")]
    pub(crate) rules: Vec<PathBuf>,
    /// Load so many files at a time; what is interrupted goes on after the last of these steps
    #[arg(long, value_name = "FILES", default_value_t = 2000, value_parser = clap::value_parser!(u32).range(1..))]
    pub(crate) step_files: u32,
}

/// A stage that only reads the store.
#[derive(Debug, Args)]
pub(crate) struct Reading {
    #[command(flatten)]
    pub(crate) stage: Stage,
    /// Make the review of this run of the store again, by the rules and settings of then
    #[arg(long, value_name = "RUN", conflicts_with_all = ["month", "rules"])]
    pub(crate) as_of: Option<u64>,
}
/// Which pages of single approaches to write.
#[derive(Debug, Args)]
pub(crate) struct Pages {
    /// Write no pages of example approaches to OUT/restricted, and remove those of the review before
    #[arg(long)]
    pub(crate) no_examples: bool,
}

/// The main job takes what its stages take.
#[derive(Debug, Args)]
pub(crate) struct Review {
    #[command(flatten)]
    pub(crate) judging: Judging,
    #[command(flatten)]
    pub(crate) comparing: Comparing,
    #[command(flatten)]
    pub(crate) pages: Pages,
}

/// The report reads the store, and may be held against an earlier one.
#[derive(Debug, Args)]
pub(crate) struct Report {
    #[command(flatten)]
    pub(crate) reading: Reading,
    #[command(flatten)]
    pub(crate) comparing: Comparing,
    #[command(flatten)]
    pub(crate) pages: Pages,
}

/// What a report is held against.
#[derive(Debug, Args)]
pub(crate) struct Comparing {
    /// Mark what is new, gone or changed since the review in this output folder; its `share` folder is enough,
    /// and it may be OUT itself
    #[arg(long, value_name = "OUT_PREVIOUS")]
    pub(crate) against: Option<PathBuf>,
}

/// A stage that judges.
#[derive(Debug, Args)]
pub(crate) struct Judging {
    #[command(flatten)]
    pub(crate) stage: Stage,
    /// Judge events, and the clear approaches nearest to one, again on samples a little late, early, high and
    /// low: the share of verdicts that survive is kept
    #[arg(long)]
    pub(crate) robustness: bool,
}

/// Which approach to show.
#[derive(Debug, Args)]
pub(crate) struct Retrace {
    /// Flight id as the restricted tables have it
    #[arg(value_name = "FLIGHT_ID")]
    pub(crate) flight: String,
    /// Number of the approach, from 1 [default: the only one]
    #[arg(value_name = "APPROACH_NO", value_parser = clap::value_parser!(i32).range(1..))]
    pub(crate) approach: Option<i32>,
    /// Output folder of the review
    #[arg(long, value_name = "OUT")]
    pub(crate) out: PathBuf,
    /// Store folder [default: OUT/restricted/store]
    #[arg(long, value_name = "DIR")]
    pub(crate) store: Option<PathBuf>,
    /// Write the page to this file [default: OUT/restricted/retraces/FLIGHT_ID-APPROACH_NO.html]
    #[arg(long, value_name = "FILE")]
    pub(crate) html: Option<PathBuf>,
}

/// What to look into.
#[derive(Debug, Args)]
pub(crate) struct Inspect {
    /// Parquet and CSV files of records, or folders of them
    #[arg(required = true)]
    pub(crate) paths: Vec<PathBuf>,
    /// Write the proposed map to this file, which must not exist
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
    /// Folder of the aircraft types, whose flap levers tell what recorded angles mean
    #[arg(long, value_name = "DIR")]
    pub(crate) aircraft: Option<PathBuf>,
}

/// The invented fleet.
#[derive(Debug, Subcommand)]
pub(crate) enum Demo {
    /// Write an invented fleet folder, the same for the same seed
    #[command(after_help = "Example: glidetally demo write demo-fleet --flights 1800 --seed 1")]
    Write {
        /// Folder to write; must not hold anything yet
        out: PathBuf,
        /// Number of flights
        #[arg(long, default_value_t = 1800, value_parser = clap::value_parser!(u32).range(1..))]
        flights: u32,
        /// Number of months
        #[arg(long, default_value_t = 14, value_parser = clap::value_parser!(u32).range(1..=240))]
        months: u32,
        /// Seed of everything invented
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// What the fleet is for: `airline` (rates as an airline sees them), `proving` (deviations
        /// on both sides of every limit), `exact` (as proving, recorders that blur nothing),
        /// `damaged` (as airline, one record in eight damaged)
        #[arg(long, default_value = "airline", value_parser = profile, value_name = "NAME")]
        profile: demo::Profile,
    },
    /// Compare a finished review of an invented fleet with what really happened in it
    #[command(after_help = "Example: glidetally demo score demo-fleet out\n\n\
        Exit code 1: a rule's recall or precision is below 0.97, or a damage passed in silence or \
        caused an event.")]
    Score {
        /// Fleet folder that `demo write` wrote
        fleet: PathBuf,
        /// Output folder of its review
        out: PathBuf,
    },
}

/// What to do with a store.
#[derive(Debug, Subcommand)]
pub(crate) enum StoreCommand {
    /// What the store holds, table by table
    #[command(after_help = "Example: glidetally store status out")]
    Status(StoreFolder),
    /// Every run: what it loaded or judged, added and removed
    Log(StoreFolder),
    /// Read every file and hold it against what was written
    #[command(after_help = "Exit code 1: something is missing or is not what was written.")]
    Verify(StoreFolder),
    /// Put small files together; what the store says stays the same
    #[command(
        after_help = "Earlier states keep their files: `store collect --history` removes those that no \
        review needs."
    )]
    Compact(StoreFolder),
    /// Erase flights from the store and from its earlier states; later loads leave them out
    #[command(after_help = "Example: glidetally store erase out --flight 3f9c0a\n\n\
        Remove the records from the fleet folder too. Reviews that counted the flights cannot be made again \
        with --as-of. Tables and reports that were written are changed by the next review only.")]
    Erase {
        #[command(flatten)]
        folder: StoreFolder,
        /// Flight id as the restricted tables have it; may be given several times
        #[arg(long = "flight", value_name = "ID", required = true)]
        flights: Vec<String>,
        /// The ids are those of the records of this fleet: replace them by its privacy key first
        #[arg(long, value_name = "FLEET")]
        fleet: Option<PathBuf>,
        /// Only tell what would go
        #[arg(long)]
        dry_run: bool,
    },
    /// Remove files that nobody needs: left by interrupted writers and, if asked, of earlier states
    Collect {
        #[command(flatten)]
        folder: StoreFolder,
        /// Also the files that only earlier states have, apart from those that reviews need
        #[arg(long)]
        history: bool,
        /// With --history: also of reviews before this run
        #[arg(long, value_name = "RUN", requires = "history")]
        before: Option<u64>,
        /// Only files that have not changed for so many hours: younger ones may belong to a writer at
        /// work
        #[arg(long, value_name = "HOURS", default_value_t = 24)]
        older_than: u32,
        /// Only list them
        #[arg(long)]
        dry_run: bool,
    },
}

/// Which store.
#[derive(Debug, Args)]
pub(crate) struct StoreFolder {
    /// Output folder of a review, or a store folder
    pub(crate) path: PathBuf,
}

fn profile(text: &str) -> Result<demo::Profile, String> {
    let known = demo::Profile::ALL.iter().find(|(name, _)| *name == text);
    known.map(|(_, profile)| *profile).ok_or_else(|| {
        let names: Vec<&str> = demo::Profile::ALL.iter().map(|(name, _)| *name).collect();
        format!("expected one of {}", names.join(", "))
    })
}

fn month(text: &str) -> Result<String, String> {
    let valid = text.len() == 7
        && text.split_once('-').is_some_and(|(year, month)| {
            year.len() == 4
                && year.bytes().all(|byte| byte.is_ascii_digit())
                && month
                    .parse::<u8>()
                    .is_ok_and(|month| (1..=12).contains(&month))
        });
    if valid {
        Ok(text.to_owned())
    } else {
        Err("a month is written YYYY-MM".to_owned())
    }
}

fn bytes(text: &str) -> Result<usize, String> {
    let split = text
        .find(|c: char| c.is_ascii_alphabetic())
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let scale = match unit.to_ascii_uppercase().as_str() {
        "" | "B" => 1_usize,
        "K" | "KB" => 1 << 10,
        "M" | "MB" => 1 << 20,
        "G" | "GB" => 1 << 30,
        _ => return Err(format!("`{unit}` is not a unit: use KB, MB or GB")),
    };
    let number: usize = number
        .trim()
        .parse()
        .map_err(|_| format!("`{number}` is not a whole number"))?;
    number
        .checked_mul(scale)
        .filter(|bytes| *bytes >= 16 << 20)
        .ok_or_else(|| {
            "at least 16MB are needed, and no more than the machine can address".to_owned()
        })
}
