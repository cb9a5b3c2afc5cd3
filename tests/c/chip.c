/* The programs of this folder on a Cortex-M that QEMU plays: vectors, memory, and the debugger's files.
 *
 * Source of the calls: Arm, "Semihosting for AArch32 and AArch64": SYS_OPEN, SYS_WRITE, SYS_EXIT. */

#include "easeoff.h"
#include "say.h"

#define SYS_OPEN 0x01
#define SYS_WRITE 0x05
#define SYS_EXIT 0x18
#define STOPPED_FAILED 0x20023
#define STOPPED_DONE 0x20026

/* Mode "wb". */
#define WRITE 5

static uintptr_t call(uintptr_t number, const void *block) {
    register uintptr_t r0 __asm__("r0") = number;
    register const void *r1 __asm__("r1") = block;
    __asm__ volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
    return r0;
}

/* Many small texts in few calls. */
static char leaving[512];
static uintptr_t used;

static void flush(void) {
    static uintptr_t file, is_open;
    uintptr_t block[3];
    if (!is_open) {
        static const char path[] = "/dev/stdout";
        block[0] = (uintptr_t)path;
        block[1] = WRITE;
        block[2] = sizeof path - 1;
        file = call(SYS_OPEN, block);
        is_open = 1;
    }
    block[0] = file;
    block[1] = (uintptr_t)leaving;
    block[2] = used;
    call(SYS_WRITE, block);
    used = 0;
}

void say(const char *text) {
    while (*text != 0) {
        if (used == sizeof leaving) {
            flush();
        }
        leaving[used++] = *text++;
    }
}

static void end(uintptr_t reason) {
    for (;;) {
        call(SYS_EXIT, (const void *)reason);
    }
}

static void fault(void) {
    end(STOPPED_FAILED);
}

#ifdef EASEOFF_UNWRAPS
/* Panics for some value: with it there must be no image. */
extern int32_t easeoff_unwraps(int32_t value);
#endif

/* Set by chip.ld. */
extern uint32_t free_begin[], data_begin[], data_end[], data_from[], bss_begin[], bss_end[], stack_top[];

#define PAINT 0xa5a5a5a5u

/* Where there is still paint, no stack has reached. */
static void say_stack(void) {
    const uint32_t *deepest = free_begin;
    while (deepest != stack_top && *(const volatile uint32_t *)deepest == PAINT) {
        deepest++;
    }
    say("stack ");
    say_number((int32_t)((uintptr_t)stack_top - (uintptr_t)deepest));
    say("\n");
}

void reset(void);

void reset(void) {
    const uint32_t *from = data_from;
    uint32_t *to;
    for (to = data_begin; to != data_end; to++) {
        *to = *from++;
    }
    for (to = bss_begin; to != bss_end; to++) {
        *to = 0;
    }
#ifdef __ARM_FP
    /* Armv7-M manual, CPACR: full access to coprocessors 10 and 11, the FPU. */
    *(volatile uint32_t *)0xe000ed88u |= 0xfu << 20;
    __asm__ volatile("dsb\n\tisb" ::: "memory");
#endif
#ifdef EASEOFF_UNWRAPS
    easeoff_unwraps(failures);
#endif
    for (to = free_begin; to < (uint32_t *)(uintptr_t)__builtin_frame_address(0) - 16; to++) {
        *(volatile uint32_t *)to = PAINT;
    }
    story();
    say_stack();
    refused();
    say_stack();
    flush();
    end(failures == 0 ? STOPPED_DONE : STOPPED_FAILED);
}

struct vectors {
    uint32_t *stack;
    void (*handlers[15])(void);
};

__attribute__((section(".vectors"), used)) static const struct vectors vectors = {
    stack_top, {reset, fault, fault, fault},
};
