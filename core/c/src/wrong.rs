//! A wrong build, with `--cfg easeoff_unwraps`: `cargo xtask chip` sees that it does not link.

/// Panics for the least number.
#[expect(clippy::unwrap_used, reason = "the panic path that the gate must refuse")]
#[unsafe(no_mangle)]
extern "C" fn easeoff_unwraps(value: i32) -> i32 {
    value.checked_abs().unwrap()
}
