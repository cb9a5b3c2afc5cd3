//! One pinion on a rig, in numbers.

use easeoff_plant::GRAVITY;
use easeoff_plant::ground::Ground;
use easeoff_plant::heating::{Temperatures, heating};
use easeoff_plant::rig::{Mesh, Rig};
use easeoff_plant::steady::{Point, Pull, Steady, Way};
use serde::Serialize;

use super::mesh::{Pair, least_by_rack, least_with_gear};
use super::strength::{form, stress_mpa};
use crate::files::scenario::Scenario;

/// What the pinions are tried on.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Trial {
    /// Slope of the climb \[degrees\].
    pub grade_deg: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
    /// Friction of the tyres.
    pub grip: f64,
    /// The tune's limit on the motor's current \[A\].
    pub drive_a: Option<f64>,
}

impl Trial {
    /// What a scene asks of a pinion: its worst ground, the tune's limit, and a grade \[degrees\], or
    /// the course's steepest that is as long as the rig's wheelbase.
    pub fn of(scenario: &Scenario, grade_deg: Option<f64>) -> Self {
        let Scenario { rig, course, tune, .. } = scenario;
        let steepest = || Ground::new(course, rig).steepest_deg(rig.vehicle.wheelbase_m);
        Self {
            grade_deg: grade_deg.unwrap_or_else(steepest),
            rolling: course.most_rolling(),
            grip: course.least_grip(),
            drive_a: tune.limits.drive_a.map(f64::from),
        }
    }
}

/// One pinion.
#[derive(Clone, Debug, Serialize)]
pub struct Pinion {
    /// Its teeth.
    pub teeth: u32,
    /// Motor turns per wheel turn.
    pub ratio: f64,
    /// Surface speed of the wheels in the air at full duty \[m/s\].
    pub full_m_s: f64,
    /// The same at half duty \[m/s\].
    pub half_m_s: f64,
    /// What one tooth more adds to the full speed \[%\].
    pub tooth_more_percent: f64,
    /// Torque at the wheels held fast at full duty, within the tune's current limit \[N m\].
    pub launch_n_m: f64,
    /// The same without the limit \[N m\].
    pub stall_n_m: f64,
    /// Motor current then \[A\].
    pub stall_a: f64,
    /// Torque at the wheels at which the tyres slip on the grade \[N m\].
    pub slip_n_m: f64,
    /// Torque at the wheels that the grade takes at walking pace \[N m\].
    pub grade_n_m: f64,
    /// The climb at full duty.
    pub climb: Climb,
    /// Speed on the level at full duty \[m/s\]; `None`: it stands.
    pub level_m_s: Option<f64>,
    /// Time from the rig's charge to empty then \[min\].
    pub runtime_min: Option<f64>,
    /// What the teeth do; `None` without `[mesh]`.
    pub teeth_meet: Option<Teeth>,
}

/// A climb at full duty, and how warm it makes the rig from cold.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Climb {
    /// Speed \[m/s\]; `None`: it stands, and the current is that of the wheels held fast.
    pub speed_m_s: Option<f64>,
    /// Motor current \[A\].
    pub motor_a: f64,
    /// Pack current \[A\].
    pub bus_a: f64,
    /// Heat in the winding when cold \[W\].
    pub winding_w: f64,
    /// Where the winding's temperature ends, or its limit if that comes first \[degrees C\].
    pub winding_c: f64,
    /// Until winding or bridge is at its limit \[s\]; `None`: never.
    pub limit_s: Option<f64>,
}

/// A pinion and the spur gear.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Teeth {
    /// Exact centre distance \[mm\].
    pub centre_mm: f64,
    /// Centre distance the motor can be set to, nearest to the wanted one \[mm\].
    pub set_mm: f64,
    /// Backlash along the pitch circle there \[mm\]; negative: they bind.
    pub backlash_mm: f64,
    /// The same at the wheels \[degrees\].
    pub backlash_wheel_deg: f64,
    /// How far the slots end short of, or beyond, the wanted distance \[mm\]; 0: it fits.
    pub slot_miss_mm: f64,
    /// Contact ratio there.
    pub contact_ratio: f64,
    /// Least teeth that a rack does not undercut.
    pub least_by_rack: f64,
    /// Least teeth that this spur gear's tips leave alone.
    pub least_with_spur: f64,
    /// Bending stress of pinion and spur gear, the greater of launch and climb \[MPa\].
    pub stress_mpa: [Option<f64>; 2],
}

impl Pinion {
    /// A pinion on a rig instead of its own.
    pub fn on(rig: &Rig, teeth: u32, trial: &Trial) -> Self {
        let rig = with_pinion(rig, teeth);
        let (steady, cold) = (Steady::new(&rig), Temperatures::cold(&rig));
        let radius_m = rig.wheels.radius_m;
        let full_m_s = free_m_s(&rig, 1.0);
        let one_more = free_m_s(&with_pinion(&rig, teeth + 1), 1.0);
        let stall = steady.at_speed(1.0, 0.0, &cold, Pull::AtOnce);
        let limited_a = trial.drive_a.map_or(stall.motor_a, |limit_a| stall.motor_a.min(limit_a));
        let launch_n_m = steady.wheel_n_m(limited_a, 0.0, &cold);

        let level = Way { slope_deg: 0.0, rolling: trial.rolling };
        let on_level = steady.under(1.0, &cold, |speed| level.wheel_n_m(&rig, speed));
        let grade = Way { slope_deg: trial.grade_deg, ..level };
        let full_c = rig.pack.charge * rig.pack.capacity_ah * 3_600.0;
        let weight_n = rig.vehicle.mass_kg * GRAVITY;
        let slip_n = trial.grip * weight_n * libm::cos(trial.grade_deg.to_radians());
        let climb = climb(&rig, &steady, grade, limited_a);
        let teeth_meet = rig.mesh.map(|mesh| {
            let motor_n_m = steady.shaft_n_m(limited_a, &cold);
            let climbing_n_m = steady.shaft_n_m(climb.motor_a, &cold);
            let motor_rad_s = climb.speed_m_s.unwrap_or(0.0) / radius_m * rig.gears.ratio();
            Teeth::meeting(&rig, &mesh, [(motor_n_m, 0.0), (climbing_n_m, motor_rad_s)])
        });
        Self {
            teeth,
            ratio: rig.gears.ratio(),
            full_m_s,
            half_m_s: free_m_s(&rig, 0.5),
            tooth_more_percent: 100.0 * (one_more / full_m_s - 1.0),
            launch_n_m,
            stall_n_m: steady.wheel_n_m(stall.motor_a, 0.0, &cold),
            stall_a: stall.motor_a,
            slip_n_m: slip_n * radius_m,
            grade_n_m: grade.wheel_n_m(&rig, 0.0),
            climb,
            level_m_s: on_level.map(|point| point.wheel_rad_s * radius_m),
            runtime_min: on_level.map(|point| full_c / point.bus_a / 60.0),
            teeth_meet,
        }
    }
}

/// The rig with another pinion.
fn with_pinion(rig: &Rig, teeth: u32) -> Rig {
    let mut rig = rig.clone();
    rig.gears.pinion_teeth = teeth;
    rig
}

/// Surface speed of the wheels in the air \[m/s\].
pub fn free_m_s(rig: &Rig, duty: f64) -> f64 {
    let found = Steady::new(rig).under(duty, &Temperatures::cold(rig), |_| 0.0);
    found.map_or(0.0, |point| point.wheel_rad_s * rig.wheels.radius_m)
}

/// A climb at full duty. Its torque stays as it is when cold; what it costs rises as magnets and
/// windings warm. The current limit takes as much duty as it must.
fn climb(rig: &Rig, steady: &Steady, way: Way, limited_a: f64) -> Climb {
    let cold = Temperatures::cold(rig);
    let at_duty = |duty| steady.under(duty, &cold, |speed| way.wheel_n_m(rig, speed));
    let within = |found: &Option<Point>| found.is_none_or(|point| point.motor_a <= limited_a);
    let mut found = at_duty(1.0);
    if !within(&found) {
        let (mut less, mut more) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = (less + more) / 2.0;
            *(if within(&at_duty(middle)) { &mut less } else { &mut more }) = middle;
        }
        found = at_duty(less);
    }
    let motor_a = found.map_or(limited_a, |point| point.motor_a);
    let wheel_n_m = found.map(|point| (way.wheel_n_m(rig, point.wheel_rad_s), point.motor_rad_s));
    let current_a = |at: &Temperatures| match wheel_n_m {
        Some((n_m, motor_rad_s)) => steady.motor_a(n_m, motor_rad_s, at).min(limited_a),
        None => motor_a,
    };
    let heating = heating(rig, cold, |at| steady.heat_w(current_a(at), at));
    Climb {
        speed_m_s: found.map(|point| point.wheel_rad_s * rig.wheels.radius_m),
        motor_a,
        bus_a: found.map_or(0.0, |point| point.bus_a),
        winding_w: steady.heat_w(motor_a, &cold)[0],
        winding_c: heating.end.winding_c,
        limit_s: heating.limit_s,
    }
}

impl Teeth {
    /// The rig's pinion and spur gear under motor torques \[N m\] at motor speeds \[rad/s\].
    fn meeting(rig: &Rig, mesh: &Mesh, loads: [(f64, f64); 2]) -> Self {
        let (pinion, spur) = (rig.gears.pinion_teeth, rig.gears.spur_teeth);
        let pair = Pair::new(mesh, pinion, spur);
        let wanted_mm = pair.centre_mm() + mesh.centre_extra_mm;
        let set_mm = mesh.slot_mm.map_or(wanted_mm, |[least, most]| wanted_mm.max(least).min(most));
        let backlash_mm = if set_mm < pair.centre_mm() {
            // Nearer than exact they bind; the formula for small errors says by how much.
            2.0 * libm::tan(pair.pressure_rad) * (set_mm - pair.centre_mm())
        } else {
            pair.backlash_mm(set_mm)
        };
        let stress = |teeth: u32| {
            let (face_mm, form) = mesh.face_width_mm.zip(form(teeth, mesh.pressure_angle_deg))?;
            let pitch_m = pair.pitch_mm(0) * 1.0e-3;
            let under = loads.map(|(n_m, rad_s)| {
                stress_mpa(n_m / pitch_m, rad_s * pitch_m, face_mm, mesh.module_mm, form)
            });
            Some(under[0].max(under[1]))
        };
        let wheel_rad = backlash_mm / pair.pitch_mm(1) / rig.gears.internal_ratio;
        Self {
            centre_mm: pair.centre_mm(),
            set_mm,
            backlash_mm,
            backlash_wheel_deg: wheel_rad.to_degrees(),
            slot_miss_mm: set_mm - wanted_mm,
            contact_ratio: pair.contact_ratio(set_mm.max(pair.centre_mm())),
            least_by_rack: least_by_rack(pair.pressure_rad),
            least_with_spur: least_with_gear(
                pair.pressure_rad,
                f64::from(spur) / f64::from(pinion),
            ),
            stress_mpa: [stress(pinion), stress(spur)],
        }
    }
}
