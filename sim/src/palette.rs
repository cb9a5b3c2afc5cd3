//! The colours of pictures and window, red, green and blue: told apart by colour-blind people too (Okabe and
//! Ito, "Color Universal Design", 2008).

/// Red, green and blue.
pub type Colour = [u8; 3];

/// First choice.
pub const BLUE: Colour = [0, 114, 178];
/// Strong contrast to blue.
pub const VERMILION: Colour = [213, 94, 0];
/// Third.
pub const GREEN: Colour = [0, 158, 115];
/// Fourth.
pub const ORANGE: Colour = [230, 159, 0];
/// Text and frames.
pub const INK: Colour = [30, 30, 30];
/// What stands back.
pub const GREY: Colour = [130, 130, 130];
