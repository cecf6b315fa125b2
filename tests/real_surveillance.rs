//! Eight real surveillance tracks landing at three airports; provenance in
//! `tests/data/real/README.md`. Runways by alignment over the last 4 NM, computed independently.

use crate::fleet::{Review, SURVEILLANCE, folder, real, stderr};
use crate::table::number;

const LANDINGS: [(&str, &str, &str); 8] = [
    ("021b709f90", "LFPB", "27"),
    ("06bb6662fe", "LFPO", "06"),
    ("079f694f61", "LFPG", "26L"),
    ("1112b40195", "LFPG", "08R"),
    ("156c5e7317", "LFPG", "08R"),
    ("162a8991a2", "LFPO", "06"),
    ("1d7f81b379", "LFPB", "27"),
    ("223c55f113", "LFPO", "06"),
];

#[test]
fn eight_landings_on_the_known_runways_and_no_go_around() {
    let records: Vec<_> = LANDINGS
        .iter()
        .map(|(id, _, _)| real(&format!("surveillance/{id}.parquet")))
        .collect();
    let fleet = folder(SURVEILLANCE, &records);
    // Used as it is.
    std::fs::copy(real("runways_open.csv"), fleet.path().join("runways_open.csv")).unwrap();
    let review = Review::run(fleet.path(), &[]);
    assert_eq!(review.exit(), Some(0), "{}", stderr(&review.output));
    let mut approaches = review.restricted("approaches");
    approaches.sort_by_key(|row| (row["airport"].clone(), row["runway"].clone()));
    let found: Vec<(&str, &str)> =
        approaches.iter().map(|row| (row["airport"].as_str(), row["runway"].as_str())).collect();
    let mut known: Vec<(&str, &str)> =
        LANDINGS.iter().map(|(_, airport, runway)| (*airport, *runway)).collect();
    known.sort_unstable();
    assert_eq!(found, known);
    for row in &approaches {
        assert!(row["outcome"].starts_with("landing"), "{row:?}");
        if let Some((_, airport, runway)) = LANDINGS.iter().find(|(id, ..)| row["flight_id"] == *id)
        {
            assert_eq!((row["airport"].as_str(), row["runway"].as_str()), (*airport, *runway));
        }
        let lowest_ft = number(row, "lowest_height_ft").expect("a height");
        assert!(lowest_ft.abs() < 300.0, "lowest height {lowest_ft} ft");
    }
}
