/* A drive from power-on: arming, driving, easing off, a lost signal, an empty pack, reversing.
 *
 * Prints the tune as its blob, then a line a tick with what went in and what came out, and now and then
 * the telemetry. easeoff_tests::from_c gives the same to the core and compares. */

#include "easeoff.h"
#include "say.h"

#define HZ 1000

/* A receiver sends a pulse this often, in ticks. */
#define PULSE_EVERY 20

#define TELEMETRY_EVERY 250

/* In the place of a sensor that is missing. */
#define NONE INT32_MIN

struct part {
    uint32_t ticks;
    int32_t pulse_us, speed_rad_s, current_a, voltage_v, temperature_c;
};

static const struct part drive[] = {
    {300, 1900, 0, 0, 12, 20},        /* full throttle at power-on */
    {700, 1500, 0, 0, 12, 20},        /* neutral: arms */
    {900, 1750, 12, 6, 12, 30},       /* drives, with every sensor */
    {700, 1500, 9, -8, 12, 35},       /* lets go: the brake comes in */
    {600, 1500, 0, 0, 12, 35},        /* stands */
    {100, 1500, 1, 0, 12, 35},        /* begins to roll, and is held */
    {800, 1900, 0, 9, 12, 35},        /* stuck, until the drive is cut */
    {400, 1500, 0, 0, 12, 35},
    {900, 1700, 4, 9, 12, 35},        /* a load, to which the speed loop gives way */
    {400, 1700, NONE, 5, 12, 35},     /* the speed sensor is lost: estimated */
    {500, 1500, 0, 0, 12, 35},
    {600, 1900, NONE, NONE, NONE, NONE}, /* drives without any sensor */
    {500, 1500, NONE, NONE, NONE, NONE},
    {600, 1900, 20, 8, 12, 40},
    {300, NONE, 18, 0, 12, 40},       /* the signal is lost */
    {300, 1900, 6, 0, 12, 40},        /* and back, but not at neutral */
    {900, 1500, 0, 0, 12, 40},        /* neutral: arms again */
    {400, 1900, 15, 30, 12, 40},      /* more current than is allowed */
    {400, 1900, 15, 9, 9, 40},        /* the pack is empty */
    {400, 1500, 5, 0, 12, 40},
    {300, 1800, 15, 9, 12, 140},      /* hot */
    {400, 1200, 10, 0, 12, 60},       /* backward while it still rolls forward */
    {500, 1200, 0, 0, 12, 60},        /* and once it stands */
    {400, 1500, -4, 0, 12, 60},
    {200, 2900, 0, 0, 12, 60},        /* pulses that cannot be */
};

static easeoff_controller controller;
static easeoff_state state;

static void set(easeoff_settings *tune) {
    CHECK(easeoff_settings_default(tune) == EASEOFF_STATUS_OK);
    tune->curve.kind = EASEOFF_CURVE_KIND_KNOTS;
    tune->curve.knot_count = 2;
    tune->curve.knots[0][0] = 0.25f;
    tune->curve.knots[0][1] = 0.125f;
    tune->curve.knots[1][0] = 0.75f;
    tune->curve.knots[1][1] = 0.5f;
    tune->drag.onset_ms = 450.0f;
    tune->drag.shape = EASEOFF_SHAPE_SMOOTH;
    tune->drag.law = EASEOFF_DRAG_LAW_CURRENT;
    tune->drag.full_a = 15.0f;
    tune->drag.soft_below_rad_s = 8.0f;
    tune->has_rest = 1;
    tune->has_hold = 1;
    tune->hold.full_speed_rad_s = 30.0f;
    tune->hold.authority = 0.25f;
    tune->hold.has_give_way = 1;
    tune->hold.give_way.share = 0.25f;
    tune->hold.give_way.after_ms = 200.0f;
    tune->limits.has_drive_a = 1;
    tune->limits.drive_a = 20.0f;
    tune->limits.has_brake_a = 1;
    tune->limits.brake_a = 5.0f;
    tune->limits.has_stall = 1;
    tune->limits.stall.after_ms = 400.0f;
    tune->motor.has_estimate_from_a = 1;
    tune->motor.estimate_from_a = 1.5f;
}

static float given(int32_t value, uint8_t *has) {
    *has = value != NONE;
    return *has ? (float)value : 0.0f;
}

static void say_value(int32_t value) {
    say(" ");
    if (value == NONE) {
        say("-");
    } else {
        say_number(value);
    }
}

static void tick(const struct part *now, int pulse, uint32_t number) {
    easeoff_input input;
    easeoff_output output, fast;
    int32_t pulse_us = pulse ? now->pulse_us : NONE;
    input.pulse_us = given(pulse_us, &input.has_pulse);
    input.speed_rad_s = given(now->speed_rad_s, &input.has_speed);
    input.current_a = given(now->current_a, &input.has_current);
    input.voltage_v = given(now->voltage_v, &input.has_voltage);
    input.temperature_c = given(now->temperature_c, &input.has_temperature);
    CHECK(easeoff_step(&controller, &state, &input, &output) == EASEOFF_STATUS_OK);
    CHECK(output.share * 65536.0f == (float)output.raw);
    CHECK(easeoff_fast_bridge(&controller, &state, &fast) == EASEOFF_STATUS_OK);
    CHECK(fast.command == output.command && fast.mode == output.mode);
    say("tick");
    say_value(pulse_us);
    say_value(now->speed_rad_s);
    say_value(now->current_a);
    say_value(now->voltage_v);
    say_value(now->temperature_c);
    say(" |");
    say_value(output.command);
    say_value(output.raw);
    say_value(output.mode);
    say_value(output.events);
    say_value(output.breach);
    say_value(fast.raw);
    say("\n");
    if (number % TELEMETRY_EVERY == 0) {
        uint8_t frame[EASEOFF_TELEMETRY_BYTES];
        size_t used;
        const uint16_t sequence = (uint16_t)(number / TELEMETRY_EVERY);
        const uint8_t notice = sequence % 2 == 0 ? EASEOFF_NOTICE_READY : EASEOFF_NOTICE_PACK_LOW;
        CHECK(easeoff_telemetry(&state, sequence, number, notice, frame, sizeof frame, &used)
              == EASEOFF_STATUS_OK);
        say("telemetry ");
        say_number(notice);
        say(" ");
        say_bytes(frame, used);
        say("\n");
    }
}

void story(void) {
    easeoff_settings tune;
    uint8_t blob[EASEOFF_BLOB_BYTES];
    size_t used, part;
    uint32_t number = 0;
    set(&tune);
    CHECK(easeoff_blob_write(&tune, blob, sizeof blob, &used) == EASEOFF_STATUS_OK);
    say("tune ");
    say_bytes(blob, used);
    say("\nrate ");
    say_number(HZ);
    say("\n");
    CHECK(easeoff_prepare_blob(&controller, blob, used, HZ) == EASEOFF_STATUS_OK);
    CHECK(easeoff_start(&state) == EASEOFF_STATUS_OK);
    for (part = 0; part < sizeof drive / sizeof drive[0]; part++) {
        uint32_t left;
        for (left = drive[part].ticks; left != 0; left--) {
            tick(&drive[part], number % PULSE_EVERY == 0, number);
            number++;
        }
    }
}
