//! Rows into columns, without a look at the kind of each value more than once.
//!
//! The columns are those that the store gives such rows; numbers have seven significant digits.

use std::fmt::Display;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanBuilder, Float64Builder, Int32Builder, Int64Builder, LargeStringBuilder,
    RecordBatch, UInt32Builder,
};
use arrow::datatypes::{DataType, SchemaRef};
use serde::ser::{self, Impossible, Serialize, SerializeStruct, Serializer};

use crate::store::seven_digits;

/// One column under construction.
enum Column {
    Flags(BooleanBuilder),
    Small(Int32Builder),
    Whole(Int64Builder),
    Counts(UInt32Builder),
    Numbers(Float64Builder),
    Texts(LargeStringBuilder),
}

impl Column {
    /// None for a kind that no row of the tables has.
    fn of(kind: &DataType, rows: usize) -> Option<Self> {
        Some(match kind {
            DataType::Boolean => Self::Flags(BooleanBuilder::with_capacity(rows)),
            DataType::Int32 => Self::Small(Int32Builder::with_capacity(rows)),
            DataType::Int64 => Self::Whole(Int64Builder::with_capacity(rows)),
            DataType::UInt32 => Self::Counts(UInt32Builder::with_capacity(rows)),
            DataType::Float64 => Self::Numbers(Float64Builder::with_capacity(rows)),
            DataType::LargeUtf8 => Self::Texts(LargeStringBuilder::with_capacity(rows, 8 * rows)),
            _ => return None,
        })
    }

    fn push_null(&mut self) {
        match self {
            Self::Flags(column) => column.append_null(),
            Self::Small(column) => column.append_null(),
            Self::Whole(column) => column.append_null(),
            Self::Counts(column) => column.append_null(),
            Self::Numbers(column) => column.append_null(),
            Self::Texts(column) => column.append_null(),
        }
    }

    fn done(mut self) -> ArrayRef {
        match &mut self {
            Self::Flags(column) => Arc::new(column.finish()),
            Self::Small(column) => Arc::new(column.finish()),
            Self::Whole(column) => Arc::new(column.finish()),
            Self::Counts(column) => Arc::new(column.finish()),
            Self::Numbers(column) => Arc::new(column.finish()),
            Self::Texts(column) => Arc::new(column.finish()),
        }
    }
}

/// Lays rows out under a schema that was made for them.
///
/// # Errors
/// They are no flat rows of these columns.
pub(super) fn batch_of<T: Serialize>(
    schema: &SchemaRef,
    rows: &[T],
) -> Result<RecordBatch, String> {
    let fields = schema.fields().iter();
    let columns = fields.map(|field| {
        let column = Column::of(field.data_type(), rows.len());
        column.ok_or_else(|| format!("column {} has an unknown kind", field.name()))
    });
    let mut columns = columns.collect::<Result<Vec<Column>, String>>()?;
    for row in rows {
        let row = row.serialize(Row {
            columns: &mut columns,
            at: 0,
        });
        row.map_err(|error| error.0)?;
    }
    let columns = columns.into_iter().map(Column::done).collect();
    RecordBatch::try_new(Arc::clone(schema), columns).map_err(|error| error.to_string())
}

/// Why a row was refused.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
struct Refused(String);

impl ser::Error for Refused {
    fn custom<T: Display>(text: T) -> Self {
        Self(text.to_string())
    }
}

fn refuse<T>(what: &str) -> Result<T, Refused> {
    Err(Refused(format!(
        "expected a flat row of numbers and texts, found {what}"
    )))
}

/// A row on its way into the columns.
struct Row<'a> {
    columns: &'a mut [Column],
    at: usize,
}

impl SerializeStruct for Row<'_> {
    type Ok = ();
    type Error = Refused;

    fn serialize_field<T: Serialize + ?Sized>(
        &mut self,
        name: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        let Some(column) = self.columns.get_mut(self.at) else {
            return refuse(name);
        };
        self.at += 1;
        value.serialize(Cell(column))
    }

    fn end(self) -> Result<(), Refused> {
        if self.at == self.columns.len() {
            Ok(())
        } else {
            refuse("too few fields")
        }
    }
}

/// The place of one value.
struct Cell<'a>(&'a mut Column);

/// What neither a row nor a value can be.
macro_rules! refused {
    ($($name:ident($($kind:ty),*);)*) => {
        $(fn $name(self, $(_: $kind),*) -> Result<(), Refused> {
            refuse(stringify!($name))
        })*
    };
}

macro_rules! refused_compounds {
    () => {
        type SerializeSeq = Impossible<(), Refused>;
        type SerializeTuple = Impossible<(), Refused>;
        type SerializeTupleStruct = Impossible<(), Refused>;
        type SerializeTupleVariant = Impossible<(), Refused>;
        type SerializeMap = Impossible<(), Refused>;
        type SerializeStructVariant = Impossible<(), Refused>;

        fn serialize_newtype_variant<T: Serialize + ?Sized>(
            self,
            _: &'static str,
            _: u32,
            name: &'static str,
            _: &T,
        ) -> Result<(), Refused> {
            refuse(name)
        }
        fn serialize_seq(self, _: Option<usize>) -> Result<Self::SerializeSeq, Refused> {
            refuse("a list")
        }
        fn serialize_tuple(self, _: usize) -> Result<Self::SerializeTuple, Refused> {
            refuse("a tuple")
        }
        fn serialize_tuple_struct(
            self,
            name: &'static str,
            _: usize,
        ) -> Result<Self::SerializeTupleStruct, Refused> {
            refuse(name)
        }
        fn serialize_tuple_variant(
            self,
            name: &'static str,
            _: u32,
            _: &'static str,
            _: usize,
        ) -> Result<Self::SerializeTupleVariant, Refused> {
            refuse(name)
        }
        fn serialize_map(self, _: Option<usize>) -> Result<Self::SerializeMap, Refused> {
            refuse("a map")
        }
        fn serialize_struct_variant(
            self,
            name: &'static str,
            _: u32,
            _: &'static str,
            _: usize,
        ) -> Result<Self::SerializeStructVariant, Refused> {
            refuse(name)
        }
    };
}

impl<'a> Serializer for Row<'a> {
    type Ok = ();
    type Error = Refused;
    type SerializeStruct = Self;

    refused_compounds!();
    refused! {
        serialize_bool(bool);
        serialize_i8(i8);
        serialize_i16(i16);
        serialize_i32(i32);
        serialize_i64(i64);
        serialize_u8(u8);
        serialize_u16(u16);
        serialize_u32(u32);
        serialize_u64(u64);
        serialize_f32(f32);
        serialize_f64(f64);
        serialize_char(char);
        serialize_str(&str);
        serialize_bytes(&[u8]);
        serialize_none();
        serialize_unit();
        serialize_unit_struct(&'static str);
        serialize_unit_variant(&'static str, u32, &'static str);
    }

    fn serialize_some<T: Serialize + ?Sized>(self, _: &T) -> Result<(), Refused> {
        refuse("an option")
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }
}

impl Serializer for Cell<'_> {
    type Ok = ();
    type Error = Refused;
    type SerializeStruct = Impossible<(), Refused>;

    refused_compounds!();
    refused! {
        serialize_i8(i8);
        serialize_i16(i16);
        serialize_u8(u8);
        serialize_u16(u16);
        serialize_u64(u64);
        serialize_f32(f32);
        serialize_char(char);
        serialize_bytes(&[u8]);
        serialize_unit();
        serialize_unit_struct(&'static str);
    }

    fn serialize_bool(self, value: bool) -> Result<(), Refused> {
        match self.0 {
            Column::Flags(column) => column.append_value(value),
            _ => return refuse("true or false"),
        }
        Ok(())
    }

    fn serialize_i32(self, value: i32) -> Result<(), Refused> {
        match self.0 {
            Column::Small(column) => column.append_value(value),
            _ => return refuse("a whole number"),
        }
        Ok(())
    }

    fn serialize_i64(self, value: i64) -> Result<(), Refused> {
        match self.0 {
            Column::Whole(column) => column.append_value(value),
            _ => return refuse("a whole number"),
        }
        Ok(())
    }

    fn serialize_u32(self, value: u32) -> Result<(), Refused> {
        match self.0 {
            Column::Counts(column) => column.append_value(value),
            _ => return refuse("a count"),
        }
        Ok(())
    }

    fn serialize_f64(self, value: f64) -> Result<(), Refused> {
        match self.0 {
            Column::Numbers(column) => column.append_value(seven_digits(value)),
            _ => return refuse("a number"),
        }
        Ok(())
    }

    fn serialize_str(self, value: &str) -> Result<(), Refused> {
        match self.0 {
            Column::Texts(column) => column.append_value(value),
            _ => return refuse("a text"),
        }
        Ok(())
    }

    fn serialize_unit_variant(
        self,
        _: &'static str,
        _: u32,
        name: &'static str,
    ) -> Result<(), Refused> {
        self.serialize_str(name)
    }

    fn serialize_none(self) -> Result<(), Refused> {
        self.0.push_null();
        Ok(())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_struct(
        self,
        name: &'static str,
        _: usize,
    ) -> Result<Self::SerializeStruct, Refused> {
        refuse(name)
    }
}

#[cfg(test)]
mod tests {
    use serde::{Deserialize, Serialize};

    use super::super::sheet::rounded;
    use super::*;
    use crate::store::rows_to_batch;

    #[derive(Serialize, Deserialize)]
    struct Flat {
        name: String,
        note: Option<String>,
        number: i32,
        count: Option<i64>,
        version: Option<u32>,
        rate: f64,
        p: Option<f64>,
        known: Option<bool>,
    }

    #[test]
    fn columns_are_those_that_the_store_gives_such_rows() {
        let row = |number: i32| Flat {
            name: format!("row {number}"),
            note: (number % 2 == 0).then(|| "even".to_owned()),
            number,
            count: (number % 3 == 0).then_some(i64::from(number)),
            version: (number > 4).then_some(7),
            rate: f64::from(number) / 3.0,
            p: (number % 5 == 0).then(|| f64::from(number) / 7e7),
            known: (number % 7 != 0).then_some(number % 2 == 1),
        };
        let rows: Vec<Flat> = (0..50).map(row).collect();
        let expected = rounded(&rows_to_batch("t", &rows).unwrap()).unwrap();
        assert_eq!(batch_of(&expected.schema(), &rows).unwrap(), expected);
    }

    #[test]
    fn what_is_no_flat_row_is_refused() {
        #[derive(Serialize)]
        struct Deep {
            name: Vec<String>,
        }
        let schema = rows_to_batch::<Flat>("t", &[]).unwrap().schema();
        assert!(batch_of(&schema, &[Deep { name: vec![] }]).is_err());
        assert!(batch_of(&schema, &["text"]).is_err());
    }
}
