//! `restricted/examples.html` and the pages in `restricted/examples/` it leads to.
//!
//! Two names cannot be swapped at once. The page that leads to the others goes first and comes last, so that where
//! it is, all it leads to is of the same review.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::{Folder, OutputError, io, owner_only};
use crate::store::own_file;

/// Pages of single approaches, and the page that leads to them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ExamplePages {
    /// The page that leads to them: `examples.html`.
    pub index: Vec<u8>,
    /// File names in `examples/`, and what is in them.
    pub pages: Vec<(String, Vec<u8>)>,
}

/// Examples that are built beside their place, or none.
pub(super) struct Aside {
    folder: Option<Folder>,
    index: PathBuf,
    earlier: PathBuf,
}

impl Aside {
    /// Builds what is asked for, for its owner only. What an interrupted review left aside is removed.
    pub(super) fn new(
        restricted: &Path,
        examples: Option<&ExamplePages>,
    ) -> Result<Self, OutputError> {
        let folder = Folder::aside(restricted, "examples")?;
        let index = restricted.join("examples.html");
        let earlier = restricted.join("examples");
        let Some(examples) = examples else {
            fs::remove_dir_all(&folder.path).map_err(io("clear", &folder.path))?;
            return Ok(Self {
                folder: None,
                index,
                earlier,
            });
        };
        owner_only(&folder.path)?;
        let files = examples.pages.iter();
        let files = files.map(|(name, bytes)| (name.as_str(), bytes));
        for (name, bytes) in files.chain([(INDEX_INSIDE, &examples.index)]) {
            let path = folder.path.join(name);
            let written = own_file(&path).and_then(|mut file| file.write_all(bytes));
            written.map_err(io("write", &path))?;
        }
        Ok(Self {
            folder: Some(folder),
            index,
            earlier,
        })
    }

    /// Takes the examples of an earlier review away.
    pub(super) fn withdraw_earlier(&self) -> Result<(), OutputError> {
        if self.index.exists() {
            fs::remove_file(&self.index).map_err(io("remove", &self.index))?;
        }
        for folder in [&self.earlier, &self.earlier.with_file_name(".examples-old")] {
            if folder.exists() {
                fs::remove_dir_all(folder).map_err(io("clear", folder))?;
            }
        }
        Ok(())
    }

    /// Puts what was built into its place.
    pub(super) fn swap_in(self) -> Result<(), OutputError> {
        let Some(folder) = self.folder else {
            return Ok(());
        };
        folder.swap_in()?;
        let built = self.earlier.join(INDEX_INSIDE);
        fs::rename(&built, &self.index).map_err(io("move into place", &self.index))
    }
}

/// Where the index waits until the pages are in their place: no page of an approach is called so.
const INDEX_INSIDE: &str = ".index";

#[cfg(test)]
mod tests {
    use tempfile::TempDir;

    use super::*;

    fn write(restricted: &Path, examples: Option<&ExamplePages>) {
        let aside = Aside::new(restricted, examples).unwrap();
        aside.withdraw_earlier().unwrap();
        aside.swap_in().unwrap();
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    fn pages(of: &[&str]) -> ExamplePages {
        let page = |name: &&str| ((*name).to_owned(), name.as_bytes().to_vec());
        ExamplePages {
            index: b"index".to_vec(),
            pages: of.iter().map(page).collect(),
        }
    }

    #[test]
    fn no_page_of_an_earlier_review_stays() {
        let folder = TempDir::new().unwrap();
        let restricted = folder.path();
        write(restricted, Some(&pages(&["a", "b"])));
        write(restricted, Some(&pages(&["b", "c"])));
        assert_eq!(names(restricted), ["examples", "examples.html"]);
        assert_eq!(names(&restricted.join("examples")), ["b", "c"]);
        write(restricted, None);
        assert!(names(restricted).is_empty());
    }

    #[test]
    fn what_an_interrupted_review_left_goes_even_where_no_examples_are_asked_for() {
        let folder = TempDir::new().unwrap();
        let restricted = folder.path();
        for name in [".examples-new", ".examples-old"] {
            fs::create_dir(restricted.join(name)).unwrap();
            fs::write(restricted.join(name).join("a"), "a").unwrap();
        }
        write(restricted, None);
        assert!(names(restricted).is_empty());
    }
}
