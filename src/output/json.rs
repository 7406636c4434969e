//! JSON forms. Versioned, stable names, units in the key.

use std::fmt::Write as _;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use serde_json::Value;

use crate::base::error::is_hidden;
use crate::planning::plan::Plan;

/// A value as JSON text with a closing line break. What a terminal would obey stands as its number.
pub(super) fn text(value: &(impl Serialize + ?Sized)) -> String {
    let plain = serde_json::to_string_pretty(value).unwrap_or_default();
    let mut text = String::with_capacity(plain.len() + 1);
    for c in plain.chars() {
        // Outside strings there are line breaks alone, and within them none.
        if c != '\n' && is_hidden(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(text, "\\u{unit:04x}");
            }
        } else {
            text.push(c);
        }
    }
    text.push('\n');
    text
}

/// The JSON Schema of what is printed as such a value.
#[must_use]
pub fn schema_of<T: JsonSchema>() -> Value {
    let settings = SchemaSettings::default().for_serialize();
    let schema = settings.into_generator().into_root_schema_for::<T>();
    schema.to_value()
}

/// A plan: `thawline.plan/1`.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    text(plan)
}
