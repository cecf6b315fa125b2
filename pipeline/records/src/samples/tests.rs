use std::collections::BTreeMap;

use arrow::array::{Array, AsArray};
use arrow::datatypes::{Float32Type, Int8Type};

use super::*;
use crate::timebase::Grid;

fn approach() -> PreparedApproach {
    let mut columns = BTreeMap::new();
    columns.insert("cas_kt".to_owned(), vec![140.0, f64::NAN, f64::INFINITY]);
    columns.insert("roll_deg".to_owned(), vec![-0.0, 1.0, 1e300]);
    columns.insert("gear_down".to_owned(), vec![0.0, 1.0, f64::NAN]);
    columns.insert("pitch_deg".to_owned(), vec![f64::NAN, f64::NAN, 3.0]);
    PreparedApproach {
        row: ApproachRow {
            approach_key: 7,
            airport: Some("ZAAA".into()),
            ..ApproachRow::default()
        },
        columns: Columns {
            grid: Grid {
                start_s: 10.0,
                step_s: 1.0,
                n: 3,
            },
            columns,
            segment: vec![Segment::Approach, Segment::Approach, Segment::Roll],
        },
        uncleaned: None,
        story: crate::energy::Story::default(),
    }
}

#[test]
fn nothing_but_finite_numbers_and_one_zero_is_stored() {
    let batch = batch(&approach(), &Catalogue::default()).expect("fits");
    let column = |name: &str| batch.column_by_name(name).expect("always present");
    let cas = column("cas_kt").as_primitive::<Float32Type>();
    assert_eq!(cas.iter().collect::<Vec<_>>(), [Some(140.0), None, None]);
    let roll = column("roll_deg").as_primitive::<Float32Type>();
    assert!(roll.value(0).is_sign_positive() && roll.is_null(2));
    let gear = column("gear_down").as_primitive::<Int8Type>();
    assert_eq!(gear.iter().collect::<Vec<_>>(), [Some(0), Some(1), None]);
    assert_eq!(
        column("tas_kt").null_count(),
        3,
        "absent columns are there, unknown"
    );
    assert_eq!(
        column("runway").as_dictionary::<Int32Type>().null_count(),
        3
    );
    let segment = column("segment").as_dictionary::<Int32Type>();
    let words = segment.downcast_dict::<StringArray>().expect("text");
    assert_eq!(
        words.into_iter().flatten().collect::<Vec<_>>(),
        ["approach", "approach", "roll"]
    );
}

#[test]
fn columns_without_a_value_on_the_approach_are_listed() {
    let missing = missing_columns(&approach().columns, &Catalogue::default());
    let names: Vec<&str> = missing.split(',').collect();
    assert!(names.contains(&"tas_kt"));
    assert!(names.contains(&"pitch_deg"), "known on the roll only");
    assert!(!names.contains(&"cas_kt") && !names.contains(&"k"));
    assert!(names.is_sorted());
}
