/* easeoff for callers in C: the controller of a small electric vehicle's throttle and drag brake.
 *
 * Made by `cargo xtask header` from core/c/src; do not edit. Header and library belong together: take both
 * from the same release. The book's page "From C" has an example and says how to build the library.
 *
 * First power and every new tune: wheels off the ground. */

#ifndef EASEOFF_H
#define EASEOFF_H

#include <stddef.h>
#include <stdint.h>

// What easeoff_telemetry may send as `notice`: what a board has to say about itself. The numbers
// are those of the project's firmware; `easeoff telemetry` prints their words.

// ready
#define EASEOFF_NOTICE_READY 0
// no tune is stored
#define EASEOFF_NOTICE_NO_TUNE 101
// the tune is newer than the firmware
#define EASEOFF_NOTICE_NEWER_TUNE 102
// the tune is cut off or damaged
#define EASEOFF_NOTICE_DAMAGED_TUNE 103
// the tune's values are refused
#define EASEOFF_NOTICE_REFUSED_TUNE 104
// the tune needs a sensor that is not wired
#define EASEOFF_NOTICE_SENSOR_NOT_WIRED 105
// a PWM channel's largest duty is 0
#define EASEOFF_NOTICE_NO_RESOLUTION 106
// the bridge's pins failed
#define EASEOFF_NOTICE_BRIDGE_FAILED 107
// restarted by the watchdog
#define EASEOFF_NOTICE_WATCHDOG_RESTART 108
// a wired sensor does not answer
#define EASEOFF_NOTICE_SENSOR_SILENT 109
// no throttle signal
#define EASEOFF_NOTICE_NO_SIGNAL 110
// waits for the throttle at neutral
#define EASEOFF_NOTICE_WAITS_FOR_NEUTRAL 111
// the monitor refused a command
#define EASEOFF_NOTICE_FAULT 112
// the wheels were stationary too long with power applied
#define EASEOFF_NOTICE_STALLED 113
// pack low
#define EASEOFF_NOTICE_PACK_LOW 114
// hot
#define EASEOFF_NOTICE_HOT 115

// Size of a controller, in 8 bytes.
#define EASEOFF_CONTROLLER_WORDS 96

// Size of a state, in 8 bytes.
#define EASEOFF_STATE_WORDS 48

// The most knots of a curve.
#define EASEOFF_KNOTS 9

// A buffer of this size holds every mistake's text.
#define EASEOFF_TEXT_BYTES 256

// A buffer of this size holds every blob.
#define EASEOFF_BLOB_BYTES 512

// A buffer of this size holds every frame of telemetry.
#define EASEOFF_TELEMETRY_BYTES 162

// What a call answers. Anything but `EASEOFF_STATUS_OK` means that nothing was done, unless the
// function says otherwise.
enum easeoff_status
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // Done.
    EASEOFF_STATUS_OK = 0,
    // A pointer is null.
    EASEOFF_STATUS_NULL,
    // A pointer is not aligned as its type needs.
    EASEOFF_STATUS_MISALIGNED,
    // The tick rate is not 100 to 8,000 Hz.
    EASEOFF_STATUS_BAD_TICK_RATE,
    // Settings are out of range or contradict each other; easeoff_mistake says which.
    EASEOFF_STATUS_BAD_SETTINGS,
    // There is no mistake of that number: all were told.
    EASEOFF_STATUS_NO_MISTAKE,
    // The controller was not prepared, or its last preparation failed.
    EASEOFF_STATUS_NOT_PREPARED,
    // The state was not started.
    EASEOFF_STATUS_NOT_STARTED,
    // There is no tune here, as in an erased page; store one first.
    EASEOFF_STATUS_NOT_A_TUNE,
    // The tune is of a later version than this library reads; update the library, or store the tune
    // again.
    EASEOFF_STATUS_NEWER,
    // The end of the tune is missing; store it again.
    EASEOFF_STATUS_CUT,
    // The tune is damaged; store it again.
    EASEOFF_STATUS_DAMAGED,
    // The tune is whole but not laid out as its version says; store it again with a released build.
    EASEOFF_STATUS_MALFORMED,
    // The buffer is too small.
    EASEOFF_STATUS_NO_ROOM,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_status easeoff_status;
#else
typedef uint8_t easeoff_status;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What the bridge is told.
enum easeoff_command
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // All switches open: the motor turns freely.
    EASEOFF_COMMAND_COAST = 0,
    // Put this share of the bus voltage on the motor, -1 to 1.
    EASEOFF_COMMAND_DRIVE,
    // Short the windings for this share of each period, 0 to 1.
    EASEOFF_COMMAND_BRAKE,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_command easeoff_command;
#else
typedef uint8_t easeoff_command;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What the controller is doing.
enum easeoff_mode
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // The throttle has not yet rested at neutral for the arming time. Coasts.
    EASEOFF_MODE_DISARMED = 0,
    // Throttle neutral: the drag brake comes in as set.
    EASEOFF_MODE_NEUTRAL,
    // Driving forward.
    EASEOFF_MODE_FORWARD,
    // Driving backward.
    EASEOFF_MODE_REVERSE,
    // Braking to a stop, because the driver asks for the other direction.
    EASEOFF_MODE_STOPPING,
    // No signal: the safe state, until neutral has been seen for the arming time.
    EASEOFF_MODE_LOST,
    // The monitor refused a command: as LOST, whatever the signal.
    EASEOFF_MODE_FAULT,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_mode easeoff_mode;
#else
typedef uint8_t easeoff_mode;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What the monitor found wrong with a command, which is then the safe state's.
enum easeoff_breach
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // Nothing.
    EASEOFF_BREACH_NONE = 0,
    // Drives without a signal, or without neutral seen since.
    EASEOFF_BREACH_UNARMED,
    // Brakes without a signal where it should coast.
    EASEOFF_BREACH_NOT_SAFE,
    // Drives against the throttle, or with the throttle let go.
    EASEOFF_BREACH_WRONG_WAY,
    // More duty than throttle, hold and reverse limit allow together.
    EASEOFF_BREACH_TOO_MUCH,
    // The duty grows faster than the demand may.
    EASEOFF_BREACH_TOO_QUICK,
    // Changes direction without the stop that the reverse policy asks for.
    EASEOFF_BREACH_NO_STOP,
    // Drives from an empty pack.
    EASEOFF_BREACH_PACK_EMPTY,
    // Drives a motor that is too hot.
    EASEOFF_BREACH_TOO_HOT,
    // Far too much current for a second.
    EASEOFF_BREACH_OVER_CURRENT,
    // Brakes harder than strength or driver ask for, or before it was ever armed.
    EASEOFF_BREACH_BRAKE,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_breach easeoff_breach;
#else
typedef uint8_t easeoff_breach;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// When the far side may drive backward.
enum easeoff_reverse_policy
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // At once, also while rolling forward.
    EASEOFF_REVERSE_POLICY_DIRECT = 0,
    // The far side brakes while the wheels still turn the other way, then drives.
    EASEOFF_REVERSE_POLICY_AFTER_STOP,
    // The far side only brakes.
    EASEOFF_REVERSE_POLICY_NEVER,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_reverse_policy easeoff_reverse_policy;
#else
typedef uint8_t easeoff_reverse_policy;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What to do without a signal or after a fault.
enum easeoff_safe_state
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // The drag brake, as set.
    EASEOFF_SAFE_STATE_DRAG = 0,
    // All switches open.
    EASEOFF_SAFE_STATE_COAST,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_safe_state easeoff_safe_state;
#else
typedef uint8_t easeoff_safe_state;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// The path along which the drag brake comes in.
enum easeoff_shape
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // Constant change.
    EASEOFF_SHAPE_LINEAR = 0,
    // No corner at either end.
    EASEOFF_SHAPE_SMOOTH,
    // Most of the brake arrives early.
    EASEOFF_SHAPE_FIRST_ORDER,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_shape easeoff_shape;
#else
typedef uint8_t easeoff_shape;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What happens once an empty pack has cut the drive.
enum easeoff_pack_recovery
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // It drives again once the throttle has been let go.
    EASEOFF_PACK_RECOVERY_AFTER_NEUTRAL = 0,
    // It drives again by itself.
    EASEOFF_PACK_RECOVERY_BY_VOLTAGE,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_pack_recovery easeoff_pack_recovery;
#else
typedef uint8_t easeoff_pack_recovery;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What the drag brake's strength means.
enum easeoff_drag_law
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // Duty of the brake: the share of time the windings are shorted.
    EASEOFF_DRAG_LAW_DUTY = 0,
    // Braking current; strength 1 is `full_a`.
    EASEOFF_DRAG_LAW_CURRENT,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_drag_law easeoff_drag_law;
#else
typedef uint8_t easeoff_drag_law;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// How the throttle's curve is given.
enum easeoff_curve_kind
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint8_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // (1 - blend) x + blend x^3
    EASEOFF_CURVE_KIND_CUBIC = 0,
    // Straight lines from (0, 0) through the knots to (1, 1).
    EASEOFF_CURVE_KIND_KNOTS,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_curve_kind easeoff_curve_kind;
#else
typedef uint8_t easeoff_curve_kind;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// Bits in `events`.
enum easeoff_event
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint16_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    // A pulse was refused, or a jump waits to be confirmed.
    EASEOFF_EVENT_BAD_PULSE = 1,
    // The signal was lost while armed.
    EASEOFF_EVENT_SIGNAL_LOST = (1 << 1),
    // The drag brake's current law has neither speed nor current.
    EASEOFF_EVENT_DRAG_UNSENSED = (1 << 2),
    // The speed loop has no speed.
    EASEOFF_EVENT_HOLD_WITHOUT_SPEED = (1 << 3),
    // The speed loop adds all it may and the speed is still low.
    EASEOFF_EVENT_HOLD_AT_AUTHORITY = (1 << 4),
    // Pack voltage reduces the duty.
    EASEOFF_EVENT_PACK_LOW = (1 << 5),
    // Temperature reduces the duty.
    EASEOFF_EVENT_HOT = (1 << 6),
    // The driving current limit reduces the duty.
    EASEOFF_EVENT_DRIVE_CURRENT = (1 << 7),
    // The braking current limit reduces the brake.
    EASEOFF_EVENT_BRAKE_CURRENT = (1 << 8),
    // The speed in use is an estimate.
    EASEOFF_EVENT_SPEED_ESTIMATED = (1 << 9),
    // The speed loop has given way to a load.
    EASEOFF_EVENT_BOGGED = (1 << 10),
    // The wheels stood too long under power: no duty until the throttle is let go.
    EASEOFF_EVENT_STALLED = (1 << 11),
    // The rig is being held where it came to rest.
    EASEOFF_EVENT_HOLDING_AT_REST = (1 << 12),
    // The monitor refused a command: the safe state is on.
    EASEOFF_EVENT_FAULT = (1 << 13),
    // The drag brake's soft end has no speed: it is left out.
    EASEOFF_EVENT_SOFT_END_WITHOUT_SPEED = (1 << 14),
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum easeoff_event easeoff_event;
#else
typedef uint16_t easeoff_event;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// What counts as a signal.
typedef struct easeoff_pulse {
    float plausible_low_us;
    float plausible_high_us;
    float jump_us;
    float loss_after_ms;
    uint8_t tolerate;
} easeoff_pulse;

// The throttle's end points.
typedef struct easeoff_calibration {
    float low_us;
    float neutral_us;
    float high_us;
    float dead_band_us;
    // 1: swaps forward and reverse.
    uint8_t reversed;
} easeoff_calibration;

// The throttle's curve.
typedef struct easeoff_curve {
    // For EASEOFF_CURVE_KIND_CUBIC.
    float blend;
    // For EASEOFF_CURVE_KIND_KNOTS: throttle and demand, 0 to 1.
    float knots[EASEOFF_KNOTS][2];
    uint8_t knot_count;
    // An easeoff_curve_kind.
    uint8_t kind;
} easeoff_curve;

// The demand's rates of change.
typedef struct easeoff_slew {
    float rise_per_s;
    float ease_per_s;
} easeoff_slew;

// Arming and reversing.
typedef struct easeoff_mode_settings {
    float arm_ms;
    float rest_rad_s;
    float pause_ms;
    // An easeoff_reverse_policy.
    uint8_t reverse;
} easeoff_mode_settings;

// Easing off.
typedef struct easeoff_drag {
    float strength;
    float delay_ms;
    float onset_ms;
    float follow;
    float soft_below_rad_s;
    float release_ms;
    // For EASEOFF_DRAG_LAW_CURRENT.
    float full_a;
    // An easeoff_shape.
    uint8_t shape;
    // An easeoff_drag_law.
    uint8_t law;
} easeoff_drag;

// Holding the place once stopped.
typedef struct easeoff_rest {
    float gain_per_rad;
    float damping_s_per_rad;
    float authority;
    float below_rad_s;
} easeoff_rest;

// Giving way to a lasting load.
typedef struct easeoff_give_way {
    float share;
    float after_ms;
    float release_ms;
} easeoff_give_way;

// Holding the speed.
typedef struct easeoff_hold {
    float full_speed_rad_s;
    float feed_forward;
    float gain;
    float gain_per_s;
    float droop;
    float authority;
    float fade_ms;
    // Giving way to a lasting load, if `has_give_way`.
    struct easeoff_give_way give_way;
    // 1: `give_way` is in force. 0: it is off.
    uint8_t has_give_way;
} easeoff_hold;

// Cutting the drive of wheels that stand.
typedef struct easeoff_stall {
    float below_rad_s;
    float duty;
    float after_ms;
} easeoff_stall;

// Protection.
typedef struct easeoff_limits {
    // In force if `has_drive_a`.
    float drive_a;
    // In force if `has_brake_a`.
    float brake_a;
    float full_v;
    float derate_from_v;
    float derate_to_v;
    float recover_v;
    float derate_from_c;
    float derate_to_c;
    float cool_by_c;
    float reverse;
    // Cutting the drive of wheels that stand, if `has_stall`.
    struct easeoff_stall stall;
    uint8_t cells;
    // An easeoff_pack_recovery.
    uint8_t pack_recovery;
    // 1: `drive_a` is in force. 0: it is off.
    uint8_t has_drive_a;
    // 1: `brake_a` is in force. 0: it is off.
    uint8_t has_brake_a;
    // 1: `stall` is in force. 0: it is off.
    uint8_t has_stall;
} easeoff_limits;

// The drive's constants.
typedef struct easeoff_motor {
    float kv_rpm_per_v;
    float gear_ratio;
    float resistance_ohm;
    // In force if `has_estimate_from_a`.
    float estimate_from_a;
    // 1: `estimate_from_a` is in force. 0: it is off.
    uint8_t has_estimate_from_a;
} easeoff_motor;

// All settings of a tune, in physical units. Begin with easeoff_settings_default. The book's page
// "Controls" says what each means and its range; the names are those of the files.
typedef struct easeoff_settings {
    // What counts as a signal.
    struct easeoff_pulse pulse;
    // The throttle's end points.
    struct easeoff_calibration calibration;
    // The throttle's curve.
    struct easeoff_curve curve;
    // The demand's rates of change.
    struct easeoff_slew slew;
    // Arming and reversing.
    struct easeoff_mode_settings mode;
    // Easing off.
    struct easeoff_drag drag;
    // Holding the place once stopped, if `has_rest`.
    struct easeoff_rest rest;
    // Holding the speed, if `has_hold`.
    struct easeoff_hold hold;
    // Protection.
    struct easeoff_limits limits;
    // The drive's constants.
    struct easeoff_motor motor;
    // What to do without a signal or after a fault: an easeoff_safe_state.
    uint8_t safe_state;
    // 1: `rest` is in force. 0: it is off.
    uint8_t has_rest;
    // 1: `hold` is in force. 0: it is off.
    uint8_t has_hold;
} easeoff_settings;

// A tune made ready by one of the easeoff_prepare functions; constant while running. Static, or set to
// zero before first use; may be copied and moved, not changed.
typedef struct easeoff_controller {
    // Not for the caller.
    uint64_t opaque[EASEOFF_CONTROLLER_WORDS];
} easeoff_controller;

// All that is remembered from tick to tick, made by easeoff_start. Static, or set to zero before first
// use; may be copied and moved, not changed.
typedef struct easeoff_state {
    // Not for the caller.
    uint64_t opaque[EASEOFF_STATE_WORDS];
} easeoff_state;

// What the board measured since the last tick. All zero: nothing. A value counts only if its `has_` is
// not 0; one that is no number, or 32,768 and more, counts as missing.
typedef struct easeoff_input {
    // The pulse that ended since the last tick, in us.
    float pulse_us;
    // Wheel speed in rad/s, forward positive.
    float speed_rad_s;
    // Motor current averaged over the tick in A, positive where it drives forward.
    float current_a;
    // Bus voltage in V.
    float voltage_v;
    // The hottest temperature measured, in degrees C.
    float temperature_c;
    // Whether a pulse ended.
    uint8_t has_pulse;
    // Whether there is a speed.
    uint8_t has_speed;
    // Whether there is a current.
    uint8_t has_current;
    // Whether there is a voltage.
    uint8_t has_voltage;
    // Whether there is a temperature.
    uint8_t has_temperature;
} easeoff_input;

// What one tick came to.
typedef struct easeoff_output {
    // The command's share times 65,536, exactly; 0 where it coasts.
    int32_t raw;
    // The same as a float: -1 to 1 where it drives, 0 to 1 where it brakes.
    float share;
    // Bits of easeoff_event: what happened.
    uint16_t events;
    // For the bridge.
    easeoff_command command;
    // What the controller is doing.
    easeoff_mode mode;
    // What the monitor found wrong.
    easeoff_breach breach;
} easeoff_output;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

// Puts the default settings.
// The pointer is null or points to what it says.
easeoff_status easeoff_settings_default(struct easeoff_settings *settings);

// Makes a tune ready for `tick_hz` ticks per second, 100 to 8,000. It takes some kilobytes of stack; see the
// book. Whatever it answers, a tune that stood here before is gone: after anything but
// EASEOFF_STATUS_OK nothing drives.
// Pointers are null or point to what they say.
easeoff_status easeoff_prepare(struct easeoff_controller *controller,
                               const struct easeoff_settings *settings,
                               uint32_t tick_hz);

// As easeoff_prepare, with the tune that stands at the front of `blob`. What follows it, as in a flash
// page, is not looked at.
// Pointers are null or point to what they say.
easeoff_status easeoff_prepare_blob(struct easeoff_controller *controller,
                                    const uint8_t *blob,
                                    size_t length,
                                    uint32_t tick_hz);

// As easeoff_prepare, with the default settings.
// The pointer is null or points to what it says.
easeoff_status easeoff_prepare_default(struct easeoff_controller *controller, uint32_t tick_hz);

// Writes what is wrong with `settings` into `text`: of all mistakes the one with this number, counted
// from 0, as "drag.onset_ms is -1; allowed is 0 to 10000". The text ends with a zero; what does not fit
// is cut off, and the answer is EASEOFF_STATUS_NO_ROOM. After the last mistake the text is empty and the
// answer EASEOFF_STATUS_NO_MISTAKE.
// Pointers are null or point to what they say.
easeoff_status easeoff_mistake(const struct easeoff_settings *settings,
                               uint32_t tick_hz,
                               size_t number,
                               char *text,
                               size_t length);

// Reads the tune at the front of `blob` into `settings`. They are not checked yet: easeoff_prepare
// does that.
// Pointers are null or point to what they say.
easeoff_status easeoff_blob_read(struct easeoff_settings *settings,
                                 const uint8_t *blob,
                                 size_t length);

// Writes `settings` as a blob to the front of `buffer`, and its length to `used`. They are not checked,
// but for choices that do not exist: EASEOFF_STATUS_BAD_SETTINGS. What follows the blob in the buffer is
// set to zero.
// Pointers are null or point to what they say.
easeoff_status easeoff_blob_write(const struct easeoff_settings *settings,
                                  uint8_t *buffer,
                                  size_t length,
                                  size_t *used);

// Writes what the last easeoff_step saw and decided to the front of `buffer`, as a frame for a serial
// line, and its length to `used`. `sequence` counts the frames and wraps; `tick` counts the ticks since
// power-on. `notice` is what the board has to say about itself, one of EASEOFF_NOTICE_READY and its like.
// `easeoff telemetry` makes a table of what arrives.
// Pointers are null or point to what they say.
easeoff_status easeoff_telemetry(const struct easeoff_state *state,
                                 uint16_t sequence,
                                 uint32_t tick,
                                 uint8_t notice,
                                 uint8_t *buffer,
                                 size_t length,
                                 size_t *used);

// Puts a state as at power-on. To be called before the first easeoff_step.
// The pointer is null or points to what it says.
easeoff_status easeoff_start(struct easeoff_state *state);

// One tick, to be called at the rate that the controller was prepared for. Bounded work. Unless the
// answer is EASEOFF_STATUS_OK, the tick did not take place and the output is to coast; without a usable
// output nothing is written, and the caller has to see to it that nothing drives.
// Pointers are null or point to what they say, each to something else.
easeoff_status easeoff_step(const struct easeoff_controller *controller,
                            struct easeoff_state *state,
                            const struct easeoff_input *input,
                            struct easeoff_output *output);

// Writes what the last easeoff_step told the bridge, with the brake's share made for a bridge whose PWM is
// fast beside the motor's L/R, as 16 kHz is; without it such a bridge brakes far less than it should. Needs
// speed and voltage; without them the share is that of the step. Bounded work.
// Pointers are null or point to what they say, each to something else.
easeoff_status easeoff_fast_bridge(const struct easeoff_controller *controller,
                                   const struct easeoff_state *state,
                                   struct easeoff_output *output);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* EASEOFF_H */
