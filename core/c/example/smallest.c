/* ANCHOR: all */
#include <stddef.h>
#include "easeoff.h"

/* Yours: what the board measures, its bridge, and a page of flash with the tune. */
int board_pulse_us(void);       /* the pulse that ended since the last tick, or 0 */
float board_voltage_v(void);
void board_coast(void);         /* all switches open */
void board_drive(float share);  /* -1 to 1 of the bus voltage */
void board_brake(float share);  /* the windings shorted for 0 to 1 of each PWM period */
float board_speed_rad_s(void);  /* of the wheels */
void board_wait_for_tick(void); /* a timer, every millisecond */
extern const uint8_t board_tune[EASEOFF_BLOB_BYTES];

/* Static: too large for most stacks, and all zero until they are made. */
static easeoff_controller controller;
static easeoff_state state;

int main(void) {
    board_coast();
    /* Whatever this answers: without a tune step coasts. */
    easeoff_prepare_blob(&controller, board_tune, sizeof board_tune, 1000);
    easeoff_start(&state);
    for (;;) {
        easeoff_input input = {0}; /* nothing measured */
        easeoff_output output;
        board_wait_for_tick();
        input.pulse_us = (float)board_pulse_us();
        input.has_pulse = input.pulse_us > 0.0f;
        input.voltage_v = board_voltage_v();
        input.has_voltage = 1;
        input.speed_rad_s = board_speed_rad_s();
        input.has_speed = 1;
        easeoff_step(&controller, &state, &input, &output);
        /* For the usual fast PWM; a brake switched slowly takes the step's own output. */
        easeoff_fast_bridge(&controller, &state, &output);
        switch (output.command) {
        case EASEOFF_COMMAND_DRIVE: board_drive(output.share); break;
        case EASEOFF_COMMAND_BRAKE: board_brake(output.share); break;
        default: board_coast(); break;
        }
    }
}
/* ANCHOR_END: all */
