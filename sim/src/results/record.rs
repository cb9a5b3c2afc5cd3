//! The record of a run: JSON with the field by which a folder is known as one of ours.

use serde_json::json;

/// A record with the field by which a folder is known as one of ours.
pub fn record(mut fields: serde_json::Value) -> serde_json::Value {
    fields["easeoff"] = json!(env!("CARGO_PKG_VERSION"));
    fields
}

/// JSON as it is printed and written.
pub fn pretty(record: &serde_json::Value) -> String {
    format!("{record:#}\n")
}
