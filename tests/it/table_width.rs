//! Tables on a terminal.
//!
//! Owns: that no line is wider than the terminal where cutting can prevent it, and that nothing is cut where it fits.
//! Refuses: wording.

use pigtail::show::table::{elastic, fixed, table};
use proptest::prelude::*;

#[test]
fn a_line_that_fits_is_not_cut() {
    let columns = [fixed("DAY"), elastic("UNIT"), elastic("WORK")];
    let row = ["2026-03-02", "R-017", "requalify or replace cylinder"].map(str::to_owned).to_vec();
    let widest = "2026-03-02  R-017  requalify or replace cylinder";
    let text = table(&columns, std::slice::from_ref(&row), Some(widest.len()));
    assert_eq!(text, format!("DAY         UNIT   WORK\n{widest}\n"));
    let text = table(&columns, &[row], Some(widest.len() - 1));
    assert_eq!(text, "DAY         UNIT   WORK\n2026-03-02  R-017  requalify or replace cylind…\n");
}

proptest! {
    #[test]
    fn no_line_is_wider_than_the_terminal(
        rows in prop::collection::vec(("[a-z]{0,10}", "[a-z ]{0,60}", "[a-zäö]{0,40}", "[0-9]{0,6}"), 1..12),
        width in 50..120usize,
    ) {
        let columns = [fixed("STATE"), elastic("WHAT"), elastic("NOTE"), fixed("DAYS")];
        let rows: Vec<Vec<String>> = rows.into_iter().map(|(a, b, c, d)| vec![a, b, c, d]).collect();
        for line in table(&columns, &rows, Some(width)).lines() {
            prop_assert!(line.chars().count() <= width, "{}: {line}", line.chars().count());
        }
    }
}
