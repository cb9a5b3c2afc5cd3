/* A board that is none, for the book's example on the chips of `cargo xtask chip`: only to link it. */

#include "easeoff.h"

int main(void);
int board_pulse_us(void);
float board_voltage_v(void);
void board_coast(void);
void board_drive(float share);
void board_brake(float share);
float board_speed_rad_s(void);
void board_wait_for_tick(void);

const uint8_t board_tune[EASEOFF_BLOB_BYTES] = {0xff};

static volatile float bridge;

int board_pulse_us(void) {
    return (int)bridge;
}

float board_voltage_v(void) {
    return bridge;
}

void board_coast(void) {
    bridge = 0.0f;
}

void board_drive(float share) {
    bridge = share;
}

void board_brake(float share) {
    bridge = -share;
}

float board_speed_rad_s(void) {
    return bridge;
}

void board_wait_for_tick(void) {}

void reset(void);

void reset(void) {
    main();
}

__attribute__((section(".vectors"), used)) static void (*const vectors[16])(void) = {0, reset};
