/* The programs of this folder on the host. */

#include <stdio.h>

#include "say.h"

void say(const char *text) {
    fputs(text, stdout);
}

int main(void) {
    story();
    refused();
    return failures != 0;
}
