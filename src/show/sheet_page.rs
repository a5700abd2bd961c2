//! A unit's sheet as a page to print.
//!
//! Owns: putting the sheet into its template. Refuses: sentences (`sheet`), and loading anything from elsewhere.

use super::sheet::Sheet;
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, context};

/// A template of ours that does not fit its sheet: a fault of this program.
#[derive(Debug, thiserror::Error)]
#[error("sheet template is faulty: {source}")]
pub struct SheetTemplateError {
    source: minijinja::Error,
}

const TEMPLATE: &str = include_str!("../../schema/templates/sheet.html");

/// The sheet as one HTML page, for A4 and Letter.
///
/// # Errors
/// [`SheetTemplateError`] where the template asks for what the sheet has not.
pub fn sheet_page(sheet: &Sheet) -> Result<String, SheetTemplateError> {
    html(sheet).map_err(|source| SheetTemplateError { source })
}

fn html(sheet: &Sheet) -> Result<String, minijinja::Error> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    // Escaping is on because the name ends in `.html`.
    environment.add_template("sheet.html", TEMPLATE)?;
    environment.get_template("sheet.html")?.render(context! { sheet => Serde(sheet) })
}
