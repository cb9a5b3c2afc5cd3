//! Rig and course as JSON, as the FMU carries them.
#![allow(clippy::unwrap_used, missing_docs, reason = "tests panic")]

use easeoff_plant::rig::Mesh;
use easeoff_plant::{Course, Rig};
use easeoff_sim::files::demo;

/// What is written reads as the same bits: written again it is the same text.
#[test]
fn rig_and_course_come_back_as_they_were() {
    let mut rig = demo::rig().unwrap();
    rig.vehicle.mass_kg = 0.1 + 0.2;
    rig.motor.rotor_inertia_kg_m2 = 1.0 / 3.0e6;
    rig.mesh = Some(Mesh {
        module_mm: 0.6,
        pressure_angle_deg: 20.0,
        face_width_mm: None,
        pinion_allowable_mpa: Some(1.0e3 / 7.0),
        spur_allowable_mpa: None,
        centre_extra_mm: 0.05,
        slot_mm: Some([20.0, 30.0 + 1.0e-15]),
    });
    let text = serde_json::to_string(&rig).unwrap();
    let again: Rig = serde_json::from_str(&text).unwrap();
    assert_eq!(again.vehicle.mass_kg.to_bits(), rig.vehicle.mass_kg.to_bits());
    assert_eq!(serde_json::to_string(&again).unwrap(), text);
    for name in ["garden", "let-off", "snag"] {
        let course = demo::scenario(name).unwrap().course;
        let text = serde_json::to_string(&course).unwrap();
        let again: Course = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_string(&again).unwrap(), text, "{name}");
    }
}
