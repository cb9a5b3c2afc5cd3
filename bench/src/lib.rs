//! Benchmarks of easeoff; see `benches/main_job.rs` and README.md.
