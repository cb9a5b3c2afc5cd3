//! The plant as an FMU (FMI 3.0, co-simulation): bridge command in, what the rig does out. Rig and course
//! are JSON in the FMU's resources, as `pack` has read them from their files.
//!
//! Specification: Functional Mock-up Interface 3.0, fmi-standard.org. The interface to C, with all that is
//! unsafe in it, is that of the crate `fmi-export`.

use std::fs;
use std::path::Path;

use easeoff_plant::parts::bridge::Action;
use easeoff_plant::{Course, DEFAULT_STEP_S, Flows, Plant, PlantState, Rig};
use fmi::fmi3::{Fmi3Error, Fmi3Res, Fmi3Status};
use fmi_export::FmuModel;
use fmi_export::fmi3::{CSDoStepResult, Context, DefaultLoggingCategory, UserModel};

/// What the FMU is called, and its binary.
pub const IDENTIFIER: &str = "easeoff_plant";

/// The rig in the FMU's resources: a [`Rig`] as JSON.
pub const RIG: &str = "rig.json";
/// The course in the FMU's resources: a [`Course`] as JSON.
pub const COURSE: &str = "course.json";

/// The variables of the FMU, and the plant behind them.
#[derive(FmuModel, Default)]
#[model(
    description = "Pack, bridge, motor, gears, tyres and ground of a small electric vehicle; give it a duty or a brake share and it drives",
    model_exchange = false,
    co_simulation = true,
    user_model = false
)]
pub struct EaseoffPlant {
    /// Share of the bus voltage on the motor, -1 to 1; 0: not driven
    #[variable(causality = Input, variability = Continuous, start = 0.0)]
    duty: f64,
    /// Share of the shorted motor's current, 0 to 1; only where the duty is 0. With both 0 it coasts
    #[variable(causality = Input, variability = Continuous, start = 0.0)]
    brake_share: f64,
    /// Where the steering is told to be, -1 to 1
    #[variable(causality = Input, variability = Continuous, start = 0.0)]
    steer: f64,

    /// Place along the course, m
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    place_m: f64,
    /// Speed of the body, m/s
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    speed_m_s: f64,
    /// Acceleration of the body, m/s2
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    acceleration_m_s2: f64,
    /// Speed of the wheels, rad/s
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    wheel_speed_rad_s: f64,
    /// Motor current, mean of the last internal step, A
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    motor_a: f64,
    /// Current from the pack, A; where the bridge switches the mean of the last communication step
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    bus_a: f64,
    /// Voltage at the bridge, V; where the bridge switches the mean of the last communication step
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    bus_v: f64,
    /// Torque in the drive line at the wheels, N m
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    drive_line_n_m: f64,
    /// Torque of a snag against the wheels, N m
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    snag_n_m: f64,
    /// Temperature of the winding, degrees C
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    winding_c: f64,
    /// Temperature of the bridge, degrees C
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    bridge_c: f64,
    /// Charge of the pack, 0 to 1
    #[variable(causality = Output, variability = Continuous, initial = Calculated)]
    charge: f64,

    #[variable(skip = true)]
    rig: Option<Standing>,
}

/// The rig on its course.
struct Standing {
    plant: Plant,
    state: PlantState,
    /// What flowed over the last communication step, where one instant of a PWM period says little.
    means: Option<Flows>,
}

impl Standing {
    /// Reads rig and course, and places the one at the start of the other.
    fn read(folder: &Path) -> Result<Self, String> {
        let text = |name: &str| {
            let path = folder.join(name);
            fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))
        };
        let refused = |name: &str, error| format!("{name}: {error}; pack the FMU again");
        let rig: Rig = serde_json::from_str(&text(RIG)?).map_err(|error| refused(RIG, error))?;
        let course: Course =
            serde_json::from_str(&text(COURSE)?).map_err(|error| refused(COURSE, error))?;
        let plant = Plant::new(&rig, &course);
        let state = plant.at_rest(&rig, course.start_m);
        Ok(Self { plant, state, means: None })
    }
}

impl EaseoffPlant {
    fn action(&self) -> Result<Action, String> {
        let (duty, share) = (self.duty, self.brake_share);
        if !(-1.0..=1.0).contains(&duty) {
            return Err(format!("duty is {duty}; allowed is -1 to 1"));
        }
        if !(0.0..=1.0).contains(&share) {
            return Err(format!("brake_share is {share}; allowed is 0 to 1"));
        }
        match (duty != 0.0, share != 0.0) {
            (true, true) => Err(format!("duty is {duty} and brake_share {share}; one must be 0")),
            (true, false) => Ok(Action::Drive(duty)),
            (false, true) => Ok(Action::Brake(share)),
            (false, false) => Ok(Action::Coast),
        }
    }

    fn show(&mut self, folder: &Path) -> Result<(), String> {
        let action = self.action()?;
        let Standing { plant, state, means } = match &mut self.rig {
            Some(rig) => rig,
            place => place.insert(Standing::read(folder)?),
        };
        let flows = plant.flows(state, action);
        let now = state.now;
        self.place_m = now.place_m;
        self.speed_m_s = now.speed_m_s;
        self.acceleration_m_s2 = flows.rates.speed_m_s;
        self.wheel_speed_rad_s = now.wheel_rad_s;
        self.motor_a = state.mean_a();
        let bus = means.as_ref().unwrap_or(&flows);
        (self.bus_a, self.bus_v) = (bus.bus_a, bus.bus_v);
        self.drive_line_n_m = flows.shaft_n_m;
        self.snag_n_m = flows.snag_n_m;
        self.winding_c = now.winding_c;
        self.bridge_c = now.bridge_c;
        self.charge = now.charge;
        Ok(())
    }

    fn advance(&mut self, seconds: f64) -> Result<(), String> {
        let (action, steer) = (self.action()?, self.steer);
        if !(-1.0..=1.0).contains(&steer) {
            return Err(format!("steer is {steer}; it must be from -1 to 1"));
        }
        let Some(Standing { plant, state, means }) = &mut self.rig else {
            return Err("it steps before it is initialized".into());
        };
        if !(seconds > 0.0 && seconds.is_finite()) {
            return Err(format!("the step is {seconds} s; it must be more than 0"));
        }
        state.steer(steer);
        let most_step_s = DEFAULT_STEP_S.min(plant.quickest().seconds);
        let flows = plant.over(state, action, seconds, most_step_s);
        *means = plant.switches().then_some(flows);
        match state.now.lost_field() {
            None => Ok(()),
            Some(field) => Err(format!("the run left all believable numbers in {field}")),
        }
    }
}

fn refuse(context: &dyn Context<EaseoffPlant>, why: &str) -> Fmi3Error {
    let category = DefaultLoggingCategory::default();
    context.log(Fmi3Status::from(Fmi3Error::Error), category, format_args!("{why}"));
    Fmi3Error::Error
}

impl UserModel for EaseoffPlant {
    type LoggingCategory = DefaultLoggingCategory;

    /// Every run begins with the rig at its start, also after a reset.
    fn configurate(&mut self, context: &dyn Context<Self>) -> Result<(), Fmi3Error> {
        self.rig = None;
        self.calculate_values(context).map(|_| ())
    }

    fn calculate_values(&mut self, context: &dyn Context<Self>) -> Result<Fmi3Res, Fmi3Error> {
        self.show(context.resource_path()).map_err(|why| refuse(context, &why))?;
        Ok(Fmi3Res::OK)
    }

    fn do_step(
        &mut self,
        context: &mut dyn Context<Self>,
        from_s: f64,
        seconds: f64,
        _never_back: bool,
    ) -> Result<CSDoStepResult, Fmi3Error> {
        self.advance(seconds).map_err(|why| refuse(context, &why))?;
        let to_s = from_s + seconds;
        context.set_time(to_s);
        Ok(CSDoStepResult::completed(to_s))
    }
}

#[allow(
    missing_docs,
    reason = "the functions are the standard's, and the macro writes no words about them"
)]
mod exported {
    use super::EaseoffPlant;

    fmi_export::export_fmu!(EaseoffPlant);
}
