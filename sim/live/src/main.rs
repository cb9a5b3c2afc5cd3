//! `easeoff-live [DIR]`: drive it by hand.

#[cfg(not(target_arch = "wasm32"))]
fn main() -> std::process::ExitCode {
    easeoff_live::native::main()
}

#[cfg(target_arch = "wasm32")]
fn main() {
    easeoff_live::web::main();
}
