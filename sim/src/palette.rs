//! The colours of pictures and window, red, green and blue: told apart by colour-blind people too (Okabe and
//! Ito, "Color Universal Design", 2008).

/// First choice.
pub const BLUE: [u8; 3] = [0, 114, 178];
/// Strong contrast to blue.
pub const VERMILION: [u8; 3] = [213, 94, 0];
/// Third.
pub const GREEN: [u8; 3] = [0, 158, 115];
/// Fourth.
pub const ORANGE: [u8; 3] = [230, 159, 0];
/// Text and frames.
pub const INK: [u8; 3] = [30, 30, 30];
/// What stands back.
pub const GREY: [u8; 3] = [130, 130, 130];
