//! One drawing, two files: SVG text and PNG bytes, with a font carried inside the program.

use plotters::backend::{BitMapBackend, DrawingBackend, SVGBackend};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
#[cfg(not(target_arch = "wasm32"))]
use plotters::style::{FontStyle, register_font};

/// Something that can be drawn at one size.
pub trait Picture {
    /// Width and height in pixels.
    fn size(&self) -> (u32, u32);

    /// Draws it.
    ///
    /// # Errors
    /// The backend's complaint, in words.
    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<(), String>;
}

/// As SVG text.
///
/// # Errors
/// When it cannot be drawn.
pub fn svg(picture: &impl Picture) -> Result<String, String> {
    load_font();
    let mut text = String::new();
    {
        let root = SVGBackend::with_string(&mut text, picture.size()).into_drawing_area();
        picture.draw(&root)?;
        root.present().map_err(|error| error.to_string())?;
    }
    Ok(text)
}

/// As the bytes of a PNG file.
///
/// # Errors
/// When it cannot be drawn.
pub fn png(picture: &impl Picture) -> Result<Vec<u8>, String> {
    load_font();
    let (width, height) = picture.size();
    let mut pixels = vec![0; width as usize * height as usize * 3];
    {
        let root = BitMapBackend::with_buffer(&mut pixels, picture.size()).into_drawing_area();
        picture.draw(&root)?;
        root.present().map_err(|error| error.to_string())?;
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let write = |mut encoder: png::Writer<&mut Vec<u8>>| {
        encoder.write_image_data(&pixels)?;
        encoder.finish()
    };
    encoder.write_header().and_then(write).map_err(|error| error.to_string())?;
    Ok(bytes)
}

/// In a page plotters takes the browser's fonts.
#[cfg(target_arch = "wasm32")]
fn load_font() {}

/// The font is part of the program, so that pictures need nothing installed. Registering it again
/// does no harm.
#[cfg(not(target_arch = "wasm32"))]
fn load_font() {
    let fonts =
        [(FontStyle::Normal, dejavu::sans::regular()), (FontStyle::Bold, dejavu::sans::bold())];
    for (style, bytes) in fonts {
        // Only a damaged font is refused, and this one is compiled in.
        let _ = register_font("sans-serif", style, bytes);
    }
}
