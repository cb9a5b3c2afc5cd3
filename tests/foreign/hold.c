/* The controller of hold.py in C99, without a library but the standard one.
 *
 * Build: cc -std=c99 -O2 -ffp-contract=off -o hold hold.c
 * Run:   easeoff drive --controller-cmd ./hold */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double FULL_RAD_S = 57.0; /* wheel speed that full throttle means */
static const double GAIN = 1.0;        /* duty per error, both as parts of full */
static const double GAIN_PER_S = 6.0;  /* and per second */
static const double AUTHORITY = 0.1;   /* the most duty it may add or take away */
static const double ONSET_S = 0.3;     /* how long the brake takes to come in */
static const double LOST_S = 0.1;      /* without a pulse for so long there is no signal */

struct hold {
    double hz, pulse_us, integral, brake, amount;
    long silent;
};

static double bounded(double value, double low, double high) {
    return value < low ? low : value > high ? high : value;
}

/* pulse_us: 0 when none ended in this tick. Returns the command; its amount is in hold->amount. */
static const char *step(struct hold *hold, double pulse_us, double speed_rad_s) {
    hold->silent++;
    if (pulse_us > 0) {
        hold->pulse_us = pulse_us;
        hold->silent = 0;
    }
    if (hold->pulse_us == 0 || hold->silent > LOST_S * hold->hz) {
        hold->integral = hold->brake = hold->amount = 0;
        return "coast";
    }
    double throttle = (hold->pulse_us - 1500.0) / 500.0;
    if (throttle < 0.04) {
        hold->integral = 0;
        hold->brake = hold->amount = bounded(hold->brake + 1.0 / (ONSET_S * hold->hz), 0, 1);
        return "brake";
    }
    hold->brake = 0;
    double error = throttle - speed_rad_s / FULL_RAD_S;
    hold->integral =
        bounded(hold->integral + GAIN_PER_S * error / hold->hz, -AUTHORITY, AUTHORITY);
    double added = bounded(GAIN * error + hold->integral, -AUTHORITY, AUTHORITY);
    hold->amount = bounded(throttle + added, 0, 1);
    return "drive";
}

/* The next cell of a line; an empty one is 0. strtok would skip it. */
static double cell(char **rest) {
    double value = strtod(*rest, NULL);
    char *comma = strchr(*rest, ',');
    *rest = comma ? comma + 1 : *rest + strlen(*rest);
    return value;
}

int main(void) {
    char line[512];
    struct hold hold = {0};
    if (!fgets(line, sizeof line, stdin) || sscanf(line, "easeoff,1,%lf", &hold.hz) != 1) {
        fputs("this controller speaks easeoff,1\n", stderr);
        return 1;
    }
    if (!fgets(line, sizeof line, stdin)) return 1; /* the names of the fields */
    puts("ready,1,hold in C,integral");
    fflush(stdout);
    while (fgets(line, sizeof line, stdin)) {
        char *rest = line;
        long tick = strtol(line, NULL, 10);
        cell(&rest); /* the tick */
        cell(&rest); /* the time */
        double pulse_us = cell(&rest);
        double speed_rad_s = cell(&rest);
        const char *command = step(&hold, pulse_us, speed_rad_s);
        printf("%ld,%s,%.17g,%.17g\n", tick, command, hold.amount, hold.integral);
        fflush(stdout);
    }
    return 0;
}
