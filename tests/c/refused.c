/* What C may hand over that is wrong: each has its answer, and nothing drives. */

#include "easeoff.h"
#include "say.h"

#define HZ 1000

static easeoff_controller controller;
static easeoff_state state;

static void clear(void *memory, size_t size) {
    volatile uint8_t *byte = memory;
    while (size-- != 0) {
        *byte++ = 0;
    }
}

/* CRC-32/ISO-HDLC, as a blob ends with; bit by bit. */
static uint32_t checksum(const uint8_t *bytes, size_t count) {
    uint32_t crc = 0xffffffffu;
    while (count-- != 0) {
        int bit;
        crc ^= *bytes++;
        for (bit = 0; bit < 8; bit++) {
            crc = crc & 1 ? crc >> 1 ^ 0xedb88320u : crc >> 1;
        }
    }
    return ~crc;
}

/* Makes the checksum agree again. */
static void seal(uint8_t *blob, size_t used) {
    uint32_t sum = checksum(blob, used - 4);
    int byte;
    for (byte = 0; byte < 4; byte++) {
        blob[used - 4 + (size_t)byte] = (uint8_t)(sum >> 8 * byte);
    }
}

/* A throttle that was neutral and now is not, for long enough to drive: it must coast all the same, and
 * step must answer `due` all along. */
static void coasts(easeoff_controller *with, easeoff_state *from, easeoff_status due) {
    easeoff_input input;
    easeoff_output output;
    int tick;
    clear(&input, sizeof input);
    input.has_pulse = 1;
    for (tick = 0; tick < 2000; tick++) {
        input.pulse_us = tick < 1000 ? 1500.0f : 1900.0f;
        output.command = EASEOFF_COMMAND_DRIVE;
        output.raw = 1;
        if (easeoff_step(with, from, &input, &output) != due
            || output.command != EASEOFF_COMMAND_COAST || output.raw != 0 || output.share != 0.0f) {
            CHECK(!"it was refused and coasts");
            return;
        }
    }
}

/* The same with what is in order: it must drive, or `coasts` shows nothing. */
static void drives(void) {
    easeoff_input input;
    easeoff_output output;
    int tick;
    clear(&input, sizeof input);
    input.has_pulse = 1;
    CHECK(easeoff_start(&state) == EASEOFF_STATUS_OK);
    for (tick = 0; tick < 2000; tick++) {
        input.pulse_us = tick < 1000 ? 1500.0f : 1900.0f;
        CHECK(easeoff_step(&controller, &state, &input, &output) == EASEOFF_STATUS_OK);
    }
    CHECK(output.command == EASEOFF_COMMAND_DRIVE && output.raw > 0);
}

/* A blob that is refused takes a tune away that stood there before. */
static void blob_is(const uint8_t *blob, size_t length, easeoff_status due) {
    easeoff_settings settings;
    CHECK(easeoff_prepare_default(&controller, HZ) == EASEOFF_STATUS_OK);
    CHECK(easeoff_start(&state) == EASEOFF_STATUS_OK);
    CHECK(easeoff_prepare_blob(&controller, blob, length, HZ) == due);
    CHECK(easeoff_blob_read(&settings, blob, length) == due);
    coasts(&controller, &state, EASEOFF_STATUS_NOT_PREPARED);
}

static void blobs(void) {
    easeoff_settings settings;
    uint8_t blob[EASEOFF_BLOB_BYTES + 1];
    size_t used, length;
    CHECK(easeoff_settings_default(&settings) == EASEOFF_STATUS_OK);
    CHECK(easeoff_blob_write(&settings, blob, sizeof blob, &used) == EASEOFF_STATUS_OK);
    CHECK(easeoff_prepare_blob(&controller, blob, used, HZ) == EASEOFF_STATUS_OK);
    drives();
    /* What follows is not looked at, nor does a blob have to be aligned. */
    for (length = used; length-- != 0;) {
        blob[length + 1] = blob[length];
    }
    CHECK(easeoff_prepare_blob(&controller, blob + 1, sizeof blob - 1, HZ) == EASEOFF_STATUS_OK);
    drives();
    CHECK(easeoff_blob_write(&settings, blob, sizeof blob, &used) == EASEOFF_STATUS_OK);

    for (length = 0; length < used; length += 7) {
        blob_is(blob, length, EASEOFF_STATUS_CUT);
    }
    blob_is(blob, used - 1, EASEOFF_STATUS_CUT);
    blob[30] ^= 1;
    blob_is(blob, used, EASEOFF_STATUS_DAMAGED);
    blob[30] ^= 1;
    blob[5] = 0x7f;
    seal(blob, used);
    blob_is(blob, used, EASEOFF_STATUS_NEWER);
    blob[4] = blob[5] = 0;
    seal(blob, used);
    blob_is(blob, used, EASEOFF_STATUS_MALFORMED);
    clear(blob, sizeof blob);
    blob_is(blob, sizeof blob, EASEOFF_STATUS_NOT_A_TUNE);
    CHECK(easeoff_blob_write(&settings, blob, 20, &used) == EASEOFF_STATUS_NO_ROOM);
    CHECK(easeoff_blob_write(&settings, blob, 0, &used) == EASEOFF_STATUS_NO_ROOM);

    /* Well written, and out of range. */
    settings.drag.strength = 1.5f;
    CHECK(easeoff_blob_write(&settings, blob, sizeof blob, &used) == EASEOFF_STATUS_OK);
    CHECK(easeoff_prepare_blob(&controller, blob, used, HZ) == EASEOFF_STATUS_BAD_SETTINGS);
    coasts(&controller, &state, EASEOFF_STATUS_NOT_PREPARED);
    settings.safe_state = 9;
    CHECK(easeoff_blob_write(&settings, blob, sizeof blob, &used) == EASEOFF_STATUS_BAD_SETTINGS);
}

static void mistakes(void) {
    easeoff_settings settings;
    char text[EASEOFF_TEXT_BYTES];
    size_t number = 0;
    CHECK(easeoff_settings_default(&settings) == EASEOFF_STATUS_OK);
    CHECK(easeoff_mistake(&settings, HZ, 0, text, sizeof text) == EASEOFF_STATUS_NO_MISTAKE);
    settings.safe_state = 2;
    settings.drag.onset_ms = -1.0f;
    settings.mode.arm_ms = 150.5f;
    CHECK(easeoff_prepare(&controller, &settings, HZ) == EASEOFF_STATUS_BAD_SETTINGS);
    coasts(&controller, &state, EASEOFF_STATUS_NOT_PREPARED);
    while (easeoff_mistake(&settings, HZ, number, text, sizeof text) == EASEOFF_STATUS_OK) {
        say("mistake ");
        say(text);
        say("\n");
        number++;
    }
    CHECK(number == 3);
    CHECK(easeoff_mistake(&settings, HZ, 0, text, 0) == EASEOFF_STATUS_NO_ROOM);
    CHECK(easeoff_mistake(&settings, 0, 0, text, sizeof text) == EASEOFF_STATUS_BAD_TICK_RATE);
}

static void rates(void) {
    static const uint32_t wrong[] = {0, 99, 8001, 65536 + 1000, 0xffffffffu};
    easeoff_settings settings;
    size_t index;
    CHECK(easeoff_settings_default(&settings) == EASEOFF_STATUS_OK);
    CHECK(easeoff_start(&state) == EASEOFF_STATUS_OK);
    for (index = 0; index < sizeof wrong / sizeof wrong[0]; index++) {
        uint32_t hz = wrong[index];
        CHECK(easeoff_prepare_default(&controller, HZ) == EASEOFF_STATUS_OK);
        CHECK(easeoff_prepare_default(&controller, hz) == EASEOFF_STATUS_BAD_TICK_RATE);
        coasts(&controller, &state, EASEOFF_STATUS_NOT_PREPARED);
        CHECK(easeoff_prepare(&controller, &settings, hz) == EASEOFF_STATUS_BAD_TICK_RATE);
        CHECK(easeoff_prepare_blob(&controller, (const uint8_t *)"", 1, hz)
              == EASEOFF_STATUS_BAD_TICK_RATE);
    }
    CHECK(easeoff_prepare(&controller, &settings, HZ) == EASEOFF_STATUS_OK);
    drives();
}

/* One byte off, whatever the type. */
#define ASKEW(type, pointer) ((type *)(void *)((char *)(void *)(pointer) + 1))

static void pointers(void) {
    static easeoff_controller two[2];
    static easeoff_state states[2];
    static easeoff_settings settings[2];
    static easeoff_input inputs[2];
    static easeoff_output outputs[2];
    static size_t used[2];
    uint8_t bytes[EASEOFF_BLOB_BYTES];
    char text[EASEOFF_TEXT_BYTES];
    const easeoff_status null = EASEOFF_STATUS_NULL, askew = EASEOFF_STATUS_MISALIGNED;

    CHECK(easeoff_settings_default(NULL) == null);
    CHECK(easeoff_settings_default(ASKEW(easeoff_settings, settings)) == askew);
    CHECK(easeoff_settings_default(settings) == EASEOFF_STATUS_OK);

    CHECK(easeoff_prepare(NULL, settings, HZ) == null);
    CHECK(easeoff_prepare(ASKEW(easeoff_controller, two), settings, HZ) == askew);
    CHECK(easeoff_prepare(two, NULL, HZ) == null);
    CHECK(easeoff_prepare(two, ASKEW(easeoff_settings, settings), HZ) == askew);
    CHECK(easeoff_prepare_default(NULL, HZ) == null);
    CHECK(easeoff_prepare_default(ASKEW(easeoff_controller, two), HZ) == askew);
    CHECK(easeoff_prepare_blob(NULL, bytes, sizeof bytes, HZ) == null);
    CHECK(easeoff_prepare_blob(two, NULL, sizeof bytes, HZ) == null);
    CHECK(easeoff_prepare_blob(two, NULL, 0, HZ) == null);
    CHECK(easeoff_mistake(NULL, HZ, 0, text, sizeof text) == null);
    CHECK(easeoff_mistake(settings, HZ, 0, NULL, sizeof text) == null);
    CHECK(easeoff_mistake(ASKEW(easeoff_settings, settings), HZ, 0, text, sizeof text) == askew);
    CHECK(easeoff_blob_read(NULL, bytes, sizeof bytes) == null);
    CHECK(easeoff_blob_read(settings, NULL, 1) == null);
    CHECK(easeoff_blob_read(ASKEW(easeoff_settings, settings), bytes, sizeof bytes) == askew);
    CHECK(easeoff_blob_write(NULL, bytes, sizeof bytes, used) == null);
    CHECK(easeoff_blob_write(settings, NULL, sizeof bytes, used) == null);
    CHECK(easeoff_blob_write(settings, bytes, sizeof bytes, NULL) == null);
    CHECK(easeoff_blob_write(settings, bytes, sizeof bytes, ASKEW(size_t, used)) == askew);

    CHECK(easeoff_start(NULL) == null);
    CHECK(easeoff_start(ASKEW(easeoff_state, states)) == askew);
    CHECK(easeoff_prepare_default(two, HZ) == EASEOFF_STATUS_OK);
    /* Not started, not prepared, or one in the place of the other. */
    coasts(two, states, EASEOFF_STATUS_NOT_STARTED);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, sizeof bytes, used) == EASEOFF_STATUS_NOT_STARTED);
    CHECK(easeoff_start(states) == EASEOFF_STATUS_OK);
    coasts(two + 1, states, EASEOFF_STATUS_NOT_PREPARED);
    coasts((easeoff_controller *)(void *)states, states, EASEOFF_STATUS_NOT_PREPARED);
    coasts(two, (easeoff_state *)(void *)two, EASEOFF_STATUS_NOT_STARTED);

    coasts(NULL, states, null);
    coasts(two, NULL, null);
    coasts(ASKEW(easeoff_controller, two), states, askew);
    coasts(two, ASKEW(easeoff_state, states), askew);
    outputs->command = EASEOFF_COMMAND_DRIVE;
    CHECK(easeoff_step(two, states, NULL, outputs) == null);
    CHECK(outputs->command == EASEOFF_COMMAND_COAST);
    outputs->command = EASEOFF_COMMAND_DRIVE;
    CHECK(easeoff_step(two, states, ASKEW(easeoff_input, inputs), outputs) == askew);
    CHECK(outputs->command == EASEOFF_COMMAND_COAST);
    CHECK(easeoff_step(two, states, inputs, NULL) == null);
    CHECK(easeoff_fast_bridge(NULL, states, outputs) == null);
    CHECK(easeoff_fast_bridge(two, NULL, outputs) == null);
    CHECK(easeoff_fast_bridge(two, states, NULL) == null);
    CHECK(easeoff_step(two, states, inputs, ASKEW(easeoff_output, outputs)) == askew);

    CHECK(easeoff_telemetry(NULL, 0, 0, 0, bytes, sizeof bytes, used) == null);
    CHECK(easeoff_telemetry(ASKEW(easeoff_state, states), 0, 0, 0, bytes, sizeof bytes, used) == askew);
    CHECK(easeoff_telemetry(states, 0, 0, 0, NULL, sizeof bytes, used) == null);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, sizeof bytes, NULL) == null);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, sizeof bytes, ASKEW(size_t, used)) == askew);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, 10, used) == EASEOFF_STATUS_NO_ROOM);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, 0, used) == EASEOFF_STATUS_NO_ROOM);
    CHECK(easeoff_telemetry(states, 0, 0, 0, bytes, sizeof bytes, used) == EASEOFF_STATUS_OK);
}

/* Nothing given, or what is no number, is no sensor and no pulse. */
static void inputs(void) {
    volatile float zero = 0.0f;
    const float wrong[] = {zero / zero, 1.0f / zero, -1.0f / zero, 40000.0f, -40000.0f};
    easeoff_input input;
    easeoff_output output;
    size_t index;
    int tick;
    for (index = 0; index < sizeof wrong / sizeof wrong[0]; index++) {
        CHECK(easeoff_prepare_default(&controller, HZ) == EASEOFF_STATUS_OK);
        drives();
        input.pulse_us = input.speed_rad_s = input.current_a = wrong[index];
        input.voltage_v = input.temperature_c = wrong[index];
        input.has_pulse = input.has_speed = input.has_current = 1;
        input.has_voltage = input.has_temperature = 1;
        for (tick = 0; tick < 600; tick++) {
            CHECK(easeoff_step(&controller, &state, &input, &output) == EASEOFF_STATUS_OK);
        }
        CHECK(output.mode == EASEOFF_MODE_LOST && output.command == EASEOFF_COMMAND_BRAKE);
    }
}

void refused(void) {
    /* As it comes from the loader: all zero. */
    coasts(&controller, &state, EASEOFF_STATUS_NOT_PREPARED);
    CHECK(easeoff_prepare_default(&controller, HZ) == EASEOFF_STATUS_OK);
    coasts(&controller, &state, EASEOFF_STATUS_NOT_STARTED);
    drives();
    pointers();
    rates();
    blobs();
    mistakes();
    inputs();
}
