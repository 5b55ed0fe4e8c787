//! The sheet as JSON, for other programs. `SHEET.md` and `sheet.schema.json` beside this crate describe it.
//!
//! **Invariant:** every key is always there (`null` where there is nothing), and what is written can be read back whole.

use serde::Serialize;

use crate::Sheet;

/// The name and version of the schema: the first key of every file. A change that could break a reader gives a new
/// number.
pub const SCHEMA: &str = "pourside.sheet/1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    #[serde(flatten)]
    sheet: &'a Sheet,
}

/// Why a text is not a sheet.
#[derive(Debug, thiserror::Error)]
pub enum NotASheet {
    /// It is not JSON, or something in it is missing, unknown or of another kind.
    #[error("this is not a sheet: {0}")]
    Form(#[from] serde_json::Error),
    /// It says that it follows another schema.
    #[error("this sheet follows the schema “{found}”, and only “{SCHEMA}” can be read")]
    Schema {
        /// What it says.
        found: String,
    },
}

/// The sheet as JSON, indented, with a newline at its end.
pub fn render(sheet: &Sheet) -> String {
    // Plain structures of texts and whole numbers: there is nothing in them that could not be written.
    let mut text = serde_json::to_string_pretty(&Document { schema: SCHEMA, sheet }).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads a sheet back.
///
/// # Errors
///
/// [`NotASheet`]: the text is no JSON, follows another schema, or has a key that is missing or unknown.
pub fn read(text: &str) -> Result<Sheet, NotASheet> {
    let mut document: serde_json::Map<String, serde_json::Value> = serde_json::from_str(text)?;
    match document.remove("schema") {
        Some(serde_json::Value::String(found)) if found == SCHEMA => {}
        Some(serde_json::Value::String(found)) => return Err(NotASheet::Schema { found }),
        found => return Err(NotASheet::Schema { found: found.map(|value| value.to_string()).unwrap_or_default() }),
    }
    Ok(serde_json::from_value(serde_json::Value::Object(document))?)
}
