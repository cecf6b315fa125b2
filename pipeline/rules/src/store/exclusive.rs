//! Whether two writers can be kept apart: a run is created only where none of its number is.
//!
//! Not every file system can say "only if absent". One that cannot would let the later of two writers
//! overwrite the earlier one's run in silence, so it is tried before anything is written.

use std::hash::{BuildHasher, Hasher, RandomState};
use std::path::Path;

use object_store::{Error, ObjectStore, ObjectStoreExt, PutMode, PutPayload};

use super::StoreError;

/// Creates one object twice: the second must be refused.
pub(super) async fn check(
    objects: &dyn ObjectStore,
    root: &Path,
    folder: &str,
) -> Result<(), StoreError> {
    // A name of its own, or two who try at once would take each other's object for their own.
    let own = RandomState::new().build_hasher().finish();
    let name = object_store::path::Path::from(format!("{folder}/probe-{own:016x}"));
    let put = async || {
        let put = objects.put_opts(
            &name,
            PutPayload::from_static(b"probe"),
            PutMode::Create.into(),
        );
        put.await.map(|_| ())
    };
    put().await.map_err(|error| refusal(error, root))?;
    let second = put().await;
    objects
        .delete(&name)
        .await
        .map_err(|source| StoreError::Object {
            doing: "remove a file",
            source,
        })?;
    second_must_fail(second, root)
}

fn second_must_fail(second: Result<(), Error>, root: &Path) -> Result<(), StoreError> {
    match second {
        Err(Error::AlreadyExists { .. }) => Ok(()),
        Err(error) => Err(refusal(error, root)),
        Ok(()) => Err(StoreError::NotExclusive {
            path: root.to_owned(),
            why: "it took the same name twice".to_owned(),
        }),
    }
}

/// What an error says of the file system: that it cannot, or only that it did not.
fn refusal(error: Error, root: &Path) -> StoreError {
    if matches!(error, Error::NotImplemented { .. }) || cannot_link(&error) {
        StoreError::NotExclusive {
            path: root.to_owned(),
            why: error.to_string(),
        }
    } else {
        StoreError::Object {
            doing: "write a file",
            source: error,
        }
    }
}

/// A local file is created only if absent by a second name for it (a hard link), which not every file
/// system has.
fn cannot_link(error: &Error) -> bool {
    let mut cause: Option<&dyn std::error::Error> = Some(error);
    while let Some(this) = cause {
        if let Some(io) = this.downcast_ref::<std::io::Error>() {
            // "Operation not permitted" (EPERM, 1) is what Linux says of a link on FAT.
            return io.kind() == std::io::ErrorKind::Unsupported || io.raw_os_error() == Some(1);
        }
        cause = this.source();
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(error: StoreError) -> String {
        assert!(matches!(error, StoreError::NotExclusive { .. }), "{error}");
        error.to_string()
    }

    #[test]
    fn a_file_system_that_takes_a_name_twice_is_refused() {
        let text = said(second_must_fail(Ok(()), Path::new("/share")).unwrap_err());
        assert!(
            text.contains("/share") && text.contains("--store"),
            "{text}"
        );
    }

    #[test]
    fn a_file_system_without_links_is_told_from_a_full_one() {
        let generic = |code| Error::Generic {
            store: "LocalFileSystem",
            source: Box::new(std::io::Error::from_raw_os_error(code)),
        };
        said(refusal(generic(1), Path::new("/share")));
        // No space left on device.
        let full = refusal(generic(28), Path::new("/share"));
        assert!(matches!(full, StoreError::Object { .. }), "{full}");
    }

    #[test]
    fn the_probe_leaves_nothing_behind() {
        let folder = tempfile::TempDir::new().unwrap();
        crate::store::Store::open(folder.path()).unwrap();
        let runs = std::fs::read_dir(folder.path().join("runs")).unwrap();
        assert_eq!(runs.count(), 0);
    }
}
