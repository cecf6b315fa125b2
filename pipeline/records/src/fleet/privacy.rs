//! Keeps identifying ids out: they become a keyed hash before anything is stored.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::error::RecordsError;

const KEY_BYTES: usize = 32;
/// Hexadecimal digits kept of the hash: 64 bits, enough for any fleet's flights to differ.
const KEPT_DIGITS: usize = 16;

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
    key_file: PathBuf,
    key: OnceLock<[u8; KEY_BYTES]>,
}

impl Privacy {
    pub(super) fn new(rekey: Rekey, key_file: PathBuf) -> Self {
        Self {
            rekey,
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
            Rekey::Auto => identifies(id),
            Rekey::Always => true,
            Rekey::Never => false,
        };
        if !replace {
            return Ok(id.to_owned());
        }
        let hash = blake3::keyed_hash(self.key()?, id.as_bytes()).to_hex();
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

/// Whether an id, or a part of it, looks like a registration, flight number, name or date.
fn identifies(id: &str) -> bool {
    let parts: Vec<&str> = id
        .split([' ', '_', '.', ',', '/', '|'])
        .filter(|p| !p.is_empty())
        .collect();
    let word = |p: &&str| {
        p.len() > 1 && p.starts_with(char::is_uppercase) && p.chars().all(char::is_alphabetic)
    };
    parts.iter().filter(|p| word(p)).count() >= 2
        || has_date(id)
        || parts
            .iter()
            .any(|p| is_registration(p) || is_flight_number(p))
}

/// Nationality mark, hyphen, three to five characters; or N and up to five digits or letters.
fn is_registration(part: &str) -> bool {
    let part = part.to_ascii_uppercase();
    if let Some((mark, rest)) = part.split_once('-') {
        let nationality = (1..=2).contains(&mark.len())
            && mark.chars().all(|c| c.is_ascii_alphanumeric())
            && mark.chars().any(|c| c.is_ascii_uppercase());
        return nationality
            && (3..=5).contains(&rest.len())
            && rest.chars().all(|c| c.is_ascii_alphanumeric());
    }
    part.strip_prefix('N').is_some_and(|rest| {
        let digits = rest.chars().take_while(char::is_ascii_digit).count();
        let letters = rest.len() - digits;
        (1..=5).contains(&rest.len())
            && digits >= 1
            && letters <= 2
            && rest[digits..].chars().all(|c| c.is_ascii_uppercase())
    })
}

/// Two or three capitals, one to four digits, up to two capitals.
fn is_flight_number(part: &str) -> bool {
    let capitals = part.chars().take_while(char::is_ascii_uppercase).count();
    let digits = part
        .chars()
        .skip(capitals)
        .take_while(char::is_ascii_digit)
        .count();
    let rest = part.chars().skip(capitals + digits);
    (2..=3).contains(&capitals)
        && (1..=4).contains(&digits)
        && rest.clone().count() <= 2
        && rest.clone().all(|c| c.is_ascii_uppercase())
}

/// A day of this or the last century, with or without separators. Letters are none: opaque ids in
/// hexadecimal digits would be full of dates.
fn has_date(id: &str) -> bool {
    id.split(char::is_alphabetic).any(is_dated)
}

fn is_dated(part: &str) -> bool {
    let runs: Vec<&str> = part.split(|c: char| !c.is_ascii_digit()).collect();
    let in_range =
        |text: &str, high: u32| text.parse::<u32>().is_ok_and(|n| (1..=high).contains(&n));
    let year = |text: &str| text.len() == 4 && (text.starts_with("19") || text.starts_with("20"));
    let packed = |run: &&str| {
        run.len() == 8 && year(&run[..4]) && in_range(&run[4..6], 12) && in_range(&run[6..], 31)
    };
    let spread = |three: &[&str]| {
        let (a, b, c) = (three[0], three[1], three[2]);
        let short = |text: &str| (1..=2).contains(&text.len());
        (year(a) && short(b) && short(c) && in_range(b, 12) && in_range(c, 31))
            || (year(c) && short(a) && short(b) && in_range(a, 31) && in_range(b, 31))
    };
    runs.iter().any(packed) || runs.windows(3).any(spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn opaque_ids_are_kept_and_identifying_ones_are_not() {
        for id in [
            "021b709f90",
            "flight-000123",
            "f000017",
            "tail-03",
            "x81",
            "7c9e-11",
            "e1988e5f1e0b77d2",
            "891c8b5f1960ee48",
        ] {
            assert!(!identifies(id), "{id}");
        }
        for id in [
            "F-ABCD",
            "N123AB",
            "d-aibc",
            "QX1234",
            "20210304",
            "2021-03-04",
            "4.3.2021",
        ] {
            assert!(identifies(id), "{id}");
        }
        for id in ["Jane Doe", "rec_N12345_7", "QXA12T_a81f"] {
            assert!(identifies(id), "{id}");
        }
    }

    #[test]
    fn the_same_key_gives_the_same_id_and_only_the_owner_reads_it() {
        let folder = tempfile::tempdir().expect("temporary folder");
        let path = folder.path().join("privacy.key");
        let first = Privacy::new(Rekey::Auto, path.clone());
        let kept = first.id("f000017").expect("kept");
        assert_eq!(kept, "f000017");
        assert!(!path.exists(), "no id needed a key yet");
        let hashed = first.id("F-ABCD").expect("hashed");
        assert_ne!(hashed, "F-ABCD");
        let again = Privacy::new(Rekey::Always, path.clone());
        assert_eq!(again.id("F-ABCD").expect("hashed"), hashed);
        #[cfg(unix)]
        {
            let mode = std::fs::metadata(&path).expect("made").permissions();
            assert_eq!(
                std::os::unix::fs::PermissionsExt::mode(&mode) & 0o777,
                0o600
            );
        }
    }
}
