#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| easeoff_tests::fuzz::monitor(data));
