//! The rig file, key by key.

use easeoff_plant::rig::{
    Board, BridgeData, Gears, Mesh, MotorData, PINION_TEETH, POUCH_CELL_OCV, PackData, Rig,
    SensorData, Steering, Vehicle, Wheels,
};
use easeoff_plant::wire_gauge;

use crate::files::document::Document;
use crate::files::mistake::{Refusal, Source};
use crate::files::reader::{Asked, Table};

/// Thermal classes of insulation and the temperature each stands \[degrees C\] (IEC 60085).
const INSULATION_CLASSES: [(&str, f64); 6] =
    [("A", 105.0), ("E", 120.0), ("B", 130.0), ("F", 155.0), ("H", 180.0), ("N", 200.0)];

/// Grades of neodymium magnets by the letters at their end, and the temperature each stands
/// \[degrees C\] (common practice, no source: lists differ on UH and EH).
const MAGNET_GRADES: [(&str, f64); 7] = [
    ("plain", 80.0),
    ("M", 100.0),
    ("H", 120.0),
    ("SH", 150.0),
    ("UH", 180.0),
    ("EH", 200.0),
    ("AH", 220.0),
];

/// Reads a rig file.
///
/// # Errors
/// Every mistake in it.
pub fn read(source: &Source) -> Result<Rig, Refusal> {
    read_asked(source).map(|(rig, _)| rig)
}

/// Reads a rig file; with the rig, every number its file may hold, and its range.
///
/// # Errors
/// As [`read`].
pub fn read_asked(source: &Source) -> Result<(Rig, Vec<Asked>), Refusal> {
    let document = Document::parse(source)?;
    let rig = {
        let top = document.top();
        let mesh = top.has("mesh").then(|| mesh(&top.table("mesh")));
        let steering = top.has("steering").then(|| steering(&top.table("steering")));
        Rig {
            vehicle: vehicle(&top.table("vehicle")),
            wheels: wheels(&top.table("wheels")),
            gears: gears(&top.table("gears")),
            mesh,
            motor: motor(&top.table("motor")),
            bridge: bridge(&top.table("bridge")),
            pack: pack(&top.table("pack")),
            steering,
            board: board(&top.optional_table("board")),
            sensors: sensors(&top.optional_table("sensors")),
        }
    };
    let asked = document.asked();
    document.finish((rig, asked))
}

fn vehicle(table: &Table<'_>) -> Vehicle {
    let wheelbase_m = table.number("wheelbase_m", 0.02..=5.0);
    let half = wheelbase_m / 2.0;
    let vehicle = Vehicle {
        mass_kg: table.number("mass_kg", 0.05..=500.0),
        wheelbase_m,
        cg_height_m: table.number("cg_height_m", 0.0..=2.0),
        cg_ahead_of_rear_m: table.number_or("cg_ahead_of_rear_m", 0.001..=5.0, half),
        drag_area_m2: table.number_or("drag_area_m2", 0.0..=5.0, 0.0),
        air_c: table.number_or("air_c", -40.0..=60.0, 20.0),
    };
    if vehicle.cg_ahead_of_rear_m >= wheelbase_m {
        table.contradiction(
            "cg_ahead_of_rear_m",
            format!(
                "vehicle.cg_ahead_of_rear_m is {}, not behind the front axle at {wheelbase_m}",
                vehicle.cg_ahead_of_rear_m
            ),
            "the centre of gravity must lie between the axles, or the rig falls over",
        );
    }
    vehicle
}

fn wheels(table: &Table<'_>) -> Wheels {
    Wheels {
        radius_m: table.number("radius_m", 0.005..=0.5),
        inertia_kg_m2: table.number("inertia_kg_m2", 1.0e-7..=10.0),
        tyre_stiffness_per_m: table.number_or("tyre_stiffness_per_m", 20.0..=1_000.0, 200.0),
        tyre_damping_s_per_m: table.number_or("tyre_damping_s_per_m", 0.0..=5.0, 0.5),
    }
}

fn gears(table: &Table<'_>) -> Gears {
    let gears = Gears {
        pinion_teeth: table.whole("pinion_teeth", PINION_TEETH),
        spur_teeth: table.whole("spur_teeth", 5..=400),
        internal_ratio: table.number_or("internal_ratio", 0.1..=500.0, 1.0),
        efficiency_driving: table.number("efficiency_driving", 0.2..=1.0),
        efficiency_driven_back: table.number("efficiency_driven_back", 0.05..=1.0),
        stiffness_n_m_per_rad: table.number("stiffness_n_m_per_rad", 0.1..=1.0e5),
        damping_n_m_s_per_rad: table.number("damping_n_m_s_per_rad", 0.0..=1.0e3),
        backlash_deg: table.number_or("backlash_deg", 0.0..=30.0, 0.0),
        rating_n_m: table.number("rating_n_m", 0.01..=1.0e4),
    };
    if !(1.0..=500.0).contains(&gears.ratio()) {
        table.contradiction(
            "internal_ratio",
            format!(
                "spur / pinion * internal_ratio is {}; allowed is 1 to 500 motor turns per wheel turn",
                gears.ratio()
            ),
            "check the teeth and the internal ratio",
        );
    }
    gears
}

fn mesh(table: &Table<'_>) -> Mesh {
    let least = table.optional_number("centre_least_mm", 1.0..=2_000.0);
    let most = table.optional_number("centre_most_mm", 1.0..=2_000.0);
    if least.is_some() != most.is_some() || least > most {
        table.contradiction(
            if least.is_some() { "centre_least_mm" } else { "centre_most_mm" },
            "mesh.centre_least_mm and mesh.centre_most_mm come together, the least first".into(),
            "measure from shaft to shaft with the motor at both ends of its slots, or leave both out",
        );
    }
    Mesh {
        module_mm: table.number("module_mm", 0.1..=10.0),
        pressure_angle_deg: table.number_or("pressure_angle_deg", 10.0..=30.0, 20.0),
        face_width_mm: table.optional_number("face_width_mm", 0.2..=200.0),
        pinion_allowable_mpa: table.optional_number("pinion_allowable_mpa", 1.0..=2_000.0),
        spur_allowable_mpa: table.optional_number("spur_allowable_mpa", 1.0..=2_000.0),
        centre_extra_mm: table.number_or("centre_extra_mm", 0.0..=2.0, 0.1),
        slot_mm: least.zip(most).map(|(least, most)| [least, most]),
    }
}

fn motor(table: &Table<'_>) -> MotorData {
    let cogging_n_m = table.number_or("cogging_n_m", 0.0..=100.0, 0.0);
    let cogging_per_turn = table.whole_or("cogging_per_turn", 0..=500, 0);
    if cogging_n_m > 0.0 && cogging_per_turn == 0 {
        table.contradiction(
            "cogging_n_m",
            format!("motor.cogging_n_m is {cogging_n_m} without motor.cogging_per_turn"),
            "count the detents of one turn by hand and give them; allowed is 1 to 500",
        );
    }
    MotorData {
        kv_rpm_per_v: table.number("kv_rpm_per_v", 10.0..=20_000.0),
        resistance_ohm: table.number("resistance_ohm", 0.002..=20.0),
        inductance_uh: table.number("inductance_uh", 1.0..=100_000.0),
        no_load_a: table.number("no_load_a", 0.0..=50.0),
        no_load_v: table.number("no_load_v", 0.5..=60.0),
        viscous_share: table.number_or("viscous_share", 0.0..=1.0, 0.3),
        rotor_inertia_kg_m2: table.number("rotor_inertia_kg_m2", 1.0e-8..=1.0),
        winding_j_per_k: table.number("winding_j_per_k", 0.1..=1.0e5),
        winding_to_case_k_per_w: table.number("winding_to_case_k_per_w", 0.01..=100.0),
        case_j_per_k: table.number("case_j_per_k", 0.1..=1.0e6),
        case_to_air_k_per_w: table.number("case_to_air_k_per_w", 0.01..=200.0),
        winding_limit_c: winding_limit(table),
        magnet_limit_c: table
            .has("magnet_grade")
            .then(|| table.choice_or("magnet_grade", &MAGNET_GRADES, 80.0)),
        rated_a: table.optional_number("rated_a", 0.1..=2_000.0),
        cogging_n_m,
        cogging_per_turn,
    }
}

/// The temperature itself, or the insulation's thermal class.
fn winding_limit(table: &Table<'_>) -> f64 {
    let given = ["winding_limit_c", "insulation_class"].map(|key| table.has(key));
    if given == [true, true] {
        table.contradiction(
            "insulation_class",
            "both motor.winding_limit_c and motor.insulation_class are given".into(),
            "give one of the two",
        );
    }
    if given[1] {
        return table.choice_or("insulation_class", &INSULATION_CLASSES, 105.0);
    }
    table.number("winding_limit_c", 60.0..=240.0)
}

fn bridge(table: &Table<'_>) -> BridgeData {
    BridgeData {
        resistance_ohm: table.number("resistance_ohm", 0.0..=5.0),
        resistance_per_k: table.number_or("resistance_per_k", 0.0..=0.02, 0.0),
        heat_j_per_k: table.number_or("heat_j_per_k", 0.1..=1.0e5, 10.0),
        to_air_k_per_w: table.number_or("to_air_k_per_w", 0.01..=200.0, 10.0),
        limit_c: table.number_or("limit_c", 40.0..=240.0, 110.0),
        rated_v: table.optional_number("rated_v", 1.0..=200.0),
        rated_a: table.optional_number("rated_a", 0.1..=2_000.0),
        switched_hz: table.optional_number("switched_hz", 50.0..=100_000.0),
        capacitor_uf: table.number_or("capacitor_uf", 1.0..=100_000.0, 470.0),
        synchronous: table.flag_or("synchronous", true),
    }
}

fn pack(table: &Table<'_>) -> PackData {
    let wire_awg = table.optional_number("wire_awg", 0.0..=40.0);
    let pack = PackData {
        cells: table.whole("cells", 1..=14),
        capacity_ah: table.number("capacity_ah", 0.05..=200.0),
        charge: table.number_or("charge", 0.0..=1.0, 1.0),
        label_v: table.optional_number("label_v", 1.0..=70.0),
        rated_a: table.optional_number("rated_a", 0.1..=2_000.0),
        connector_a: table.optional_number("connector_a", 0.1..=2_000.0),
        wire_awg,
        resistance_ohm_per_cell: table.number("resistance_ohm_per_cell", 0.0..=1.0),
        delayed_ohm_per_cell: table.number_or("delayed_ohm_per_cell", 0.0..=1.0, 0.0),
        delayed_s: table.number_or("delayed_s", 0.1..=1_000.0, 10.0),
        leads_ohm: table.number("leads_ohm", 0.0..=1.0) + wire_ohm(table, wire_awg),
        ocv_v: table
            .pairs("ocv_v", 2, [0.0..=1.0, 0.5..=5.0])
            .unwrap_or_else(|| POUCH_CELL_OCV.to_vec()),
    };
    let rises = |pair: &[[f64; 2]]| pair[1][0] > pair[0][0] && pair[1][1] >= pair[0][1];
    if !pack.ocv_v.windows(2).all(rises) {
        table.contradiction(
            "ocv_v",
            "pack.ocv_v must rise in both members".into(),
            "list state of charge from empty to full with its voltage",
        );
    }
    pack
}

/// Resistance of the pack's wire, there and back.
fn wire_ohm(table: &Table<'_>, gauge: Option<f64>) -> f64 {
    let metres = table.optional_number("wire_m", 0.0..=50.0);
    if gauge.is_some() != metres.is_some() {
        table.contradiction(
            if gauge.is_some() { "wire_awg" } else { "wire_m" },
            "pack.wire_awg and pack.wire_m come together".into(),
            "give the wire's gauge and its length there and back, or neither",
        );
    }
    gauge.zip(metres).map_or(0.0, |(gauge, metres)| wire_gauge::ohm_per_m(gauge) * metres)
}

fn steering(table: &Table<'_>) -> Steering {
    let steering = Steering {
        supply_v: table.number("supply_v", 3.0..=15.0),
        dropout_v: table.number_or("dropout_v", 0.0..=5.0, 0.5),
        limit_a: table.number("limit_a", 0.1..=50.0),
        efficiency: table.number_or("efficiency", 0.2..=1.0, 0.85),
        receiver_v: table.number_or("receiver_v", 1.8..=15.0, 3.5),
        receiver_holds_s: table.number_or("receiver_holds_s", 0.0..=0.5, 0.005),
        receiver_restart_s: table.number_or("receiver_restart_s", 0.0..=10.0, 0.5),
        idle_a: table.number_or("idle_a", 0.0..=5.0, 0.1),
        stall_a: table.number("stall_a", 0.05..=50.0),
        rated_v: table.number("rated_v", 3.0..=15.0),
        travel_s: table.number_or("travel_s", 0.02..=5.0, 0.2),
        lag_s: table.number_or("lag_s", 0.005..=1.0, 0.02),
        load: table.number_or("load", 0.0..=5.0, 0.2),
    };
    if steering.receiver_v >= steering.supply_v {
        table.contradiction(
            "receiver_v",
            format!(
                "steering.receiver_v is {}, not below the supply's {} V",
                steering.receiver_v, steering.supply_v
            ),
            "the receiver would never start; check both voltages",
        );
    }
    steering
}

fn board(table: &Table<'_>) -> Board {
    Board {
        tick_hz: table.whole_or("tick_hz", 100..=8_000, 1_000) as u16,
        speed_sensor: table.flag_or("speed_sensor", true),
        current_sensor: table.flag_or("current_sensor", true),
        temperature_sensor: table.flag_or("temperature_sensor", true),
        fast_bridge_law: table.flag_or("fast_bridge_law", true),
    }
}

fn sensors(table: &Table<'_>) -> SensorData {
    SensorData {
        speed_edges_per_turn: table.whole_or("speed_edges_per_turn", 0..=10_000, 0),
        adc_bits: table.whole_or("adc_bits", 0..=24, 0),
        adc_full_v: table.number_or("adc_full_v", 1.0..=1_000.0, 30.0),
        adc_full_a: table.number_or("adc_full_a", 1.0..=1_000.0, 100.0),
        noise_v: table.number_or("noise_v", 0.0..=10.0, 0.0),
        noise_a: table.number_or("noise_a", 0.0..=100.0, 0.0),
        temperature_lag_s: table.number_or("temperature_lag_s", 0.0..=600.0, 0.0),
        seed: table.whole_or("seed", 0..=u32::MAX, 1),
    }
}
