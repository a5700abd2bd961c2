//! Model types in and out of SQLite columns.
//!
//! Owns: reading a column back through the type's own parser, so that a damaged file cannot put nonsense into the core.
//! Refuses: repairing.

use rusqlite::Row;
use rusqlite::types::Type;
use std::error::Error;
use std::str::FromStr;

fn unfit(index: usize, error: impl Error + Send + Sync + 'static) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(index, Type::Text, Box::new(error))
}

/// A text column that is always there.
pub(super) fn parsed<T>(row: &Row<'_>, index: usize) -> rusqlite::Result<T>
where
    T: FromStr,
    T::Err: Error + Send + Sync + 'static,
{
    let text = row.get_ref(index)?.as_str().map_err(|error| unfit(index, error))?;
    text.parse().map_err(|error| unfit(index, error))
}

/// A text column that may be NULL.
pub(super) fn parsed_if_any<T>(row: &Row<'_>, index: usize) -> rusqlite::Result<Option<T>>
where
    T: FromStr,
    T::Err: Error + Send + Sync + 'static,
{
    match row.get_ref(index)? {
        rusqlite::types::ValueRef::Null => Ok(None),
        _ => parsed(row, index).map(Some),
    }
}

/// A list kept in one column with `;` between.
pub(super) fn parsed_list<T>(row: &Row<'_>, index: usize) -> rusqlite::Result<Vec<T>>
where
    T: FromStr,
    T::Err: Error + Send + Sync + 'static,
{
    let text = row.get_ref(index)?.as_str().map_err(|error| unfit(index, error))?;
    text.split(';').filter(|entry| !entry.is_empty()).map(|entry| entry.parse().map_err(|e| unfit(index, e))).collect()
}

/// A list as kept in one column.
pub(super) fn joined<T: ToString>(list: &[T]) -> String {
    list.iter().map(ToString::to_string).collect::<Vec<_>>().join(";")
}

/// An optional model value as the text kept for it.
pub(super) fn text_of<T: ToString>(value: Option<&T>) -> Option<String> {
    value.map(ToString::to_string)
}
