//! Draws the pictures of `docs/measurements` and `docs/energy` from a review of the sample fleet:
//! `cargo run --profile quick -p report --example review_pictures -- OUT [DOCS]`.
//!
//! OUT is the output folder of one review. Which approach stands for a measure is chosen by rule
//! (`choose.rs`); what a picture marks is found again from the samples, by the definition in words, and must
//! agree with the table, so that a picture cannot show something else than the measure. A picture without
//! anything in it is an error.

mod choose;
mod fault;
mod fleet;
mod frame;
mod measures;
mod page;
mod review;
#[allow(dead_code)] // the report's own; not every picture needs all of it
#[path = "../../src/scale.rs"]
mod scale;
#[allow(dead_code)] // the report's own; not every picture needs all of it
#[path = "../../src/svg.rs"]
mod svg;
mod table;
mod words;

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use fault::Fault;
use review::Review;

/// All pictures together stay below this: they are cloned with the code.
const MOST_BYTES: usize = 400_000;

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let out = arguments.next();
    let docs = arguments.next().unwrap_or_else(|| top.join("docs"));
    let drawn = out
        .ok_or_else(|| Fault::new("name the output folder of a review of the sample fleet"))
        .and_then(|out| draw(&out, &docs));
    match drawn {
        Ok(told) => {
            // Nobody is left to tell when the terminal is gone.
            let _ = std::io::stdout().write_all(told.as_bytes());
            ExitCode::SUCCESS
        }
        Err(fault) => {
            let _ = writeln!(std::io::stderr(), "error: {fault}");
            ExitCode::from(2)
        }
    }
}

/// Draws everything before anything is written: half a set of pictures would be believed.
fn draw(out: &Path, docs: &Path) -> Result<String, Fault> {
    let review = Review::open(out)?;
    let mut pictures: Vec<(PathBuf, String)> = Vec::new();
    for (name, measure) in measures::ALL {
        let picture = measure(&review).map_err(|fault| fault.of(name))?;
        pictures.push((
            docs.join("measurements").join(format!("{name}.svg")),
            picture,
        ));
    }
    for (name, fleet) in fleet::ALL {
        let picture = fleet(&review).map_err(|fault| fault.of(name))?;
        pictures.push((docs.join("energy").join(format!("{name}.svg")), picture));
    }
    let bytes: usize = pictures.iter().map(|picture| picture.1.len()).sum();
    if bytes > MOST_BYTES {
        return Err(Fault::new(format!(
            "the pictures have {bytes} bytes, more than {MOST_BYTES}: thin out their lines"
        )));
    }
    let mut told = String::new();
    for (path, picture) in &pictures {
        let folder = path.parent().unwrap_or(docs);
        std::fs::create_dir_all(folder).map_err(|error| Fault::at(folder, &error))?;
        std::fs::write(path, picture).map_err(|error| Fault::at(path, &error))?;
        told.push_str(&format!("{} {}\n", picture.len(), path.display()));
    }
    told.push_str(&format!("{bytes} bytes in {} pictures\n", pictures.len()));
    Ok(told)
}
