//! The months of which a store has approaches.

use std::collections::BTreeSet;

use crate::store::{Store, StoreError, each_batch, texts};

/// The months of the approaches in the newest state of a store.
///
/// # Errors
/// A file of the store is missing or damaged.
pub fn months(store: &Store) -> Result<BTreeSet<String>, StoreError> {
    let mut months = BTreeSet::new();
    for file in store.files("approaches") {
        each_batch(&store.root().join(file), &["month"], &mut |batch| {
            let column = texts(batch, "month")?.ok_or("it has no column month")?;
            // Of what is there, not of all that the file knows: rows may have been taken out of it.
            let known = (0..batch.num_rows()).filter_map(|row| column.text(row));
            for month in known {
                if !months.contains(month) {
                    months.insert(month.to_owned());
                }
            }
            Ok(())
        })?;
    }
    Ok(months)
}
