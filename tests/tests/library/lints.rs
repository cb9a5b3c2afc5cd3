//! Cargo lets a crate have the workspace's lints or its own, not a few exceptions of its own. So there are
//! further tables, and this.

use std::fs;

use easeoff_tests::from_c::top;
use toml::Table;

/// What tests do all the time; reasons in `tests/Cargo.toml`.
const OF_TESTS: [&str; 7] = [
    "arithmetic_side_effects",
    "as_conversions",
    "float_arithmetic",
    "float_cmp",
    "indexing_slicing",
    "panic",
    "unwrap_used",
];

fn lints(manifest: &str, path: &[&str]) -> Table {
    let mut table: Table = fs::read_to_string(top().join(manifest)).unwrap().parse().unwrap();
    for key in path {
        table = table.remove(*key).unwrap().try_into().unwrap();
    }
    table
}

fn workspaces() -> Table {
    lints("Cargo.toml", &["workspace", "lints"])
}

#[test]
fn the_lints_of_the_tests_are_the_workspaces_but_for_what_tests_do() {
    let mut due = workspaces();
    let clippy = due["clippy"].as_table_mut().unwrap();
    for name in OF_TESTS {
        assert_eq!(clippy.insert(name.into(), "allow".into()), Some("warn".into()), "{name}");
    }
    assert_eq!(lints("tests/Cargo.toml", &["lints"]), due);
}

#[test]
fn the_lints_are_the_workspaces_but_for_unsafe() {
    let mut due = workspaces();
    let ours = lints("core/c/Cargo.toml", &["lints"]);
    let rust = due["rust"].as_table_mut().unwrap();
    assert_eq!(rust.insert("unsafe_code".into(), "warn".into()), Some("forbid".into()));
    rust.insert("unexpected_cfgs".into(), ours["rust"]["unexpected_cfgs"].clone());
    due["clippy"]
        .as_table_mut()
        .unwrap()
        .insert("undocumented_unsafe_blocks".into(), "warn".into());
    assert_eq!(ours, due);
}
