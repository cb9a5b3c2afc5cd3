#include <stdio.h>
#include "easeoff.h"

easeoff_status prepare(easeoff_controller *controller);

/* ANCHOR: all */
easeoff_status prepare(easeoff_controller *controller) {
    easeoff_settings tune;
    char text[EASEOFF_TEXT_BYTES];
    size_t number = 0;

    easeoff_settings_default(&tune);
    tune.drag.onset_ms = 450.0f;
    tune.drag.shape = EASEOFF_SHAPE_SMOOTH;
    /* With -1 as the onset: "drag.onset_ms is -1; allowed is 0 to 10000". */
    while (easeoff_mistake(&tune, 1000, number++, text, sizeof text) == EASEOFF_STATUS_OK) {
        puts(text);
    }
    return easeoff_prepare(controller, &tune, 1000);
}
/* ANCHOR_END: all */
