//! The rig in steady motion: which speed, current and heat a duty comes to against a load.
//!
//! No equations of its own: the plant's parts are asked, and what makes their rates zero is looked
//! for. What the parts say is straight in the current, so two questions tell it; in speed it falls,
//! so it is halved in.

use crate::heating::Temperatures;
use crate::parts::bridge::{Action, Bridge, Circuit};
use crate::parts::driveline::DriveLine;
use crate::parts::friction::{Bristle, DryFriction};
use crate::parts::motor_kind::{AnyMotor, Machine};
use crate::parts::pack::Pack;
use crate::plant::{GRAVITY, air_n};
use crate::rig::Rig;

/// The parts of a rig that a steady state needs.
#[derive(Clone, Debug)]
pub struct Steady {
    pack: Pack,
    motor: AnyMotor,
    bridge: Bridge,
    line: DriveLine,
    dry: DryFriction,
    charge: f64,
}

/// What a pull asks of the pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pull {
    /// Just begun: only the immediate resistance acts.
    AtOnce,
    /// Lasting: the delayed resistance has come in.
    Lasting,
}

/// A steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Speed of the wheels \[rad/s\].
    pub wheel_rad_s: f64,
    /// Speed of the motor \[rad/s\].
    pub motor_rad_s: f64,
    /// Motor current \[A\].
    pub motor_a: f64,
    /// Pack current \[A\].
    pub bus_a: f64,
    /// Voltage at the bridge \[V\].
    pub bus_v: f64,
}

/// What stands against a rig on a constant slope.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// Slope, uphill positive \[degrees\].
    pub slope_deg: f64,
    /// Rolling resistance coefficient.
    pub rolling: f64,
}

impl Way {
    /// Torque at the wheels that keeps a speed \[N m\]:
    /// `r (m g sin a + c_r m g cos a + rho/2 c A v^2)`.
    pub fn wheel_n_m(&self, rig: &Rig, wheel_rad_s: f64) -> f64 {
        let (vehicle, radius_m) = (&rig.vehicle, rig.wheels.radius_m);
        let slope = self.slope_deg.to_radians();
        let weight_n = vehicle.mass_kg * GRAVITY;
        let ground_n = weight_n * (libm::sin(slope) + self.rolling * libm::cos(slope));
        radius_m * (ground_n + air_n(vehicle.drag_area_m2, wheel_rad_s * radius_m))
    }
}

impl Steady {
    /// From the rig's data, the pack charged as it says.
    pub fn new(rig: &Rig) -> Self {
        let motor = AnyMotor::new(&rig.motor);
        Self {
            pack: Pack::new(&rig.pack),
            bridge: Bridge::new(&rig.bridge, &rig.vehicle),
            line: DriveLine::new(&rig.gears),
            dry: DryFriction::new(motor.friction_n_m(), motor.inertia_kg_m2()),
            motor,
            charge: rig.pack.charge,
        }
    }

    /// Current and voltage that a duty comes to at a motor speed.
    pub fn at_speed(&self, duty: f64, motor_rad_s: f64, at: &Temperatures, pull: Pull) -> Point {
        let ask = |current_a: f64| {
            let action = Action::Drive(duty);
            let circuit = self.circuit(motor_rad_s, at);
            let bus_a = circuit.conducting(action, current_a, 1.0).bus_a;
            let delayed_v = match pull {
                Pull::AtOnce => 0.0,
                Pull::Lasting => self.pack.steady_delayed_v(bus_a),
            };
            let open_v = self.pack.open_v(self.charge, delayed_v);
            Circuit { open_v, ..circuit }.conducting(action, current_a, 1.0)
        };
        let (none, one) = (ask(0.0).current_rate, ask(1.0).current_rate);
        let motor_a = none / (none - one);
        let flows = ask(motor_a);
        Point {
            wheel_rad_s: motor_rad_s / self.line.ratio,
            motor_rad_s,
            motor_a,
            bus_a: flows.bus_a,
            bus_v: flows.bus_v,
        }
    }

    /// Torque that arrives at the wheels, turning steadily \[N m\]; 0 where the motor's own friction
    /// takes all.
    pub fn wheel_n_m(&self, motor_a: f64, motor_rad_s: f64, at: &Temperatures) -> f64 {
        let motor_n_m = self.shaft_n_m(motor_a, at) - self.drag_n_m(motor_rad_s);
        motor_n_m.max(0.0) / self.line.motor_load(1.0, Bristle::sliding(1.0))
    }

    /// Current that a torque at the wheels takes \[A\].
    pub fn motor_a(&self, wheel_n_m: f64, motor_rad_s: f64, at: &Temperatures) -> f64 {
        let load_n_m = self.line.motor_load(wheel_n_m, Bristle::sliding(1.0));
        (load_n_m + self.drag_n_m(motor_rad_s)) / self.motor.constant_at(at.case_c)
    }

    /// Torque of the motor's magnets at a current \[N m\].
    pub fn shaft_n_m(&self, motor_a: f64, at: &Temperatures) -> f64 {
        self.motor.constant_at(at.case_c) * motor_a
    }

    /// The steady speed at a duty against a load at the wheels \[N m\] that does not fall with their
    /// speed \[rad/s\]; `None` where it does not get off the spot.
    pub fn under(
        &self,
        duty: f64,
        at: &Temperatures,
        load_n_m: impl Fn(f64) -> f64,
    ) -> Option<Point> {
        let spare = |motor_rad_s: f64| {
            let point = self.at_speed(duty, motor_rad_s, at, Pull::Lasting);
            self.shaft_n_m(point.motor_a, at)
                - self.drag_n_m(motor_rad_s)
                - self.line.motor_load(load_n_m(point.wheel_rad_s), Bristle::sliding(1.0))
        };
        if spare(0.0) <= 0.0 {
            return None;
        }
        let open_v = self.pack.open_v(self.charge, 0.0);
        let (mut slow, mut fast) = (0.0, open_v / self.motor.constant_at(at.case_c));
        for _ in 0..60 {
            let middle = (slow + fast) / 2.0;
            *(if spare(middle) > 0.0 { &mut slow } else { &mut fast }) = middle;
        }
        Some(self.at_speed(duty, slow, at, Pull::Lasting))
    }

    /// Heat of a current in winding and bridge \[W\], at full duty.
    pub fn heat_w(&self, motor_a: f64, at: &Temperatures) -> [f64; 2] {
        let square = motor_a * motor_a;
        [
            square * self.motor.resistance_at(at.winding_c),
            square * self.bridge.resistance_at(at.bridge_c),
        ]
    }

    fn drag_n_m(&self, motor_rad_s: f64) -> f64 {
        self.motor.drag_n_m(&self.dry, Bristle::sliding(1.0), motor_rad_s)
    }

    fn circuit(&self, motor_rad_s: f64, at: &Temperatures) -> Circuit {
        Circuit {
            open_v: self.pack.open_v(self.charge, 0.0),
            pack_ohm: self.pack.resistance_ohm,
            motor_ohm: self.motor.resistance_at(at.winding_c)
                + self.bridge.resistance_at(at.bridge_c),
            inductance_h: self.motor.inductance_h(),
            emf_v: self.motor.constant_at(at.case_c) * motor_rad_s,
            synchronous: self.bridge.synchronous,
            beside_a: 0.0,
            feed_a: None,
        }
    }
}
