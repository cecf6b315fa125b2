//! The floor of loading: reads the columns that the maps of a fleet ask for, and does nothing with them.
//!
//! `cargo run --release --example just_read -p records -- FLEET` beside `glidetally load FLEET` says how many
//! times the cost of reading loading takes. Parquet records only; both threads of a machine of two.

#![allow(clippy::print_stdout)] // an example's output is its purpose

use std::collections::BTreeSet;
use std::error::Error;
use std::fs::File;
use std::path::PathBuf;
use std::time::Instant;

use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use rayon::prelude::*;
use records::fleet::{Fleet, open};
use records::pipeline::input_files;

/// Rows and filled values of one file.
fn read(path: &PathBuf, fleet: &Fleet) -> Result<[u64; 2], Box<dyn Error + Send + Sync>> {
    let builder = ParquetRecordBatchReaderBuilder::try_new(File::open(path)?)?;
    let fields = builder.schema().fields().clone();
    let present: BTreeSet<&str> = fields.iter().map(|field| field.name().as_str()).collect();
    let map = fleet
        .maps
        .iter()
        .find(|map| map.required().all(|column| present.contains(column)));
    let wanted = map.map_or_else(|| present.clone(), |map| map.columns());
    let places = (0..fields.len()).filter(|i| wanted.contains(fields[*i].name().as_str()));
    let mask = ProjectionMask::roots(builder.parquet_schema(), places);
    let mut sum = [0; 2];
    for batch in builder.with_projection(mask).build()? {
        let batch = batch?;
        sum[0] += batch.num_rows() as u64;
        for column in batch.columns() {
            sum[1] += (column.len() - column.null_count()) as u64;
        }
    }
    Ok(sum)
}

fn main() -> Result<(), Box<dyn Error + Send + Sync>> {
    let folder = std::env::args().nth(1).ok_or("give a fleet folder")?;
    let fleet = open(&PathBuf::from(folder))?;
    let mut paths: Vec<PathBuf> = Vec::new();
    let mut bytes = 0;
    for file in input_files(&fleet)? {
        if file
            .path
            .extension()
            .is_some_and(|ending| ending == "parquet")
        {
            bytes += file.path.metadata()?.len();
            paths.push(file.path);
        }
    }
    let begin = Instant::now();
    let read: Vec<[u64; 2]> = paths
        .par_iter()
        .filter_map(|path| read(path, &fleet).ok()) // a damaged one costs loading little, too
        .collect();
    let seconds = begin.elapsed().as_secs_f64();
    let sum = |i: usize| read.iter().map(|file| file[i]).sum::<u64>();
    println!(
        "{} of {} files, {:.1} MB: {} rows, {} values in {seconds:.3} s: {:.1} million values/s, {:.1} MB/s",
        read.len(),
        paths.len(),
        bytes as f64 / 1e6,
        sum(0),
        sum(1),
        sum(1) as f64 / seconds / 1e6,
        bytes as f64 / seconds / 1e6,
    );
    Ok(())
}
