//! Every shape a column may have, and those it may not.

use arrow::array::{
    BinaryArray, Date32Array, Decimal128Array, DictionaryArray, Float16Array, Int8Array,
    Int16Array, Int64Array, LargeStringArray, ListArray, MapBuilder, NullArray, StringBuilder,
    StringViewArray, StructArray, Time32MillisecondArray, TimestampSecondArray, UInt8Array,
    UInt16Array, UInt32Array, UInt64Array,
};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Field, Int16Type, Int32Type};

use super::*;

fn reads(array: ArrayRef) {
    let shape = array.data_type().to_string();
    let columns = vec![("time_s", seconds(3)), ("flap_lever", array)];
    let flight = Folder::new("", columns).load().expect(&shape);
    let lever = &flight.channels["flap_lever"];
    assert_eq!(lever.value, [1.0, 3.0], "{shape}");
    assert_eq!(
        lever.time_s,
        [0.0, 2.0],
        "{shape}: the empty cell is unknown"
    );
}

#[test]
fn integers_of_all_widths_are_read() {
    reads(Arc::new(Int8Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(Int16Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(Int32Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(Int64Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(UInt8Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(UInt16Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(UInt32Array::from(vec![Some(1), None, Some(3)])));
    reads(Arc::new(UInt64Array::from(vec![Some(1), None, Some(3)])));
}

#[test]
fn floats_of_all_widths_are_read() {
    let wide: ArrayRef = Arc::new(Float64Array::from(vec![Some(1.0), None, Some(3.0)]));
    let half = cast(&wide, &DataType::Float16).expect("fits");
    assert!(half.as_any().is::<Float16Array>());
    reads(half);
    reads(Arc::new(Float32Array::from(vec![
        Some(1.0),
        None,
        Some(3.0),
    ])));
    reads(wide);
}

#[test]
fn decimals_are_read() {
    let decimal = Decimal128Array::from(vec![Some(100), None, Some(300)])
        .with_precision_and_scale(10, 2)
        .expect("fits");
    let narrow = cast(&decimal, &DataType::Decimal32(9, 2)).expect("fits");
    let wide = cast(&decimal, &DataType::Decimal256(50, 2)).expect("fits");
    reads(Arc::new(decimal));
    reads(narrow);
    reads(wide);
}

#[test]
fn texts_of_all_kinds_are_read() {
    let texts = vec![Some("1"), None, Some("3.0")];
    reads(Arc::new(StringArray::from(texts.clone())));
    reads(Arc::new(LargeStringArray::from(texts.clone())));
    reads(Arc::new(StringViewArray::from(texts)));
}

#[test]
fn dictionaries_of_texts_and_of_numbers_are_read() {
    let texts: DictionaryArray<Int32Type> = vec![Some("1"), None, Some("3")].into_iter().collect();
    reads(Arc::new(texts));
    let keys = Int16Array::from(vec![Some(1), None, Some(0)]);
    let numbers = DictionaryArray::<Int16Type>::new(keys, floats(&[3.0, 1.0]));
    reads(Arc::new(numbers));
}

#[test]
fn truth_values_are_read_also_as_words() {
    let truth: ArrayRef = Arc::new(BooleanArray::from(vec![Some(true), None, Some(false)]));
    let words: ArrayRef = Arc::new(StringArray::from(vec!["TRUE", "", "false"]));
    for array in [truth, words] {
        let columns = vec![("time_s", seconds(3)), ("gear_down", array)];
        let flight = Folder::new("", columns).load().expect("loads");
        assert_eq!(values(&flight, "gear_down"), [1.0, 0.0]);
        assert_eq!(flight.channels["gear_down"].time_s, [0.0, 2.0]);
    }
}

#[test]
fn a_column_without_any_value_is_unknown() {
    let columns = vec![
        ("time_s", seconds(3)),
        ("cas_kt", seconds(3)),
        ("roll_deg", Arc::new(NullArray::new(3)) as ArrayRef),
    ];
    let flight = Folder::new("", columns).load().expect("loads");
    assert!(!flight.channels.contains_key("roll_deg"));
}

/// Columns of shapes that hold no single value a row.
fn nested() -> Vec<(&'static str, ArrayRef)> {
    let list = ListArray::from_iter_primitive::<Int32Type, _, _>(vec![Some(vec![Some(1)]); 2]);
    let field = Arc::new(Field::new("a", DataType::Float64, true));
    let group = StructArray::from(vec![(field, seconds(2))]);
    let mut map = MapBuilder::new(None, StringBuilder::new(), StringBuilder::new());
    for _ in 0..2 {
        map.keys().append_value("k");
        map.values().append_value("v");
        map.append(true).expect("keys and values pair up");
    }
    vec![
        ("lists", Arc::new(list)),
        ("groups of columns", Arc::new(group)),
        ("maps", Arc::new(map.finish())),
        (
            "bytes",
            Arc::new(BinaryArray::from(vec![b"1" as &[u8], b"2"])),
        ),
        ("dates", Arc::new(Date32Array::from(vec![1, 2]))),
        (
            "times of day",
            Arc::new(Time32MillisecondArray::from(vec![1, 2])),
        ),
        (
            "timestamps",
            Arc::new(TimestampSecondArray::from(vec![1, 2])),
        ),
    ]
}

#[test]
fn nested_columns_that_a_map_asks_for_are_refused_by_name_and_type() {
    let toml = "[[map]]\ncas_kt = { column = \"X\" }\n";
    for (kind, array) in nested() {
        let shape = array.data_type().to_string();
        let columns = vec![("time_s", seconds(2)), ("X", array)];
        let row = Folder::new(toml, columns).load().expect_err(&shape);
        assert_eq!(
            (row.stage.as_str(), row.reason.as_str()),
            ("map", "wrong column type")
        );
        let start = format!("column `X` holds {kind} (");
        assert!(row.detail.starts_with(&start), "{}", row.detail);
        let end = "expected numbers, truth values or text for cas_kt; write it as a column of its \
                   own, or take it out of the map";
        assert!(row.detail.ends_with(end), "{}", row.detail);
    }
}

#[test]
fn nested_columns_that_nobody_asks_for_are_left_out() {
    let mut columns = nested();
    columns.push(("time_s", seconds(2)));
    columns.push(("cas_kt", floats(&[140.0, 141.0])));
    let flight = Folder::new("", columns).load().expect("loads");
    assert_eq!(values(&flight, "cas_kt"), [140.0, 141.0]);
    assert_eq!(flight.channels.len(), 1);
}

#[test]
fn ids_and_times_of_the_wrong_shape_are_refused() {
    let list = || nested().swap_remove(0).1;
    let columns = vec![
        ("flight_id", list()),
        ("time_s", seconds(2)),
        ("cas_kt", seconds(2)),
    ];
    let row = Folder::new("", columns).load().expect_err("refused");
    assert!(row.detail.starts_with("column `flight_id` holds lists"));
    let truth: ArrayRef = Arc::new(BooleanArray::from(vec![true, false]));
    let dates: ArrayRef = Arc::new(Date32Array::from(vec![1, 2]));
    for time in [list(), truth, dates] {
        let columns = vec![("time_s", time), ("cas_kt", seconds(2))];
        let row = Folder::new("", columns).load().expect_err("refused");
        assert_eq!(row.reason, "wrong column type");
        assert!(
            row.detail
                .contains("expected numbers, times or text for time_s")
        );
    }
}
