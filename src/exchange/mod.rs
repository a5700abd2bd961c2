//! Spreadsheets in and out: the fleet folder, a folder of CSV files that `import` reads and `export` writes.
//!
//! Owns: which files and columns there are, what a cell may look like, where a bad one stands, and that writing and
//! reading are each other's inverse. Refuses: knowing what the book holds already, and recording anything.
//! Read `table` first, then [`read`](read_folder) and [`write`](write_folder).

mod column;
mod date;
mod encoding;
mod happenings;
mod header;
mod keys;
mod locate;
mod nouns;
mod number;
mod problem;
mod read;
mod row;
mod scan;
mod stamps;
mod table;
mod view;
mod write;
mod write_rows;
mod wrong;

pub use column::{Column, Need};
pub use date::DateError;
pub use encoding::{FileError, MAX_FILE_BYTES};
pub use locate::{Import, Located, Note};
pub use number::NumberError;
pub use problem::{FolderProblems, MAX_SHOWN, Problem};
pub use read::{FolderError, Progress, read_folder};
pub use table::FolderFile;
pub use write::{WriteError, Written, write_folder};
pub use wrong::{CellError, RowError};
