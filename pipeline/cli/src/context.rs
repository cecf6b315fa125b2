//! What several commands need: the opened fleet, its store, the rules, the engine.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use records::catalogue::Catalogue;
use records::fleet::Fleet;
use rules::detect::{Engine, EngineOptions};
use rules::rule_file::{
    BUILTIN_NAME, CheckedRule, RuleContext, RuleText, builtin_pack, pack_texts, read_packs,
};
use rules::store::Store;
use tracing_subscriber::EnvFilter;

use crate::arguments::{Arguments, Color, Global, LogFormat, Stage};
use crate::failure::Failure;

/// Log lines of all crates go to stderr.
pub(crate) fn log_to_stderr(arguments: &Arguments) {
    let level = match (arguments.global.quiet, arguments.global.verbose) {
        (true, _) => "error",
        (_, 0) => "warn",
        (_, 1) => "info,datafusion=warn",
        _ => "debug,datafusion=info",
    };
    let builder = tracing_subscriber::fmt()
        .with_env_filter(EnvFilter::new(level))
        .with_writer(std::io::stderr)
        .with_ansi(arguments.global.color == Color::Always)
        .without_time();
    match arguments.global.log_format {
        LogFormat::Text => builder.init(),
        LogFormat::Json => builder.json().init(),
    }
}

/// Opens a fleet and tells what it had to assume.
pub(crate) fn open_fleet(global: &Global, path: &Path) -> Result<Fleet, Failure> {
    let fleet = records::fleet::open(path).map_err(Failure::diagnostic)?;
    for note in &fleet.notes {
        note_to_stderr(global, note)?;
    }
    Ok(fleet)
}

/// One line to stderr, unless quiet.
pub(crate) fn note_to_stderr(global: &Global, text: &str) -> Result<(), Failure> {
    use std::io::Write;
    if !global.quiet {
        writeln!(std::io::stderr().lock(), "note: {text}")?;
    }
    Ok(())
}

/// Opens the store of a stage.
pub(crate) fn open_store(stage: &Stage) -> Result<Store, Failure> {
    let folder = store_folder(stage);
    // The engine takes these for patterns.
    if folder.to_string_lossy().contains(['[', ']', '*', '?']) {
        return Err(Failure::text(format!(
            "the store folder {} has one of [ ] * ? in its path; choose another with --out or --store",
            folder.display()
        )));
    }
    Store::open(&folder).map_err(Failure::plain)
}

pub(crate) fn store_folder(stage: &Stage) -> PathBuf {
    stage
        .store
        .clone()
        .unwrap_or_else(|| stage.out.join("restricted").join("store"))
}

/// The rules of a stage: `--rules`, else those of the fleet, else the built-in ones.
pub(crate) fn pack(fleet: &Fleet, rules: &[PathBuf]) -> Result<Vec<CheckedRule>, Failure> {
    read_rules(&fleet.catalogue, &folders_of(fleet, rules))
}

/// The texts of the same rules.
pub(crate) fn pack_of_texts(fleet: &Fleet, rules: &[PathBuf]) -> Result<Vec<RuleText>, Failure> {
    let folders = or_builtin(&folders_of(fleet, rules));
    pack_texts(&folders).map_err(Failure::diagnostic)
}

/// The folders of rules of a stage; none for the built-in pack.
pub(crate) fn folders_of(fleet: &Fleet, rules: &[PathBuf]) -> Vec<PathBuf> {
    if rules.is_empty() {
        fleet.rules.iter().cloned().collect()
    } else {
        rules.to_vec()
    }
}

/// The folders, or what stands for the built-in pack.
pub(crate) fn or_builtin(folders: &[PathBuf]) -> Vec<PathBuf> {
    if folders.is_empty() {
        vec![PathBuf::from(BUILTIN_NAME)]
    } else {
        folders.to_vec()
    }
}

/// The rules of some folders, or the built-in ones.
pub(crate) fn read_rules(
    catalogue: &Catalogue,
    folders: &[PathBuf],
) -> Result<Vec<CheckedRule>, Failure> {
    let folders = or_builtin(folders);
    are_folders(&folders)?;
    let pack = read_packs(&folders, &RuleContext::of(catalogue)).map_err(Failure::diagnostic)?;
    if pack.is_empty() {
        let named: Vec<String> = folders
            .iter()
            .map(|one| one.display().to_string())
            .collect();
        let text = format!("no rule file (NAME.toml) in {}", named.join(", "));
        return Err(Failure::text(text));
    }
    Ok(pack)
}

/// Refuses what is neither a folder nor the name of the built-in pack.
pub(crate) fn are_folders(folders: &[PathBuf]) -> Result<(), Failure> {
    let other = folders
        .iter()
        .find(|folder| folder.as_os_str() != BUILTIN_NAME && !folder.is_dir());
    match other {
        None => Ok(()),
        Some(other) => Err(Failure::text(format!(
            "{} is no folder; give the folder of the rule files, or `{BUILTIN_NAME}`",
            other.display()
        ))),
    }
}

/// Hashes of the built-in rules: their limits are invented, wherever a copy of them lies.
pub(crate) fn invented_rules() -> BTreeSet<String> {
    let pack = builtin_pack(&RuleContext::of(&Catalogue::default()));
    pack.map(|pack| pack.into_iter().map(|rule| rule.text_hash).collect())
        .unwrap_or_default()
}

/// An engine within the limits asked for.
pub(crate) fn engine(global: &Global) -> Result<Engine, Failure> {
    Engine::new(engine_options(global)).map_err(Failure::plain)
}

/// What an engine may use.
pub(crate) fn engine_options(global: &Global) -> EngineOptions {
    let mut options = EngineOptions::default();
    if let Some(threads) = global.threads {
        options.threads = usize::from(threads);
    }
    options.memory_bytes = global.memory_limit / 2;
    options
}

/// Threads for preparing, within the limits asked for.
pub(crate) fn limit_threads(global: &Global) -> Result<(), Failure> {
    let Some(threads) = global.threads else {
        return Ok(());
    };
    rayon::ThreadPoolBuilder::new()
        .num_threads(usize::from(threads))
        .build_global()
        .map_err(Failure::plain)
}
