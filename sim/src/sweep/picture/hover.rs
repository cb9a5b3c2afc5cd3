//! What a picture tells of the place that is pointed at, without a script: SVG's own `title`.

use crate::html::escape;

/// A place in a picture, and what is told of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Left, top, width and height \[pixels\].
    pub place: [i32; 4],
    /// The words.
    pub tells: String,
}

/// A picture that has such places.
pub trait Spots {
    /// The places, later ones over earlier ones.
    fn spots(&self) -> Vec<Spot>;
}

/// The drawing with its places laid over it, to be seen by nobody.
pub fn with_spots(drawing: &str, spots: &[Spot]) -> String {
    let spot = |Spot { place: [left, top, width, height], tells }: &Spot| {
        format!(
            "<rect x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\"><title>{}</title></rect>\n",
            escape(tells)
        )
    };
    let layer: String = spots.iter().map(spot).collect();
    let (before, end) = drawing.rsplit_once("</svg>").unwrap_or((drawing, ""));
    format!("{before}<g fill=\"none\" pointer-events=\"all\">\n{layer}</g>\n</svg>{end}")
}
