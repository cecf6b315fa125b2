//! Keeps identifying ids out: they become a keyed hash before anything is stored.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use super::dates::{Day, tells_the_day};
use super::flights::COLUMNS;
use super::forms::form;
use super::identifying::{Identifying, Identity, by_name};
use crate::error::RecordsError;

const KEY_BYTES: usize = 32;
/// Hexadecimal digits kept of the hash: 64 bits, enough for any fleet's flights to differ.
const KEPT_DIGITS: usize = 16;

/// Purpose of the fingerprint, so that no other use of the key gives the same hash.
const FINGERPRINT_CONTEXT: &str = "glidetally 2026-11 fingerprint of the privacy key";

/// Which ids are replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rekey {
    /// Those that look like registrations, flight numbers, names or dates.
    Auto,
    /// All.
    Always,
    /// None.
    Never,
}

/// Replaces ids with the operator's key, which is made when the first id needs it.
#[derive(Debug)]
pub struct Privacy {
    rekey: Rekey,
    identifying: Identifying,
    key_file: PathBuf,
    key: OnceLock<[u8; KEY_BYTES]>,
}

impl Privacy {
    pub(super) fn new(rekey: Rekey, identifying: Identifying, key_file: PathBuf) -> Self {
        Self {
            rekey,
            identifying,
            key_file,
            key: OnceLock::new(),
        }
    }

    /// Which ids are replaced.
    pub fn rekey(&self) -> Rekey {
        self.rekey
    }

    /// The id to store: the given one, or its keyed hash.
    ///
    /// # Errors
    /// When the key file cannot be read or made.
    pub fn id(&self, id: &str) -> Result<String, RecordsError> {
        let replace = match self.rekey {
            Rekey::Auto => form(id).is_some(),
            Rekey::Always => true,
            Rekey::Never => false,
        };
        if !replace {
            return Ok(id.to_owned());
        }
        self.hash(id)
    }

    /// What becomes of columns that identify.
    pub fn identifying(&self) -> Identifying {
        self.identifying
    }

    /// Those of the columns whose name says that they identify, with whom or what; none where all
    /// are allowed. The flight list's own columns are no fault: their ids are replaced.
    pub fn identifying_among<'a>(
        &self,
        columns: impl IntoIterator<Item = &'a str>,
    ) -> Vec<(&'a str, Identity)> {
        let looked_at = columns
            .into_iter()
            .filter(|name| self.identifying != Identifying::Allow && !COLUMNS.contains(name));
        looked_at
            .filter_map(|name| by_name(name).map(|identity| (name, identity)))
            .collect()
    }

    /// Why a record with these columns is refused; none where it is not.
    pub(crate) fn refusal(&self, columns: &[String]) -> Option<String> {
        let found = self.identifying_among(columns.iter().map(String::as_str));
        let named: Vec<String> = found
            .iter()
            .map(|(name, identity)| format!("`{name}` ({})", identity.as_str()))
            .collect();
        (self.identifying == Identifying::Refuse && !named.is_empty()).then(|| {
            format!(
                "columns that identify: {}; take them out of the record, or set identifying = \
                 \"drop\" in [privacy] of fleet.toml",
                named.join(", ")
            )
        })
    }

    /// The day key to store: the given one, or its keyed hash where it gives the day away. That
    /// holds for every `rekey`: a day is never stored.
    ///
    /// # Errors
    /// When the key file cannot be read or made.
    pub(super) fn day_key(&self, given: &str) -> Result<String, RecordsError> {
        if tells_the_day(given) {
            self.day(given)
        } else {
            Ok(given.to_owned())
        }
    }

    /// The keyed hash of a day; the same for every way to write it. Marked as a day, so that it
    /// never equals the hash of an id.
    pub(super) fn day(&self, given: &str) -> Result<String, RecordsError> {
        let day = Day::read(given).map_or_else(|| given.to_owned(), Day::iso);
        self.hash(&format!("day\0{day}"))
    }

    /// Tells one key from another without giving it away: 16 hexadecimal digits of a hash derived
    /// from it. None where there is no key yet, or none that can be read; the first id that needs
    /// one says why. A store that was made with another fingerprint holds other ids.
    pub fn fingerprint(&self) -> Option<String> {
        if !self.key_file.exists() {
            return None;
        }
        let mut hasher = blake3::Hasher::new_derive_key(FINGERPRINT_CONTEXT);
        hasher.update(self.key().ok()?);
        let hash = hasher.finalize().to_hex();
        Some(hash.as_str()[..KEPT_DIGITS].to_owned())
    }

    /// Says what is unsafe about where the key lies.
    pub(super) fn check_key_file(&self, records: Option<&Path>, notes: &mut Vec<String>) {
        let name = self.key_file.display();
        if let Some(mode) = open_to_others(&self.key_file) {
            notes.push(format!(
                "{name}: others may read or change the key (mode {mode:o}); run chmod 600 on it"
            ));
        }
        if self.key_file.exists() && records.is_some_and(|records| self.lies_in(records)) {
            notes.push(format!(
                "{name}: the key lies in the records folder and goes where the records go; move it \
                 and set key_file in [privacy] of fleet.toml"
            ));
        }
    }

    /// Whether the key file lies in a folder, at any depth.
    pub fn lies_in(&self, folder: &Path) -> bool {
        let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let parent = self.key_file.parent().map(real).unwrap_or_default();
        parent.starts_with(real(folder))
    }

    fn hash(&self, text: &str) -> Result<String, RecordsError> {
        let hash = blake3::keyed_hash(self.key()?, text.as_bytes()).to_hex();
        Ok(hash.as_str()[..KEPT_DIGITS].to_owned())
    }

    fn key(&self) -> Result<&[u8; KEY_BYTES], RecordsError> {
        if let Some(key) = self.key.get() {
            return Ok(key);
        }
        // Two threads may both get here; whoever made the file, both read the same bytes from it.
        if !self.key_file.exists() {
            make_key(&self.key_file)?;
        }
        let bytes = std::fs::read(&self.key_file)
            .map_err(|e| RecordsError::io("read", &self.key_file, e))?;
        let key = <[u8; KEY_BYTES]>::try_from(bytes).map_err(|bytes| {
            let message = format!(
                "the key file holds {} bytes, expected {KEY_BYTES}; give the key the fleet was \
                 first loaded with, or remove the file to start with new ids",
                bytes.len()
            );
            RecordsError::file(&self.key_file, message)
        })?;
        Ok(self.key.get_or_init(|| key))
    }
}

/// The permissions of a file that others than its owner may use.
#[cfg(unix)]
fn open_to_others(path: &Path) -> Option<u32> {
    let permissions = std::fs::metadata(path).ok()?.permissions();
    let mode = std::os::unix::fs::PermissionsExt::mode(&permissions) & 0o777;
    (mode & 0o077 != 0).then_some(mode)
}

/// Other systems keep no such bits.
#[cfg(not(unix))]
fn open_to_others(_: &Path) -> Option<u32> {
    None
}

/// Writes a new random key that only its owner may read.
fn make_key(path: &Path) -> Result<(), RecordsError> {
    let mut key = [0; KEY_BYTES];
    let source = Path::new("/dev/urandom");
    std::fs::File::open(source)
        .and_then(|mut file| file.read_exact(&mut key))
        .map_err(|e| RecordsError::io("read", source, e))?;
    let mut partial = path.as_os_str().to_owned();
    partial.push(format!(
        ".{}",
        u64::from_le_bytes(key[..8].try_into().expect("eight bytes"))
    ));
    let partial = PathBuf::from(partial);
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    // A second name for a complete file: the first to link wins, nobody reads half a key.
    let written = options
        .open(&partial)
        .and_then(|mut file| file.write_all(&key))
        .and_then(|()| match std::fs::hard_link(&partial, path) {
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
            other => other,
        });
    let removed = std::fs::remove_file(&partial);
    written
        .and(removed)
        .map_err(|e| RecordsError::io("create", path, e))
}

#[cfg(test)]
mod tests;
