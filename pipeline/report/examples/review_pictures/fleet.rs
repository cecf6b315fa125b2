//! Pictures of the energy of a fleet, for `docs/energy.md`.

use crate::measures::Picture;

/// Name of the file and what draws it.
pub(crate) const ALL: [(&str, Picture); 0] = [];
