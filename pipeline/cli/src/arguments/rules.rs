//! What can be typed after `rules`.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

/// What to do with rules.
#[derive(Debug, Subcommand)]
pub(crate) enum Rules {
    /// List the rules with title, family, version and source
    List(Pack),
    /// Check every rule file and report every fault
    Check(Pack),
    /// Run the tests beside the rule files
    #[command(after_help = "Example: glidetally rules test rules")]
    Test(Pack),
    /// Everything about one rule: what it asks, reads and divides by
    #[command(after_help = "Example: glidetally rules show flap_limit_exceeded")]
    Show(OneRule),
    /// What the program makes of the rules: in one spelling, or as the plan of one scan
    #[command(after_help = "Example: glidetally rules explain --stage plan")]
    Explain(Explain),
    /// The rate of a rule for a range of one of its limits
    #[command(
        after_help = "Example: glidetally rules sweep sample-data high_at_15nm above_ft --out out --from 500 \
        --to 2000 --picture sweep.svg\n\nNothing is written to the store."
    )]
    Sweep(SweepCommand),
    /// Two packs over one store: which approaches change, and why
    #[command(
        after_help = "Example: glidetally rules diff sample-data --out out --after my-rules\n\n\
        Single approaches are listed: each use is noted in OUT/restricted/access.log."
    )]
    Diff(DiffCommand),
    /// The files of built-in rules, to be changed
    #[command(after_help = "Example: glidetally rules copy my-rules unstable_500 unstable_1000")]
    Copy(CopyRules),
    /// A pack as one page of Markdown
    #[command(after_help = "Example: glidetally rules reference -o rules.md")]
    Reference(Pack),
}

/// Built-in rules to write out.
#[derive(Debug, Args)]
pub(crate) struct CopyRules {
    /// Folder to write to; no file in it is written over
    pub(crate) folder: PathBuf,
    /// Ids of rules [default: all]
    pub(crate) rule: Vec<String>,
}

/// One rule of some packs.
#[derive(Debug, Args)]
pub(crate) struct OneRule {
    /// Id of the rule
    pub(crate) rule: String,
    /// Folder of rules, or `builtin`; may be given several times [default: builtin]
    #[arg(long, value_name = "DIR")]
    pub(crate) rules: Vec<PathBuf>,
    /// Fleet whose own parameters and derived columns the rules may read
    #[arg(long, value_name = "FLEET")]
    pub(crate) fleet: Option<PathBuf>,
}

/// Some rules, and how far they are followed.
#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// Ids of rules [default: all]
    pub(crate) rule: Vec<String>,
    /// How far the rules are followed
    #[arg(long, value_enum, default_value_t = ExplainStage::Checked)]
    pub(crate) stage: ExplainStage,
    /// Folder of rules, or `builtin`; may be given several times [default: builtin]
    #[arg(long, value_name = "DIR")]
    pub(crate) rules: Vec<PathBuf>,
    /// Fleet whose own parameters and derived columns the rules may read
    #[arg(long, value_name = "FLEET")]
    pub(crate) fleet: Option<PathBuf>,
}

/// How far `rules explain` goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ExplainStage {
    /// Everything that can change a result, in one spelling
    Checked,
    /// The plan of the query engine
    Plan,
}

/// A fleet, and the store that was made of it.
#[derive(Debug, Args)]
pub(crate) struct StoredFleet {
    /// Fleet folder
    pub(crate) fleet: PathBuf,
    /// Output folder of its review
    #[arg(long, value_name = "OUT")]
    pub(crate) out: PathBuf,
    /// Store folder [default: OUT/restricted/store]
    #[arg(long, value_name = "DIR")]
    pub(crate) store: Option<PathBuf>,
}

/// What to sweep.
#[derive(Debug, Args)]
pub(crate) struct SweepCommand {
    #[command(flatten)]
    pub(crate) stored: StoredFleet,
    /// Id of the rule
    pub(crate) rule: String,
    /// Name of one of its limits
    pub(crate) limit: String,
    /// Least value
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    pub(crate) from: f64,
    /// Greatest value
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    pub(crate) to: f64,
    /// Values from the least to the greatest, both among them
    #[arg(long, value_name = "N", default_value_t = 11, value_parser = clap::value_parser!(u16).range(2..=201))]
    pub(crate) steps: u16,
    /// Draw it as well
    #[arg(long, value_name = "FILE.svg")]
    pub(crate) picture: Option<PathBuf>,
    /// Judge the samples again even where what is stored would do
    #[arg(long)]
    pub(crate) from_samples: bool,
    /// Folder of rules, or `builtin`; may be given several times [default: FLEET/rules, else builtin]
    #[arg(long, value_name = "DIR")]
    pub(crate) rules: Vec<PathBuf>,
}

/// Two packs.
#[derive(Debug, Args)]
pub(crate) struct DiffCommand {
    #[command(flatten)]
    pub(crate) stored: StoredFleet,
    /// Pack before: a folder or `builtin`; may be given several times [default: FLEET/rules, else builtin]
    #[arg(long, value_name = "DIR")]
    pub(crate) before: Vec<PathBuf>,
    /// Pack after: a folder or `builtin`; may be given several times
    #[arg(long, value_name = "DIR", required = true)]
    pub(crate) after: Vec<PathBuf>,
}

/// Which rules.
#[derive(Debug, Args)]
pub(crate) struct Pack {
    /// Folders of rule files, or `builtin` [default: builtin; ./rules for `test`]
    #[arg(value_name = "FOLDER")]
    pub(crate) folders: Vec<PathBuf>,
    /// Fleet whose own parameters and derived columns the rules may read
    #[arg(long, value_name = "FLEET")]
    pub(crate) fleet: Option<PathBuf>,
}
