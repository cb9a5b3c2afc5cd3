//! Colours, light and dark: those of the program's pictures, told apart by colour-blind people too.

use easeoff_sim::palette as colour;
use egui::{Color32, Theme};

/// The colours of one theme.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Palette {
    pub(crate) ink: Color32,
    pub(crate) faint: Color32,
    pub(crate) paper: Color32,
    pub(crate) card: Color32,
    pub(crate) line: Color32,
    pub(crate) blue: Color32,
    pub(crate) vermilion: Color32,
    /// Vermilion dark enough for words.
    pub(crate) warning: Color32,
    pub(crate) green: Color32,
    pub(crate) orange: Color32,
    pub(crate) sky: [Color32; 2],
    pub(crate) hills: [Color32; 2],
    pub(crate) soil: Color32,
    pub(crate) turf: Color32,
    pub(crate) gravel: Color32,
    pub(crate) tyre: Color32,
    pub(crate) lug: Color32,
    pub(crate) rim: Color32,
    pub(crate) body: Color32,
    pub(crate) body_shade: Color32,
    pub(crate) glass: Color32,
    /// Words on the soil.
    pub(crate) post: Color32,
}

fn of([red, green, blue]: [u8; 3]) -> Color32 {
    Color32::from_rgb(red, green, blue)
}

/// Toward white, so that it stands out on a dark ground.
fn lighter(colour: [u8; 3], share: f32) -> Color32 {
    of(colour).lerp_to_gamma(Color32::WHITE, share)
}

impl Palette {
    /// The colours of a theme.
    pub(crate) fn of(theme: Theme) -> Self {
        let rgb = Color32::from_rgb;
        match theme {
            Theme::Light => Self {
                ink: of(colour::INK),
                faint: rgb(96, 100, 108),
                paper: rgb(246, 247, 249),
                card: Color32::WHITE,
                line: rgb(208, 212, 218),
                blue: of(colour::BLUE),
                vermilion: of(colour::VERMILION),
                warning: rgb(178, 72, 0),
                green: rgb(0, 128, 93),
                orange: rgb(196, 126, 0),
                sky: [rgb(206, 226, 243), rgb(244, 247, 249)],
                hills: [rgb(196, 211, 222), rgb(170, 192, 196)],
                soil: rgb(136, 112, 88),
                turf: rgb(104, 138, 82),
                gravel: rgb(176, 168, 156),
                tyre: rgb(40, 42, 46),
                lug: rgb(74, 77, 84),
                rim: rgb(214, 218, 224),
                body: rgb(0, 94, 148),
                body_shade: rgb(0, 66, 106),
                glass: rgb(196, 224, 240),
                post: Color32::WHITE,
            },
            Theme::Dark => Self {
                ink: rgb(230, 232, 236),
                faint: rgb(158, 164, 174),
                paper: rgb(22, 25, 30),
                card: rgb(30, 34, 41),
                line: rgb(62, 68, 78),
                blue: lighter(colour::BLUE, 0.42),
                vermilion: lighter(colour::VERMILION, 0.28),
                warning: lighter(colour::VERMILION, 0.28),
                green: lighter(colour::GREEN, 0.25),
                orange: of(colour::ORANGE),
                sky: [rgb(20, 28, 44), rgb(44, 58, 78)],
                hills: [rgb(40, 52, 68), rgb(33, 45, 54)],
                soil: rgb(70, 58, 47),
                turf: rgb(72, 98, 60),
                gravel: rgb(104, 100, 94),
                tyre: rgb(16, 17, 19),
                lug: rgb(84, 88, 96),
                rim: rgb(150, 156, 166),
                body: rgb(60, 150, 205),
                body_shade: rgb(34, 100, 146),
                glass: rgb(20, 44, 62),
                post: rgb(226, 226, 222),
            },
        }
    }

    /// How far something is toward what it stands, 0 to 1: at rest, worth a look, too much.
    pub(crate) fn utilisation(&self, share: f64) -> Color32 {
        match share {
            share if share >= 1.0 => self.vermilion,
            share if share >= 0.6 => self.orange,
            _ => self.blue,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast as WCAG 2.2 defines it (from memory): (L1 + 0.05) / (L2 + 0.05), L the relative luminance of sRGB.
    fn contrast(a: Color32, b: Color32) -> f64 {
        let luminance = |colour: Color32| {
            let linear = |value: u8| {
                let share = f64::from(value) / 255.0;
                if share <= 0.040_45 {
                    share / 12.92
                } else {
                    libm::pow((share + 0.055) / 1.055, 2.4)
                }
            };
            0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
        };
        let [a, b] = [luminance(a), luminance(b)];
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.2, 1.4.3 and 1.4.11 (from memory): 4.5 for words, 3 for what is drawn.
    #[test]
    fn words_and_lines_stand_out_in_both_themes() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1.0e-9);
        for theme in [Theme::Light, Theme::Dark] {
            let ink = Palette::of(theme);
            for ground in [ink.paper, ink.card] {
                for words in [ink.ink, ink.faint, ink.blue, ink.warning, ink.green] {
                    let found = contrast(words, ground);
                    assert!(found >= 4.5, "{theme:?}: words {words:?} on {ground:?}: {found:.2}");
                }
                for line in [ink.blue, ink.vermilion, ink.green, ink.orange] {
                    let found = contrast(line, ground);
                    assert!(found >= 3.0, "{theme:?}: {line:?} on {ground:?}: {found:.2}");
                }
            }
        }
    }
}
