/* Printing with nothing of a C library, so that it is the same on a chip. */

#include "say.h"

int failures;

static void say_character(char character) {
    char text[2];
    text[0] = character;
    text[1] = 0;
    say(text);
}

void say_number(int32_t number) {
    char digits[12];
    char *text = digits + sizeof digits - 1;
    uint32_t left = number < 0 ? 0u - (uint32_t)number : (uint32_t)number;
    *text = 0;
    do {
        *--text = (char)('0' + left % 10);
        left /= 10;
    } while (left != 0);
    if (number < 0) {
        *--text = '-';
    }
    say(text);
}

void say_bytes(const uint8_t *bytes, size_t count) {
    static const char digits[] = "0123456789abcdef";
    size_t index;
    for (index = 0; index < count; index++) {
        say_character(digits[bytes[index] >> 4]);
        say_character(digits[bytes[index] & 15]);
    }
}

void check(int holds, const char *file, int line, const char *what) {
    if (!holds) {
        failures++;
        say("failed ");
        say(file);
        say(":");
        say_number(line);
        say(" ");
        say(what);
        say("\n");
    }
}
