//! The rig on its course, from the side, to scale, from the simulation's own state.

use easeoff_plant::interpolate::height;
use egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};

use super::palette::Palette;
use super::rig;
use crate::logic::scenes::SCENES;
use crate::logic::session::Session;
use crate::logic::way::Way;

/// So much of the course is to be seen, in wheelbases.
const WIDE_WHEELBASES: f64 = 7.0;
/// The rig stands this share of the width left of the middle: there is more to see ahead.
const AHEAD: f64 = 0.14;
/// Columns of the ground are drawn this far apart \[points\].
const COLUMN: f32 = 4.0;

/// What stays the same while one course is driven.
pub(crate) struct Scenery {
    way: Way,
    scene: usize,
}

/// From metres to points.
#[derive(Clone, Copy)]
pub(crate) struct View {
    rect: Rect,
    /// What stands in the middle \[m\].
    middle_m: [f64; 2],
    /// Points per metre.
    pub(crate) scale: f64,
}

impl View {
    pub(crate) fn at(&self, x_m: f64, z_m: f64) -> Pos2 {
        let x = f64::from(self.rect.center().x) + (x_m - self.middle_m[0]) * self.scale;
        let z = f64::from(self.rect.top() + 0.66 * self.rect.height())
            - (z_m - self.middle_m[1]) * self.scale;
        pos2(x as f32, z as f32)
    }

    fn x_m(&self, x: f32) -> f64 {
        self.middle_m[0] + f64::from(x - self.rect.center().x) / self.scale
    }

    pub(crate) fn length(&self, metres: f64) -> f32 {
        (metres * self.scale) as f32
    }
}

impl Scenery {
    /// Of the course that is driven.
    pub(crate) fn new(session: &Session) -> Self {
        let scenario = session.scenario();
        let ground = &session.simulation().plant.ground;
        let way = Way::new(&scenario.course, ground, &scenario.rig);
        Self { way, scene: session.scene() }
    }

    /// Draws everything into `rect`.
    pub(crate) fn draw(&mut self, painter: &Painter, rect: Rect, session: &Session, ink: &Palette) {
        if self.scene != session.scene() {
            *self = Self::new(session);
        }
        if rect.width() < 40.0 || rect.height() < 40.0 {
            return;
        }
        let painter = painter.with_clip_rect(rect);
        let scenario = session.scenario();
        let rig = &scenario.rig;
        let state = &session.simulation().state;
        let x_m = self.way.level_m(state.now.place_m);
        let half_m = rig.vehicle.wheelbase_m / 2.0;
        let radius_m = rig.wheels.radius_m;
        let centre = |x_m: f64| [x_m, self.way.wheel_centre_m(x_m)];
        let axles = [centre(x_m + half_m), centre(x_m - half_m)];
        let scale = f64::from(rect.width()) / (WIDE_WHEELBASES * rig.vehicle.wheelbase_m);
        let view = View {
            rect,
            middle_m: [
                x_m + AHEAD * WIDE_WHEELBASES * rig.vehicle.wheelbase_m,
                (axles[0][1] + axles[1][1]) / 2.0 - radius_m,
            ],
            scale,
        };
        let foot = self.lowest(&view, session).min(rect.bottom());
        sky(&painter, Rect::from_min_max(rect.min, pos2(rect.right(), foot)), rect, &view, ink);
        self.ground(&painter, &view, session, ink);
        self.signs(&painter, &view, session, ink);
        rig::draw(&painter, &view, session, axles, ink);
    }

    /// Where the ground is lowest in view: below that there is neither sky nor hill to be seen.
    fn lowest(&self, view: &View, session: &Session) -> f32 {
        let profile_m = &session.scenario().course.profile_m;
        columns(view)
            .map(|(_, x_m)| view.at(x_m, height(profile_m, x_m)).y)
            .fold(view.rect.top(), f32::max)
    }

    fn ground(&self, painter: &Painter, view: &View, session: &Session, ink: &Palette) {
        let course = &session.scenario().course;
        let mut mesh = Mesh::default();
        let mut turf = Mesh::default();
        let thick = (0.012 * view.scale).max(3.0) as f32;
        for (index, x_m) in columns(view) {
            let top = view.at(x_m, height(&course.profile_m, x_m));
            let surface = course.surface_index_at(self.place_m(x_m));
            let cover = if course.surfaces[surface].grip < 0.65 { ink.gravel } else { ink.turf };
            let deep = ink.soil.lerp_to_gamma(Color32::BLACK, 0.35);
            mesh.colored_vertex(top, ink.soil);
            mesh.colored_vertex(pos2(top.x, view.rect.bottom().max(top.y) + 2.0), deep);
            turf.colored_vertex(top, cover);
            turf.colored_vertex(top + vec2(0.0, thick), cover);
            if index > 0 {
                let next = 2 * index as u32;
                for mesh in [&mut mesh, &mut turf] {
                    mesh.add_triangle(next - 2, next - 1, next);
                    mesh.add_triangle(next - 1, next, next + 1);
                }
            }
            // Pebbles, always the same ones at the same place.
            let grain = (x_m * 40.0).floor();
            if cover == ink.gravel && index % 3 == 0 {
                let depth = (grain * 7.31).sin().abs() as f32 * 2.0;
                painter.circle_filled(top + vec2(0.0, thick + depth), 1.5, ink.gravel);
            }
        }
        painter.add(Shape::mesh(mesh));
        painter.add(Shape::mesh(turf));
    }

    /// About where along the way a point of the map is; good enough to colour the ground.
    fn place_m(&self, x_m: f64) -> f64 {
        let mut place_m = x_m;
        for _ in 0..3 {
            place_m += x_m - self.way.level_m(place_m);
        }
        place_m
    }

    /// A post at every metre, the mark of an exercise, and what lies in wait.
    fn signs(&self, painter: &Painter, view: &View, session: &Session, ink: &Palette) {
        let scenario = session.scenario();
        let course = &scenario.course;
        let stand = |place_m: f64| {
            let x_m = self.way.level_m(place_m);
            view.at(x_m, height(&course.profile_m, x_m))
        };
        let (from_m, to_m) = (view.x_m(view.rect.left()), view.x_m(view.rect.right()));
        let font = FontId::proportional(11.0);
        let first = self.place_m(from_m).floor() as i64;
        let last = (self.place_m(to_m).ceil() as i64).min(first + 200);
        for metre in first..=last {
            let foot = stand(metre as f64);
            let end = foot + vec2(0.0, 14.0);
            let pale = Stroke::new(1.0, ink.post.gamma_multiply(0.6));
            painter.line_segment([foot + vec2(0.0, 5.0), end], pale);
            // Half a number is worse than none.
            if end.y + 14.0 > view.rect.bottom() {
                continue;
            }
            let words = format!("{metre} m");
            painter.text(end + vec2(0.0, 1.0), Align2::CENTER_TOP, words, font.clone(), ink.post);
        }
        // Where it will catch is for the hand to find out in an exercise.
        let exercise = SCENES.get(session.scene()).is_some_and(|scene| scene.exercise.is_some());
        for snag in course.snags.iter().filter(|_| !exercise) {
            if snag.at_m > state_place(session) {
                bush(painter, stand(snag.at_m), view.length(0.05), ink);
            }
        }
        if let Some((place_m, words)) = session.mark() {
            let foot = stand(place_m);
            let top = foot - vec2(0.0, view.length(0.28).max(40.0));
            painter.line_segment([foot, top], Stroke::new(2.5, ink.ink));
            let size = vec2(30.0, 18.0);
            let flag = Rect::from_min_size(top, size);
            painter.rect_filled(flag, 2.0, ink.orange);
            painter.text(
                flag.right_center() + vec2(5.0, 0.0),
                Align2::LEFT_CENTER,
                words,
                FontId::proportional(13.0),
                ink.ink,
            );
        }
    }
}

fn state_place(session: &Session) -> f64 {
    session.simulation().state.now.place_m
}

/// The ground's columns and their places on the map.
fn columns(view: &View) -> impl Iterator<Item = (usize, f64)> {
    let count = (view.rect.width() / COLUMN).ceil() as usize + 2;
    (0..=count).map(|index| (index, view.x_m(view.rect.left() + COLUMN * index as f32)))
}

/// Sky and hills of the scene `rect`, drawn into `seen` of it.
fn sky(painter: &Painter, seen: Rect, rect: Rect, view: &View, ink: &Palette) {
    let mut mesh = Mesh::default();
    mesh.colored_vertex(rect.left_top(), ink.sky[0]);
    mesh.colored_vertex(rect.right_top(), ink.sky[0]);
    let share = (seen.height() / rect.height()).clamp(0.0, 1.0);
    let low = ink.sky[0].lerp_to_gamma(ink.sky[1], share);
    mesh.colored_vertex(seen.left_bottom(), low);
    mesh.colored_vertex(seen.right_bottom(), low);
    mesh.add_triangle(0, 1, 2);
    mesh.add_triangle(1, 2, 3);
    painter.add(Shape::mesh(mesh));
    // Hills move slower the farther they are.
    for (index, (share, rise, wide)) in [(0.12, 0.36, 300.0), (0.3, 0.24, 170.0)].iter().enumerate()
    {
        let moved = (view.middle_m[0] * view.scale * share) as f32;
        let mut hill = Mesh::default();
        let columns = (rect.width() / 12.0).ceil() as u32 + 1;
        for column in 0..=columns {
            let x = rect.left() + 12.0 * column as f32;
            let at = f64::from(x + moved) / wide;
            let wave = at.sin() + 0.5 * (2.3 * at + 1.0).sin() + 0.25 * (5.1 * at).sin();
            let top = f64::from(rect.height()) * (0.62 - rise * (0.5 + 0.28 * wave));
            hill.colored_vertex(pos2(x, rect.top() + top as f32), ink.hills[index]);
            let foot = seen.bottom().max(rect.top() + top as f32);
            hill.colored_vertex(pos2(x, foot), ink.hills[index]);
            if column > 0 {
                let next = 2 * column;
                hill.add_triangle(next - 2, next - 1, next);
                hill.add_triangle(next - 1, next, next + 1);
            }
        }
        painter.add(Shape::mesh(hill));
    }
}

/// A bramble that lies in wait.
fn bush(painter: &Painter, foot: Pos2, size: f32, ink: &Palette) {
    let stroke = Stroke::new(2.0, ink.green.lerp_to_gamma(ink.ink, 0.25));
    for arm in -3..=3_i8 {
        let lean = f32::from(arm) / 3.0;
        let tip = foot + vec2(lean * size * 1.5, -size * (1.6 - lean * lean));
        let knee = foot + vec2(lean * size * 0.4, -size * 0.9);
        let curve = [foot, knee, tip];
        painter.add(Shape::QuadraticBezier(
            egui::epaint::QuadraticBezierShape::from_points_stroke(
                curve,
                false,
                Color32::TRANSPARENT,
                stroke,
            ),
        ));
        painter.circle_filled(tip, 2.5, ink.vermilion);
    }
}

/// `by` turned by an angle, counter-clockwise on the screen.
pub(crate) fn turned(by: Vec2, angle: f64) -> Vec2 {
    let (sine, cosine) = (angle.sin() as f32, angle.cos() as f32);
    vec2(by.x * cosine + by.y * sine, by.y * cosine - by.x * sine)
}
