//! What keys and values of files were called before: an old file is refused with the new name.

/// Keys by their path in the file.
const KEYS: [(&str, &str); 6] = [
    ("pulse.bridge", "tolerate"),
    ("limits.hot_from_c", "derate_from_c"),
    ("limits.hot_to_c", "derate_to_c"),
    ("limits.fade_from_v", "derate_from_v"),
    ("limits.fade_to_v", "derate_to_v"),
    ("driver", "human"),
];

/// Values of a choice, with the path of its key.
const VALUES: [(&str, &str, &str); 1] = [("drag.law", "share", "duty")];

/// Files in a folder.
const FILES: [(&str, &str); 1] = [("driver.toml", "hand.toml")];

/// What a key is called now, if it was renamed.
pub(super) fn key(path: &str) -> Option<&'static str> {
    KEYS.iter().find(|(was, _)| *was == path).map(|(_, now)| *now)
}

/// What a value of a choice is called now, if it was renamed.
pub(super) fn value(path: &str, value: &str) -> Option<&'static str> {
    VALUES.iter().find(|(key, was, _)| *key == path && *was == value).map(|(.., now)| *now)
}

/// What a file was called before, if it was renamed.
pub(super) fn file_before(name: &str) -> Option<&'static str> {
    FILES.iter().find(|(now, _)| *now == name).map(|(_, was)| *was)
}
