//! The table of a sweep as a Parquet file: typed columns for programs that read millions of rows.
//!
//! Source: Apache Parquet, the format's specification.

use std::sync::Arc;

use ::parquet::basic::{LogicalType, Repetition, Type as Physical};
use ::parquet::data_type::{ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use ::parquet::errors::ParquetError;
use ::parquet::file::metadata::KeyValue;
use ::parquet::file::properties::WriterProperties;
use ::parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use ::parquet::schema::types::Type;
use serde_json::Value as Json;

/// The table, as [`Answers::csv`](easeoff_sim::study::sweep::Answers::csv) gives it, with the same heads and rows. The point is a whole
/// number; a varied value a number if all of its axis are, else text; a score a number, infinite where it never
/// comes and null where there is nothing to measure; why a run failed is text, null where it did not. The file's
/// metadata has the record under `easeoff`, with units and definitions.
///
/// # Errors
/// When table and record do not fit, or the library's complaint.
pub(crate) fn parquet(record: &Json, table: &[u8]) -> Result<Vec<u8>, String> {
    let columns = columns(record, table)?;
    write(record, &columns).map_err(|error| error.to_string())
}

/// One column, with its head.
struct Column {
    head: String,
    cells: Cells,
}

/// Its cells, one for each row.
enum Cells {
    Points(Vec<i64>),
    Numbers(Vec<Option<f64>>),
    Texts(Vec<Option<String>>),
}

impl Cells {
    fn take(&mut self, cell: &str) -> Result<(), String> {
        let wrong = || format!("sweep.csv: \"{cell}\" is no number");
        match self {
            Self::Points(cells) => cells.push(cell.parse().map_err(|_| wrong())?),
            Self::Numbers(cells) if cell.is_empty() => cells.push(None),
            Self::Numbers(cells) => cells.push(Some(cell.parse().map_err(|_| wrong())?)),
            Self::Texts(cells) => cells.push((!cell.is_empty()).then(|| cell.to_owned())),
        }
        Ok(())
    }
}

fn columns(record: &Json, table: &[u8]) -> Result<Vec<Column>, String> {
    let list = |key: &str| record[key].as_array().cloned().unwrap_or_default();
    // By the axis and not by the rows that are there, so that every shard has the same.
    let varied = list("vary").into_iter().map(|axis| {
        let values = axis["values"].as_array().cloned().unwrap_or_default();
        let number = |value: &Json| value.as_str().is_some_and(|text| text.parse::<f64>().is_ok());
        if values.iter().all(number) { Cells::Numbers(vec![]) } else { Cells::Texts(vec![]) }
    });
    let scores = list("scores").into_iter().map(|_| Cells::Numbers(vec![]));
    let kinds = std::iter::once(Cells::Points(vec![])).chain(varied).chain(scores);
    let kinds: Vec<Cells> = kinds.chain([Cells::Texts(vec![])]).collect();
    let mut reader = csv::Reader::from_reader(table);
    let heads = reader.headers().map_err(|error| error.to_string())?.clone();
    if heads.len() != kinds.len() {
        return Err("sweep.csv and run.json do not fit: the number of columns is another".into());
    }
    let named = heads.iter().zip(kinds);
    let mut columns: Vec<Column> =
        named.map(|(head, cells)| Column { head: head.into(), cells }).collect();
    for row in reader.records() {
        let row = row.map_err(|error| error.to_string())?;
        for (column, cell) in columns.iter_mut().zip(&row) {
            column.cells.take(cell)?;
        }
    }
    Ok(columns)
}

fn write(record: &Json, columns: &[Column]) -> Result<Vec<u8>, ParquetError> {
    let fields = columns.iter().map(field).collect::<Result<_, _>>()?;
    let schema = Type::group_type_builder("sweep").with_fields(fields).build()?;
    let reported = KeyValue::new("easeoff".to_owned(), record.to_string());
    let properties = WriterProperties::builder()
        .set_created_by(format!("easeoff {}", env!("CARGO_PKG_VERSION")))
        .set_key_value_metadata(Some(vec![reported]))
        .build();
    let mut writer = SerializedFileWriter::new(Vec::new(), Arc::new(schema), Arc::new(properties))?;
    let mut rows = writer.next_row_group()?;
    for column in columns {
        match &column.cells {
            Cells::Points(cells) => put::<Int64Type>(&mut rows, cells, None)?,
            Cells::Numbers(cells) => put_some::<DoubleType, _>(&mut rows, cells, |cell| *cell)?,
            Cells::Texts(cells) => {
                let bytes = |cell: &String| ByteArray::from(cell.as_str());
                put_some::<ByteArrayType, _>(&mut rows, cells, bytes)?;
            }
        }
    }
    rows.close()?;
    writer.into_inner()
}

fn field(column: &Column) -> Result<Arc<Type>, ParquetError> {
    let (physical, repetition, logical) = match column.cells {
        Cells::Points(_) => (Physical::INT64, Repetition::REQUIRED, None),
        Cells::Numbers(_) => (Physical::DOUBLE, Repetition::OPTIONAL, None),
        Cells::Texts(_) => (Physical::BYTE_ARRAY, Repetition::OPTIONAL, Some(LogicalType::String)),
    };
    let field = Type::primitive_type_builder(&column.head, physical);
    Ok(Arc::new(field.with_repetition(repetition).with_logical_type(logical).build()?))
}

/// The cells that are there, and by level 0 or 1 which they are.
fn put_some<D: DataType, T>(
    rows: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
    cells: &[Option<T>],
    into: impl Fn(&T) -> D::T,
) -> Result<(), ParquetError> {
    let levels: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    let there: Vec<D::T> = cells.iter().flatten().map(into).collect();
    put::<D>(rows, &there, Some(&levels))
}

fn put<D: DataType>(
    rows: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
    values: &[D::T],
    levels: Option<&[i16]>,
) -> Result<(), ParquetError> {
    let Some(mut column) = rows.next_column()? else {
        return Err(ParquetError::General("the schema has fewer columns".into()));
    };
    column.typed::<D>().write_batch(values, levels, None)?;
    column.close()
}
