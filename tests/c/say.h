/* What the programs in this folder print with: on the host host.c, on a chip chip.c. */

#ifndef SAY_H
#define SAY_H

#include <stddef.h>
#include <stdint.h>

/* Prints, and does not end the line. */
void say(const char *text);

/* Prints in decimal. */
void say_number(int32_t number);

/* Prints two hexadecimal digits a byte. */
void say_bytes(const uint8_t *bytes, size_t count);

/* How many checks failed. */
extern int failures;

/* Counts a failure and prints where, unless `holds`. */
void check(int holds, const char *file, int line, const char *what);

#define CHECK(holds) check((holds), __FILE__, __LINE__, #holds)

/* A drive from power-on, tick by tick. */
void story(void);

/* Everything that C may hand over and that is wrong. */
void refused(void);

#endif
