// easeoff tune, Rust source.
// Written by `easeoff export`, layout 3 of the tune.
// Change the tune file and export again, not this.
//
// throttle: low 1013, neutral 1521, high 1987 us, dead band 23.5 us, reversed
// curve: 2 knots
// slew: rise 3.25, ease 17.5 per s
// drag brake: strength 0.8125, delay 41 ms, onset 457 ms, law: braking current, full 29.5 A
// hold at rest: on; speed hold: authority 0.4375, give way on, full throttle is 47 rad/s
// limits: driving 61 A, braking 37 A, 2 cells, fade 3.4375 to 3.125 V per cell
// motor: 2203 rpm/V, geared 42.5 to 1, 0.03125 ohm

use easeoff_core::*;

/// The exported tune.
pub fn tune() -> Settings {
    Settings {
        pulse: PulseSettings {
            plausible_low_us: 811.0,
            plausible_high_us: 2203.0,
            jump_us: 273.0,
            tolerate: 7,
            loss_after_ms: 61.0,
        },
        calibration: Calibration {
            low_us: 1013.0,
            neutral_us: 1521.0,
            high_us: 1987.0,
            dead_band_us: 23.5,
            reversed: true,
        },
        curve: CurveSettings::Knots(Knots::new(&[[0.25, 0.125], [0.75, 0.5]]).unwrap_or_default()),
        slew: SlewSettings {
            rise_per_s: 3.25,
            ease_per_s: 17.5,
        },
        mode: ModeSettings {
            arm_ms: 701.0,
            reverse: ReversePolicy::Never,
            rest_rad_s: 1.75,
            pause_ms: 433.0,
        },
        safe_state: SafeState::Coast,
        drag: DragSettings {
            strength: 0.8125,
            delay_ms: 41.0,
            onset_ms: 457.0,
            shape: Shape::FirstOrder,
            follow: 0.625,
            soft_below_rad_s: 27.5,
            release_ms: 53.0,
            law: DragLaw::Current { full_a: 29.5 },
        },
        rest: Some(RestSettings {
            gain_per_rad: 3.5,
            damping_s_per_rad: 0.0625,
            authority: 0.1875,
            below_rad_s: 0.75,
        }),
        hold: Some(HoldSettings {
            full_speed_rad_s: 47.0,
            feed_forward: 0.9375,
            gain: 1.625,
            gain_per_s: 6.25,
            droop: 0.125,
            authority: 0.4375,
            fade_ms: 167.0,
            give_way: Some(GiveWaySettings {
                share: 0.375,
                after_ms: 811.0,
                release_ms: 307.0,
            }),
        }),
        limits: LimitSettings {
            drive_a: Some(61.0),
            brake_a: Some(37.0),
            cells: 2,
            full_v: 4.25,
            derate_from_v: 3.4375,
            derate_to_v: 3.125,
            recover_v: 0.15625,
            pack_recovery: PackRecovery::ByVoltage,
            derate_from_c: 97.0,
            derate_to_c: 119.0,
            cool_by_c: 7.5,
            stall: Some(StallSettings {
                below_rad_s: 0.375,
                duty: 0.0625,
                after_ms: 1201.0,
            }),
            reverse: 0.6875,
        },
        motor: MotorSettings {
            kv_rpm_per_v: 2203.0,
            gear_ratio: 42.5,
            resistance_ohm: 0.03125,
            estimate_from_a: Some(2.5),
        },
    }
}
