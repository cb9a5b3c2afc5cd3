//! What a picture tells of the place that is pointed at, without a script: SVG's own `title`.

use easeoff_sim::digits::digits;
use maud::{Markup, html};
use plotters::backend::SVGBackend;
use plotters::drawing::IntoDrawingArea;

use crate::draw::canvas::Picture;
use crate::draw::chart::{Panel, Sheet};

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
pub(crate) fn with_spots(drawing: &str, spots: &[Spot]) -> String {
    let layer: String =
        spots.iter().map(|spot| format!("{}\n", rect(spot).into_string())).collect();
    let (before, end) = drawing.rsplit_once("</svg>").unwrap_or((drawing, ""));
    format!("{before}<g fill=\"none\" pointer-events=\"all\">\n{layer}</g>\n</svg>{end}")
}

fn rect(Spot { place: [left, top, width, height], tells }: &Spot) -> Markup {
    html! { rect x=(left) y=(top) width=(width) height=(height) { title { (tells) } } }
}

/// A panel is told in so many upright strips, so that a page stays light.
const STRIPS: i32 = 90;

impl Spots for Sheet {
    /// Every panel in strips: what each of its lines is there.
    fn spots(&self) -> Vec<Spot> {
        let mut places = Vec::new();
        let mut unseen = String::new();
        {
            let root = SVGBackend::with_string(&mut unseen, self.size()).into_drawing_area();
            // A picture that cannot be drawn has failed before.
            let _ = self.try_draw(&root, &mut places);
        }
        let panels = self.columns.iter().flat_map(|column| &column.panels);
        panels.zip(places).flat_map(|(panel, place)| self.strips(panel, place)).collect()
    }
}

impl Sheet {
    fn strips(&self, panel: &Panel, [left, top, width, height]: [i32; 4]) -> Vec<Spot> {
        let edge = |strip: i32| left + width * strip / STRIPS;
        let strip = |index: i32| {
            let share = (f64::from(index) + 0.5) / f64::from(STRIPS);
            let x = self.x.start + (self.x.end - self.x.start) * share;
            let values = panel.series.iter().filter_map(|line| {
                let near = |point: &&(f64, f64)| (point.0 - x).abs();
                let point = line.points.iter().min_by(|a, b| near(a).total_cmp(&near(b)))?;
                // Where a line has no point nearby it is not told.
                let close = near(&point) <= (self.x.end - self.x.start) / f64::from(STRIPS);
                let name = if line.name.is_empty() { "" } else { ", " };
                close.then(|| format!("{}{name}{}", line.name, digits(point.1)))
            });
            let values: Vec<String> = values.collect();
            let tells =
                format!("{} {}\n{}\n{}", self.x_label, digits(x), panel.label, values.join("\n"));
            let place = [edge(index), top, edge(index + 1) - edge(index), height];
            (!values.is_empty()).then_some(Spot { place, tells })
        };
        (0..STRIPS).filter_map(strip).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::chart::{Column, Series, colour};

    /// A line from 0 to 10 over 0 to 1: the strip in the middle tells 5, and the strips fill the panel.
    #[test]
    fn a_panel_tells_its_value_where_it_is_pointed_at() {
        let points = (0..=1_000).map(|i| (f64::from(i) / 1_000.0, f64::from(i) / 100.0)).collect();
        let series = vec![Series { name: "a & b".into(), points, colour: colour::BLUE }];
        let panels = vec![Panel::new("speed, m/s", series, 1.0)];
        let sheet = Sheet {
            title: String::new(),
            subtitle: String::new(),
            columns: vec![Column { header: String::new(), panels, bars: Vec::new() }],
            x: 0.0..1.0,
            x_label: "time, s".into(),
            size: (800, 400),
        };
        let drawing = crate::draw::canvas::svg(&sheet).unwrap();
        let spots = sheet.spots();
        assert_eq!(spots.len(), STRIPS as usize);
        assert!(spots[45].tells.contains("a & b, 5.06"), "{}", spots[45].tells);
        assert!(
            spots.windows(2).all(|pair| pair[0].place[0] + pair[0].place[2] == pair[1].place[0])
        );
        let page = with_spots(&drawing, &spots);
        assert!(page.contains("<title>time, s 0.506\nspeed, m/s\na &amp; b, 5.06</title>"));
        assert!(page.ends_with("</svg>\n") || page.ends_with("</svg>"));
    }
}
