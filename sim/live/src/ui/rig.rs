//! The rig itself: body, wheels that turn and slip, the drive line as it winds up, a snag round the axle.

use std::f64::consts::TAU;

use easeoff_plant::level_loads_n;
use egui::epaint::PathShape;
use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2, vec2};

use super::palette::Palette;
use super::scene::{View, turned};
use crate::logic::session::Session;

/// The body nods by this much when all its weight goes to one axle \[rad\]; the simulator's body is rigid,
/// so this shows the loads, not a movement.
const NOD_RAD: f64 = 0.12;
/// The twist of the drive line is drawn this many times larger than it is.
const TWIST_SHOWN: f64 = 12.0;
/// Slip from which dust flies \[m/s\].
const DUSTY_M_S: f64 = 0.05;

pub(crate) fn draw(
    painter: &Painter,
    view: &View,
    session: &Session,
    axles_m: [[f64; 2]; 2],
    ink: &Palette,
) {
    let rig = &session.scenario().rig;
    let now = &session.simulation().state.now;
    let [front, rear] = axles_m.map(|[x, z]| view.at(x, z));
    let radius = view.length(rig.wheels.radius_m);
    let row = session.row();
    let loads =
        row.map_or(level_loads_n(&rig.vehicle), |row| [row.flows.front_n, row.flows.rear_n]);
    let level = level_loads_n(&rig.vehicle);
    let shift = (loads[1] - level[1]) / (level[0] + level[1]);
    let along = front - rear;
    let pitch = f64::from(-along.y).atan2(f64::from(along.x)) + NOD_RAD * shift;
    let middle = rear + along / 2.0;
    let frame = Frame { middle, pitch, unit: along.length() };

    shadow(painter, &frame, radius, ink);
    let slip_m_s = row.map_or(0.0, |row| row.flows.slip_m_s);
    for wheel in [rear, front] {
        dust(painter, wheel, radius, slip_m_s, now.wheel_rad, ink);
    }
    body(painter, &frame, radius, ink);
    // Blind, the drive line's torque would tell which tune drives.
    let reported = row.filter(|_| session.blind().is_none());
    let utilisation = reported.map_or(0.0, |row| row.flows.shaft_n_m) / rig.gears.rating_n_m;
    let twist_rad = reported.map_or(0.0, |_| now.twist_rad);
    drive_line(painter, &frame, rear, utilisation, now.wheel_rad + TWIST_SHOWN * twist_rad, ink);
    for wheel in [rear, front] {
        tyre(painter, wheel, radius, now.wheel_rad, slip_m_s, ink);
    }
    arc(painter, rear, radius * 1.22, utilisation, ink);
    let snag_n_m = row.map_or(0.0, |row| row.flows.snag_n_m);
    if snag_n_m > 0.0 {
        bramble(painter, front, radius, snag_n_m, rig.gears.rating_n_m, now.wheel_rad, ink);
    }
    for (wheel, load) in [(front, loads[0]), (rear, loads[1])] {
        if load <= 0.0 {
            let tip = wheel + vec2(0.0, radius * 1.5);
            painter.arrow(tip, vec2(0.0, -radius * 0.8), Stroke::new(2.5, ink.vermilion));
        }
    }
}

/// The body's own frame: lengths in wheelbases, x forward, y up, from the middle between the axles.
struct Frame {
    middle: Pos2,
    pitch: f64,
    unit: f32,
}

impl Frame {
    fn at(&self, x: f32, y: f32) -> Pos2 {
        self.middle + turned(vec2(x, -y) * self.unit, self.pitch)
    }

    fn shape(&self, points: &[[f32; 2]]) -> Vec<Pos2> {
        points.iter().map(|[x, y]| self.at(*x, *y)).collect()
    }
}

fn shadow(painter: &Painter, frame: &Frame, radius: f32, ink: &Palette) {
    let from = frame.at(-0.62, 0.0) + vec2(0.0, radius * 0.98);
    let to = frame.at(0.62, 0.0) + vec2(0.0, radius * 0.98);
    painter.line_segment([from, to], Stroke::new(5.0, ink.soil.gamma_multiply(0.55)));
}

fn body(painter: &Painter, frame: &Frame, radius: f32, ink: &Palette) {
    let r = radius / frame.unit;
    let convex = |points: &[[f32; 2]], fill: Color32| {
        let outline = Stroke::new(1.5, ink.body_shade);
        painter.add(Shape::Path(PathShape::convex_polygon(frame.shape(points), fill, outline)));
    };
    // The ladder frame and the skid plate under it.
    let rail = Stroke::new((0.035 * frame.unit).max(2.0), ink.tyre);
    painter.line_segment([frame.at(-0.56, 0.1), frame.at(0.56, 0.1)], rail);
    painter.line_segment([frame.at(-0.5, 0.0), frame.at(-0.3, 0.1)], rail);
    painter.line_segment([frame.at(0.5, 0.0), frame.at(0.3, 0.1)], rail);
    // Bed, cabin, bonnet: convex pieces, the wheel arches left free.
    let sill = 0.11 + 0.25 * r;
    convex(&[[-0.66, sill + 0.1], [-0.62, 0.36], [-0.2, 0.36], [-0.2, sill + 0.1]], ink.body);
    convex(&[[-0.26, sill], [-0.26, 0.36], [0.24, 0.36], [0.3, sill]], ink.body);
    convex(&[[0.2, sill + 0.1], [0.2, 0.37], [0.58, 0.32], [0.68, sill + 0.12]], ink.body);
    convex(&[[-0.22, 0.36], [-0.16, 0.6], [0.1, 0.6], [0.24, 0.37]], ink.body);
    convex(&[[-0.14, 0.38], [-0.1, 0.55], [-0.02, 0.55], [-0.02, 0.38]], ink.glass);
    convex(&[[0.02, 0.38], [0.02, 0.55], [0.085, 0.55], [0.18, 0.38]], ink.glass);
    let trim = Stroke::new((0.02 * frame.unit).max(1.5), ink.body_shade);
    painter.line_segment([frame.at(-0.64, 0.3), frame.at(0.58, 0.29)], trim);
    painter.line_segment([frame.at(-0.5, 0.36), frame.at(-0.5, 0.46)], trim);
    painter.line_segment([frame.at(-0.5, 0.46), frame.at(-0.2, 0.52)], trim);
    painter.circle_filled(frame.at(0.62, 0.27), 0.025 * frame.unit, ink.orange);
}

/// The motor in the frame, and the shaft from it to the rear axle: a spring that takes colour as it winds.
fn drive_line(
    painter: &Painter,
    frame: &Frame,
    axle: Pos2,
    utilisation: f64,
    motor_rad: f64,
    ink: &Palette,
) {
    let colour = ink.utilisation(utilisation.abs());
    let motor = frame.at(0.05, 0.14);
    let size = 0.085 * frame.unit;
    painter.circle_filled(motor, size, ink.card);
    painter.circle_stroke(motor, size, Stroke::new(2.0, ink.ink));
    let hand = turned(vec2(size * 0.75, 0.0), -motor_rad);
    painter.line_segment([motor - hand, motor + hand], Stroke::new(2.5, colour));
    let along = axle - motor;
    let across = along.rot90().normalized();
    // Wound up, its turns stand closer and higher.
    let turns = 9_u8;
    let tall = 0.022 * frame.unit * (1.0 + 0.9 * utilisation.abs().min(1.3) as f32);
    let mut points = vec![motor + along * 0.2];
    for turn in 0..turns {
        let share = 0.24 + 0.58 * f32::from(turn) / f32::from(turns - 1);
        let side = if turn % 2 == 0 { tall } else { -tall };
        points.push(motor + along * share + across * side);
    }
    points.push(axle);
    painter.line(points.clone(), Stroke::new(5.0, ink.card));
    painter.line(points, Stroke::new(2.5, colour));
}

/// Torque as an arc round the axle it drives: three quarters of the round is the rating.
fn arc(painter: &Painter, centre: Pos2, radius: f32, share: f64, ink: &Palette) {
    let round = |from: f64, to: f64| -> Vec<Pos2> {
        (0..=40)
            .map(|n| {
                let angle = from + (to - from) * f64::from(n) / 40.0;
                centre + radius * vec2(angle.cos() as f32, -angle.sin() as f32)
            })
            .collect()
    };
    let start = 0.75 * TAU / 2.0 + TAU / 4.0;
    painter.line(round(start, start - 0.75 * TAU), Stroke::new(3.0, ink.line.gamma_multiply(0.6)));
    if share.abs() > 0.01 {
        let swept = 0.75 * TAU * share.abs().min(1.0);
        let ends = if share > 0.0 {
            (start, start - swept)
        } else {
            (start - 0.75 * TAU, start - 0.75 * TAU + swept)
        };
        painter.line(round(ends.0, ends.1), Stroke::new(4.5, ink.utilisation(share.abs())));
    }
}

fn tyre(
    painter: &Painter,
    centre: Pos2,
    radius: f32,
    angle_rad: f64,
    slip_m_s: f64,
    ink: &Palette,
) {
    let spoke = |share: f32, angle: f64| -> Vec2 { turned(vec2(radius * share, 0.0), -angle) };
    painter.circle_filled(centre, radius, ink.tyre);
    for lug in 0..18_u8 {
        let angle = angle_rad + TAU * f64::from(lug) / 18.0;
        let ends = [centre + spoke(0.86, angle), centre + spoke(1.0, angle + 0.09)];
        painter.line_segment(ends, Stroke::new(radius * 0.11, ink.lug));
    }
    painter.circle_filled(centre, radius * 0.62, ink.rim);
    painter.circle_filled(centre, radius * 0.54, ink.body_shade);
    for arm in 0..5_u8 {
        let angle = angle_rad + TAU * f64::from(arm) / 5.0;
        // One arm is marked, so that the eye can follow the wheel.
        let colour = if arm == 0 { ink.orange } else { ink.rim };
        let ends = [centre + spoke(0.12, angle), centre + spoke(0.54, angle)];
        painter.line_segment(ends, Stroke::new(radius * 0.12, colour));
    }
    painter.circle_filled(centre, radius * 0.17, ink.rim);
    if slip_m_s.abs() > DUSTY_M_S {
        painter.circle_stroke(centre, radius, Stroke::new(2.5, ink.vermilion));
    }
}

/// What slipping tyres throw up, against the way they slip.
fn dust(painter: &Painter, wheel: Pos2, radius: f32, slip_m_s: f64, angle_rad: f64, ink: &Palette) {
    if slip_m_s.abs() < DUSTY_M_S {
        return;
    }
    let way = if slip_m_s > 0.0 { -1.0 } else { 1.0 };
    let strong = (slip_m_s.abs() / 0.6).min(1.0) as f32;
    for grain in 0..12_u8 {
        let phase = (angle_rad * 0.7 + f64::from(grain) * 0.618).rem_euclid(1.0) as f32;
        let high = f32::from(grain % 4) / 4.0;
        let at = wheel
            + vec2(
                way * radius * (0.4 + 2.2 * phase * strong),
                radius * (0.95 - phase * (0.3 + 0.9 * high) * strong),
            );
        let fade = (1.0 - phase) * (0.35 + 0.65 * strong);
        painter.circle_filled(at, radius * (0.05 + 0.1 * phase), ink.soil.gamma_multiply(fade));
    }
}

/// A bramble wound round the axle, the tighter the more it pulls.
fn bramble(
    painter: &Painter,
    centre: Pos2,
    radius: f32,
    pull_n_m: f64,
    rating_n_m: f64,
    angle_rad: f64,
    ink: &Palette,
) {
    let share = pull_n_m / rating_n_m;
    let turns = 0.7 + 0.8 * share.min(1.5);
    let colour = ink.utilisation(share);
    let count = (turns * 22.0) as u32;
    let points: Vec<Pos2> = (0..=count)
        .map(|n| {
            let along = f64::from(n) / f64::from(count);
            let angle = angle_rad + TAU * turns * along;
            let far = radius * (0.6 + 0.55 * along as f32);
            centre + turned(vec2(far, 0.0), -angle)
        })
        .collect();
    for (index, point) in points.iter().enumerate().filter(|(index, _)| index % 6 == 3) {
        let out = (*point - centre).normalized() * radius * 0.13;
        let side = if index % 12 == 3 { out.rot90() } else { -out.rot90() };
        painter.line_segment([*point, *point + out + side * 0.5], Stroke::new(1.5, colour));
    }
    painter.line(points, Stroke::new(2.5, colour));
}
