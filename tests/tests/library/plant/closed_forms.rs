//! The plant against what a sheet of paper says: algebra, no publication claimed.

use easeoff_plant::course::{AfterBreak, Course, Snag, Surface};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::rig::Rig;
use easeoff_plant::{GRAVITY, Plant, PlantState};
use easeoff_sim::files::demo;
use easeoff_tests::near;

const STEP_S: f64 = 0.25e-3;

/// A long even slope, uphill positive.
fn slope(angle: f64, on: Surface) -> Course {
    Course {
        profile_m: vec![[0.0, 0.0], [40.0 * libm::cos(angle), 40.0 * libm::sin(angle)]],
        rough: None,
        start_m: 20.0,
        surfaces: vec![on],
        snags: Vec::new(),
    }
}

fn on(grip: f64, rolling: f64) -> Surface {
    // The same sliding: the rig begins with slack tyres and lurches into them.
    Surface { from_m: 0.0, grip, grip_sliding: grip, rolling }
}

fn after(rig: &Rig, course: &Course, action: Action, begin_m_s: f64, seconds: f64) -> PlantState {
    let plant = Plant::new(rig, course);
    let mut state = plant.at_rest(rig, course.start_m);
    state.now.speed_m_s = begin_m_s;
    state.now.wheel_rad_s = begin_m_s / rig.wheels.radius_m;
    state.now.motor.motor_rad_s = state.now.wheel_rad_s * rig.gears.ratio();
    for _ in 0..(seconds / STEP_S) as u32 {
        plant.advance(&mut state, action, STEP_S);
    }
    state
}

/// Friction torque of the motor alone, seen at its shaft \[N m\].
fn dry_n_m(rig: &Rig) -> f64 {
    rig.motor.constant() * rig.motor.no_load_a * (1.0 - rig.motor.viscous_share)
}

/// Coasting, the rig is held by rolling resistance and by the motor's friction through the gears,
/// which lose a share on the way: `m g (sin - c cos) r = T_c G / eta_back` at the steepest.
#[test]
fn friction_alone_holds_up_to_its_angle_and_no_further() {
    let rig = demo::rig().unwrap();
    let rolling = 0.02;
    let held_n = dry_n_m(&rig) * rig.gears.ratio()
        / (rig.gears.efficiency_driven_back * rig.wheels.radius_m);
    let share = held_n / (rig.vehicle.mass_kg * GRAVITY);
    // sin a - c cos a = share, solved by fixed-point iteration.
    let mut steepest = libm::asin(share);
    for _ in 0..50 {
        steepest = libm::asin(share + rolling * libm::cos(steepest));
    }
    println!("holds up to {:.2} degrees", steepest.to_degrees());
    let moved = |angle: f64, from_s: f64, to_s: f64| {
        let course = slope(-angle, on(0.9, rolling));
        let place = |seconds| after(&rig, &course, Action::Coast, 0.0, seconds).now.place_m;
        place(to_s) - place(from_s)
    };
    // Once it has settled into its play and bristles it stands; so near the limit the bristles still
    // give a micrometre in the first minute.
    near(moved(0.97 * steepest, 2.0, 62.0), 0.0, 5.0e-6);
    near(moved(0.5 * steepest, 2.0, 62.0), 0.0, 1.0e-6);
    assert!(moved(1.03 * steepest, 2.0, 4.0) > 0.01);
}

/// Wheels that the drive line holds let go where the slope's tangent is the peak friction.
#[test]
fn tyres_let_go_where_the_tangent_is_their_friction() {
    let mut rig = demo::rig().unwrap();
    // A motor that nothing turns.
    (rig.motor.no_load_a, rig.motor.viscous_share) = (400.0, 0.0);
    let grip = 0.6;
    let moved = |angle: f64, from_s: f64, to_s: f64| {
        let course = slope(-angle, on(grip, 0.0));
        let place = |seconds| after(&rig, &course, Action::Coast, 0.0, seconds).now.place_m;
        place(to_s) - place(from_s)
    };
    let steepest = libm::atan(grip);
    // It falls into its play and slides until the little that is left of the friction has stopped it.
    assert!(moved(0.98 * steepest, 8.0, 12.0) < 1.0e-3);
    assert!(moved(1.02 * steepest, 8.0, 12.0) > 0.5);
}

/// On the flat a coasting rig rolls out to `v^2 / 2a`. The wheels turn the motor through the gears:
/// `m a = c m g + T / r`, `T = (T_c - J_m G a/r) G / eta_back`; the wheels' inertia counts as
/// `J_w / r^2` of mass.
#[test]
fn coasting_rolls_out_as_far_as_friction_says() {
    let mut rig = demo::rig().unwrap();
    rig.vehicle.drag_area_m2 = 0.0;
    rig.motor.viscous_share = 0.0;
    // So light a rotor that the wheels drive it all the way.
    rig.motor.rotor_inertia_kg_m2 = 1.0e-6;
    let (rolling, speed) = (0.02, 1.5);
    let (mass, radius) = (rig.vehicle.mass_kg, rig.wheels.radius_m);
    let geared = rig.gears.ratio() / (rig.gears.efficiency_driven_back * radius);
    let held_n = rolling * mass * GRAVITY + dry_n_m(&rig) * geared;
    let moved_kg = mass
        + rig.wheels.inertia_kg_m2 / (radius * radius)
        + rig.motor.rotor_inertia_kg_m2 * rig.gears.ratio() / radius * geared;
    let exact_m = speed * speed * moved_kg / (2.0 * held_n);
    let course = slope(0.0, on(0.9, rolling));
    let end = after(&rig, &course, Action::Coast, speed, 6.0).now;
    println!("rolls {:.4} m, on paper {exact_m:.4} m", end.place_m - 20.0);
    near(end.speed_m_s, 0.0, 1.0e-6);
    // The drive line's play is crossed once, free: two degrees of wheel, 2 mm.
    near(end.place_m - 20.0, exact_m, 4.0e-3);
}

/// A step is climbed on an arc: at its foot the body's way rises by the front axle's share of
/// `tan(phi)`, `cos(phi) = (r - h) / r`, and a rig that crawls gets up it while the tyres hold on that
/// slope: `share tan(phi) < grip`. The motor must only be strong enough.
#[test]
fn a_wheel_climbs_the_steps_its_tyres_allow() {
    let mut rig = demo::rig().unwrap();
    // Balanced, low and slow: no load moves, no run-up helps, and torque in plenty.
    rig.vehicle.cg_ahead_of_rear_m = rig.vehicle.wheelbase_m / 2.0;
    rig.vehicle.cg_height_m = 1.0e-3;
    rig.motor.kv_rpm_per_v = 300.0;
    let grip: f64 = 0.35;
    let radius = rig.wheels.radius_m;
    let highest = radius * (1.0 - libm::cos(libm::atan(grip / 0.5)));
    let climbed = |height: f64| {
        let course = Course {
            profile_m: vec![[0.0, 0.0], [1.0, 0.0], [1.0, height], [3.0, height]],
            rough: None,
            start_m: 0.7,
            surfaces: vec![on(grip, 0.0)],
            snags: Vec::new(),
        };
        let plant = Plant::new(&rig, &course);
        let state = after(&rig, &course, Action::Drive(0.06), 0.0, 25.0);
        plant.flows(&state, Action::Coast).height_m
    };
    println!("steps up to {:.1} mm", 1.0e3 * highest);
    near(climbed(0.9 * highest), 0.9 * highest, 1.0e-4);
    // The grid rounds the corner at the foot a little.
    let higher = climbed(1.35 * highest);
    assert!(higher < 0.7 * highest, "{higher}");
}

/// A plane is a plane, whether its profile has two points or many, on the ground's grid or beside it.
#[test]
fn points_on_a_plane_leave_it_plane() {
    let rig = demo::rig().unwrap();
    let angle: f64 = -0.35;
    let point = |index: u32| {
        let along = 0.01 * f64::from(index) + 1.0e-4 * f64::from(index % 7);
        [along * libm::cos(angle), along * libm::sin(angle)]
    };
    let course = Course { profile_m: (0..200).map(point).collect(), ..slope(angle, on(0.8, 0.02)) };
    let plant = Plant::new(&rig, &course);
    for index in 0..1_800 {
        let sine = plant.ground.at(0.1 + 1.0e-3 * f64::from(index)).sine;
        // Between its points the grid's circles lie up to 3 micrometres low.
        near(sine, libm::sin(angle), 2.0e-3);
    }
}

/// A rig whose pack and motor stay as they are, without rolling or air.
fn cold() -> Rig {
    let mut rig = demo::rig().unwrap();
    (rig.motor.winding_j_per_k, rig.motor.case_j_per_k) = (1.0e5, 1.0e6);
    (rig.bridge.heat_j_per_k, rig.pack.capacity_ah) = (1.0e5, 200.0);
    (rig.pack.delayed_ohm_per_cell, rig.vehicle.drag_area_m2) = (0.0, 0.0);
    rig
}

/// Pack voltage at rest, and all resistance in the motor's circuit at full duty.
fn supply(rig: &Rig) -> (f64, f64) {
    let plant = Plant::new(rig, &slope(0.0, on(0.9, 0.0)));
    let motor_ohm = rig.motor.resistance_ohm + rig.bridge.resistance_ohm;
    (plant.pack.open_v(rig.pack.charge, 0.0), motor_ohm + plant.pack.resistance_ohm)
}

/// Running free the motor's current only turns its own friction: `K (V - K w) / R = T_c + b w`.
#[test]
fn top_speed_is_where_the_motor_only_turns_itself() {
    let rig = cold();
    let (volts, ohm) = supply(&rig);
    let motor = Motor::new(&rig.motor);
    let exact = (motor.constant * volts / ohm - motor.friction_n_m)
        / (motor.viscous_n_m_s + motor.constant * motor.constant / ohm);
    let end = after(&rig, &slope(0.0, on(0.9, 0.0)), Action::Drive(1.0), 0.0, 5.0).now;
    let exact_m_s = exact / rig.gears.ratio() * rig.wheels.radius_m;
    println!("runs {:.4} m/s, on paper {exact_m_s:.4}", end.speed_m_s);
    near(end.speed_m_s, exact_m_s, 1.0e-4 * exact_m_s);
}

/// Wheels held fast take `G K d V / R`, with `d^2` of the pack's resistance in R. Friction could hold more or
/// less than that, by the way the drive line was wound up, so there is none.
#[test]
fn stall_torque_is_what_the_resistances_let_through() {
    let mut rig = cold();
    (rig.gears.efficiency_driving, rig.gears.efficiency_driven_back) = (1.0, 1.0);
    rig.motor.no_load_a = 0.0;
    let plant = Plant::new(&rig, &slope(0.0, on(0.9, 0.0)));
    let (duty, motor) = (0.5, Motor::new(&rig.motor));
    let (volts, _) = supply(&rig);
    let ohm = rig.motor.resistance_ohm
        + rig.bridge.resistance_ohm
        + duty * duty * plant.pack.resistance_ohm;
    let exact = motor.constant * duty * volts / ohm * rig.gears.ratio();
    let mut course = slope(0.0, on(5.0, 0.0));
    let then = AfterBreak::Stays;
    course.snags = vec![Snag { at_m: 20.001, stiffness_n_m_per_rad: 40.0, break_n_m: 1.0e3, then }];
    let plant = Plant::new(&rig, &course);
    let end = after(&rig, &course, Action::Drive(duty), 0.0, 5.0);
    let held = plant.flows(&end, Action::Drive(duty)).shaft_n_m;
    println!("pulls {held:.4} N m, on paper {exact:.4}");
    near(end.now.speed_m_s, 0.0, 1.0e-6);
    near(held, exact, 2.0e-3 * exact);
}

/// M18. Modelica Standard Library, text of Translational.Components.Vehicle: turning parts count as mass,
/// `J / r^2`, but never as weight. Rolling down without any loss: `a = m g sin / (m + (J_w + G^2 J_m) / r^2)`.
#[test]
fn m18_turning_parts_are_inert_but_weigh_nothing() {
    let mut rig = cold();
    (rig.motor.no_load_a, rig.gears.backlash_deg) = (0.0, 0.0);
    (rig.gears.efficiency_driving, rig.gears.efficiency_driven_back) = (1.0, 1.0);
    let (mass, radius, ratio) = (rig.vehicle.mass_kg, rig.wheels.radius_m, rig.gears.ratio());
    let turning = rig.wheels.inertia_kg_m2 + ratio * ratio * rig.motor.rotor_inertia_kg_m2;
    let angle = 5.0_f64.to_radians();
    let exact = mass * GRAVITY * libm::sin(angle) / (mass + turning / (radius * radius));
    let speed = |seconds| {
        after(&rig, &slope(-angle, on(0.9, 0.0)), Action::Coast, 0.0, seconds).now.speed_m_s
    };
    // After the start, in which drive line and tyres take their deflection and swing.
    let found = (speed(4.0) - speed(1.0)) / 3.0;
    println!("{found:.5} m/s^2, on paper {exact:.5}");
    near(found, exact, 1.0e-3 * exact);
}
