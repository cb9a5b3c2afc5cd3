//! What is written over the scene: speed, task, lamp, utilisation.

use easeoff_core::Mode;
use easeoff_sim::score::episode::NoPace;
use egui::{Align2, Color32, FontId, Painter, Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

use super::number::fixed;
use super::palette::Palette;
use crate::logic::bog::{Bog, Load, Why};
use crate::logic::scenes::SCENES;
use crate::logic::session::Session;

/// Narrower than this there is only the rig.
const NARROWEST: egui::Vec2 = vec2(260.0, 120.0);

/// From here on speed, task and lamp stand beside each other.
const WIDE_ENOUGH: f32 = 560.0;

pub(crate) fn draw(ui: &Ui, rect: Rect, session: &Session, ink: &Palette) {
    if rect.width() < NARROWEST.x || rect.height() < NARROWEST.y {
        return;
    }
    let painter = ui.painter_at(rect);
    speed(&painter, rect, session, ink);
    task(&painter, rect, session, ink);
    // Both would tell which tune drives.
    if session.blind().is_none() {
        lamp(ui, &painter, rect, session, ink);
        utilisation(&painter, rect, session, ink);
    }
}

fn speed(painter: &Painter, rect: Rect, session: &Session, ink: &Palette) {
    let speed = session.row().map_or(0.0, |row| row.wheel_speed_m_s());
    let at = rect.left_top() + vec2(16.0, 8.0);
    let number =
        painter.text(at, Align2::LEFT_TOP, fixed(speed, 2), FontId::proportional(32.0), ink.ink);
    let alongside = number.right_bottom() + vec2(5.0, -6.0);
    painter.text(alongside, Align2::LEFT_BOTTOM, "m/s", FontId::proportional(15.0), ink.ink);
    if let Some(row) = session.row() {
        let words = format!("{} m", fixed(row.plant.now.place_m, 2));
        let under = pos2(at.x, number.bottom() - 2.0);
        painter.text(under, Align2::LEFT_TOP, words, FontId::proportional(13.0), ink.ink);
    }
}

/// What there is to do, or what came of it.
fn task(painter: &Painter, rect: Rect, session: &Session, ink: &Palette) {
    let task = SCENES.get(session.scene()).map_or("", |scene| scene.task);
    let verdict = session.referee().and_then(|referee| referee.verdict());
    let waits = session.row().is_some_and(|row| {
        matches!(row.mode(), Mode::Disarmed | Mode::Lost) && row.seen.pulse.is_some()
    });
    let arm_s = session.in_force().mode.arm_ms / 1_000.0;
    let (words, strong) = match (verdict, session.over()) {
        (Some(verdict), _) => (format!("{} R tries again.", verdict.words), true),
        (None, Some(over)) => (over.to_owned(), true),
        (None, None) if waits && session.lever.position() != 0.0 => {
            (format!("Let the throttle rest for {arm_s} s first: the controller arms."), true)
        }
        (None, None) => (task.to_owned(), false),
    };
    // Where lamp and speed leave no room between them, only what cannot wait is written, below them.
    let narrow = rect.width() < WIDE_ENOUGH;
    if narrow && !strong {
        return;
    }
    let wide = if narrow { rect.width() - 50.0 } else { (rect.width() - 400.0).min(420.0) };
    let size = if strong { 16.0 } else { 14.0 };
    let galley = painter.layout(words, FontId::proportional(size), ink.ink, wide);
    let at = rect.left_top() + if narrow { vec2(24.0, 72.0) } else { vec2(150.0, 14.0) };
    if strong {
        let card = Rect::from_min_size(at, galley.size()).expand2(vec2(10.0, 6.0));
        painter.rect_filled(card, 6.0, ink.card);
        painter.rect_stroke(card, 6.0, Stroke::new(1.5, ink.orange), StrokeKind::Outside);
    }
    painter.galley(at, galley, ink.ink);
}

/// The hidden-bog light.
fn lamp(ui: &Ui, painter: &Painter, rect: Rect, session: &Session, ink: &Palette) {
    let watch = session.watch();
    let bog = watch.bog();
    let (fill, title) = match bog {
        Bog::Free => (Color32::TRANSPARENT, "nothing pulls"),
        Bog::Hidden => (ink.orange, "HIDDEN LOAD"),
        Bog::Noticeable => (ink.blue, "load, to be noticed"),
        Bog::Unmeasured(_) => (ink.faint, "a load, not measured"),
    };
    let lines: Vec<String> = match watch.load() {
        _ if let Bog::Unmeasured(why) = bog => vec![unmeasured(why).into()],
        Some(load) if bog != Bog::Free => reported(load),
        Some(load) => vec![last(load)],
        None => Vec::new(),
    };
    let size = vec2(206.0, 30.0 + 16.0 * lines.len() as f32);
    let card = Rect::from_min_size(rect.right_top() + vec2(-size.x - 10.0, 10.0), size);
    painter.rect_filled(card, 6.0, ink.card.gamma_multiply(0.88));
    let edge = if bog == Bog::Free { Stroke::new(1.0, ink.line) } else { Stroke::new(2.5, fill) };
    painter.rect_stroke(card, 6.0, edge, StrokeKind::Outside);
    let centre = card.left_top() + vec2(17.0, 15.0);
    painter.circle_filled(centre, 8.0, fill);
    painter.circle_stroke(centre, 8.0, Stroke::new(1.5, ink.ink));
    let font = FontId::proportional(14.0);
    painter.text(centre + vec2(16.0, 0.0), Align2::LEFT_CENTER, title, font, ink.ink);
    for (index, line) in lines.iter().enumerate() {
        let at = card.left_top() + vec2(10.0, 28.0 + 16.0 * index as f32);
        painter.text(at, Align2::LEFT_TOP, line, FontId::proportional(12.0), ink.ink);
    }
    // For a screen reader, and for tests.
    let response = ui.interact(card, ui.scope_id().with("lamp"), Sense::hover());
    let said = format!("Load: {title}");
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

fn unmeasured(why: Why) -> &'static str {
    match why {
        Why::Moved => "the throttle moved: hold it still",
        Why::NoPace(NoPace::Slow) => "it caught a rig that hardly drove",
        Why::NoPace(NoPace::Changing) => "the speed was still changing",
    }
}

fn reported(load: &Load) -> Vec<String> {
    let hides = load.masking.map(|masking| {
        format!("the speed hold hides {:.0} % of it", 100.0 * masking.clamp(0.0, 1.0))
    });
    let hidden = format!("unseen: {:.2} N m, {:.1} J", load.hidden_n_m, load.hidden_j);
    hides.into_iter().chain([hidden]).collect()
}

fn last(load: &Load) -> String {
    match load.notice_s {
        Some(notice_s) => format!("the last one: noticed after {notice_s:.2} s"),
        None if load.seen_s.is_some() => "the last one: seen, not yet acted on".into(),
        None => format!("the last one: never seen, {:.2} N m", load.hidden_n_m),
    }
}

/// Torque in the drive line beside what it stands.
fn utilisation(painter: &Painter, rect: Rect, session: &Session, ink: &Palette) {
    let rating = session.scenario().rig.gears.rating_n_m;
    let torque = session.row().map_or(0.0, |row| row.flows.shaft_n_m.abs());
    let share = torque / rating;
    let wide = 190.0_f32.min(rect.width() - 40.0);
    let bar = Rect::from_min_size(rect.left_bottom() + vec2(16.0, -22.0), vec2(wide, 9.0));
    painter.rect_filled(bar, 3.0, ink.paper.gamma_multiply(0.55));
    let mut filled = bar;
    filled.set_width(wide * share.min(1.0) as f32);
    painter.rect_filled(filled, 3.0, ink.utilisation(share));
    let words = format!("drive line {torque:.2} of {rating:.1} N m");
    let at = bar.left_top() + vec2(0.0, -3.0);
    painter.text(at, Align2::LEFT_BOTTOM, words, FontId::proportional(12.0), ink.post);
}
