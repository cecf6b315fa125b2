//! Looks at single approaches: the note of each, and where their results may not go.

use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

pub(super) use rules::store::own_file;

use crate::failure::Failure;

/// Appends one line to `access.log`: time (UTC), command, flight (`-` for several), and approach, or how many,
/// or which tables, separated by tabs. It is the only thing here that asks the clock.
pub(crate) fn note(
    restricted: &Path,
    command: &str,
    flight_id: &str,
    what: &str,
) -> Result<(), Failure> {
    let path = restricted.join("access.log");
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    let time = utc(since.map_err(Failure::plain)?.as_secs());
    let flight = one_word(flight_id);
    let line = format!("{time}\t{command}\t{flight}\t{what}\n");
    OpenOptions::new()
        .create(true)
        .append(true)
        .open(&path)
        .and_then(|mut file| file.write_all(line.as_bytes()))
        .map_err(|error| {
            Failure::text(format!(
                "cannot note the look in {}: {error}; without the note no single approach is shown: free the \
                 file, or choose another folder with --out",
                path.display()
            ))
        })
}

/// Refuses a file of single approaches among what may be passed round. `option` is how it was given, `what` is in
/// it.
pub(super) fn outside_share(
    out: &Path,
    option: &str,
    file: &Path,
    what: &str,
) -> Result<(), Failure> {
    let share = out.join("share").canonicalize();
    let folder = std::path::absolute(file)?;
    let folder = folder.parent().unwrap_or(&folder).canonicalize();
    match (share, folder) {
        (Ok(share), Ok(folder)) if folder.starts_with(&share) => Err(Failure::text(format!(
            "{option} {} lies in {}, whose files may be passed round: {what} may not; choose a file elsewhere, or \
             leave {option} out",
            file.display(),
            share.display()
        ))),
        _ => Ok(()),
    }
}

/// A flight id as one word that is safe in a line and as a file name; different ids stay different.
fn one_word(id: &str) -> String {
    let mut word = String::with_capacity(id.len());
    for byte in id.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_') {
            word.push(char::from(byte));
        } else {
            // Writing to a string cannot fail.
            let _ = write!(word, "%{byte:02X}");
        }
    }
    word
}

/// Name of the page of one approach.
pub(super) fn page_name(flight_id: &str, approach_no: i32) -> String {
    format!("{}-{approach_no}.html", one_word(flight_id))
}

/// `YYYY-MM-DDThh:mm:ssZ` of seconds since 1970.
fn utc(seconds: u64) -> String {
    let (days, second) = (seconds / 86_400, seconds % 86_400);
    // Years from March on, so that the leap day is the last of its year; 719,468 days lie between
    // 1 March of the year 0 and 1970.
    let days = days + 719_468;
    let (era, day) = (days / 146_097, days % 146_097);
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let date = day - (153 * month + 2) / 5 + 1;
    let (month, turn) = if month < 10 {
        (month + 3, 0)
    } else {
        (month - 9, 1)
    };
    let year = 400 * era + year + turn;
    let (hour, minute, second) = (second / 3600, second / 60 % 60, second % 60);
    format!("{year:04}-{month:02}-{date:02}T{hour:02}:{minute:02}:{second:02}Z")
}
