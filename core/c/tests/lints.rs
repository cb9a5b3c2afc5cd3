//! Cargo lets a crate have the workspace's lints or its own, not a few of its own besides. So there is a
//! second table, and this.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, missing_docs, reason = "tests panic")]

use toml::Table;

fn lints(manifest: &str, path: &[&str]) -> Table {
    let mut table: Table = manifest.parse().unwrap();
    for key in path {
        table = table.remove(*key).unwrap().try_into().unwrap();
    }
    table
}

#[test]
fn the_lints_are_the_workspaces_but_for_unsafe() {
    let mut due = lints(include_str!("../../../Cargo.toml"), &["workspace", "lints"]);
    let ours = lints(include_str!("../Cargo.toml"), &["lints"]);
    let rust = due["rust"].as_table_mut().unwrap();
    assert_eq!(rust.insert("unsafe_code".into(), "warn".into()), Some("forbid".into()));
    rust.insert("unexpected_cfgs".into(), ours["rust"]["unexpected_cfgs"].clone());
    due["clippy"]
        .as_table_mut()
        .unwrap()
        .insert("undocumented_unsafe_blocks".into(), "warn".into());
    assert_eq!(ours, due);
}
