//! The fuzzers' corpus, replayed: what once was interesting stays harmless.

use easeoff_tests::fuzz::TARGETS;

#[test]
fn every_file_of_every_target_is_harmless() {
    for (name, target) in TARGETS {
        let folder = format!("{}/fuzz/corpus/{name}", env!("CARGO_MANIFEST_DIR"));
        let files = std::fs::read_dir(&folder).unwrap();
        let mut count = 0_usize;
        for file in files {
            let path = file.unwrap().path();
            println!("{name}: {}", path.display());
            target(&std::fs::read(&path).unwrap());
            count = count.saturating_add(1);
        }
        assert!(count >= 5, "{name} has {count} files in {folder}");
    }
}

/// Nothing at all is a run too.
#[test]
fn no_bytes_and_few_bytes_are_harmless() {
    for (_, target) in TARGETS {
        for length in 0..300 {
            for fill in [0x00, 0x01, 0x55, 0xff] {
                target(&vec![fill; length]);
            }
        }
    }
}
