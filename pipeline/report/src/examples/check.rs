//! What the page may not hold.

use super::{Examples, FOLDER};
use crate::ReportError;

/// Refuses links that lead elsewhere.
pub(super) fn check(input: &Examples) -> Result<(), ReportError> {
    let mut faults = Vec::new();
    for topic in &input.topics {
        for example in &topic.examples {
            let inside = |link: &str| {
                let name = link.strip_prefix(FOLDER);
                name.is_some_and(|name| !name.is_empty() && !name.contains(['/', '\\']))
            };
            if let Some(link) = example.link.as_deref().filter(|link| !inside(link)) {
                faults.push(format!(
                    "topic {}: the link {link} does not lead into {FOLDER}",
                    topic.name
                ));
            }
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(ReportError::Input { faults })
    }
}
