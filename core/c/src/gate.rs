//! The gate that no panic path passes. Built for chips only; the images in `tests/target` share it.

use core::panic::PanicInfo;

#[expect(unsafe_code, reason = "no more than a name for the linker")]
unsafe extern "Rust" {
    /// Defined nowhere. While a panic can be reached the linker asks for it, and there is no image.
    fn easeoff_a_panic_path_is_left() -> !;
}

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    #[expect(unsafe_code, reason = "never linked, so never called")]
    // SAFETY: an image with this call in it does not link.
    unsafe {
        easeoff_a_panic_path_is_left()
    }
}
