/* Loaded before the C library: makes the n-th call of a kind go wrong, and counts the calls.
 *
 * EASEOFF_FAULT="kind n what": kind is write, sync, rename, make, remove or any; what is the number of an
 * error, or "kill", "half" (of a write, then kill) or "stop". EASEOFF_COUNTS names a file for the counts.
 * Calls made for reading, and writes to standard streams, do not count. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#define NEXT(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

enum kind { WRITE, SYNC, RENAME, MAKE, REMOVE, KINDS };
static const char *const NAMES[KINDS] = {"write", "sync", "rename", "make", "remove"};
static int counts[KINDS];

/* Whether this call goes wrong; then errno is set. */
static int wrong(enum kind kind, int *half)
{
    static int all;
    char name[16], what[16];
    int nth;
    const char *fault = getenv("EASEOFF_FAULT");
    counts[kind]++;
    all++;
    if (!fault || sscanf(fault, "%15s %d %15s", name, &nth, what) != 3)
        return 0;
    int any = strcmp(name, "any") == 0;
    if ((!any && strcmp(name, NAMES[kind]) != 0) || nth != (any ? all : counts[kind]))
        return 0;
    if (strcmp(what, "half") == 0 && half) {
        *half = 1;
        return 0;
    }
    if (strcmp(what, "kill") == 0 || strcmp(what, "half") == 0)
        kill(getpid(), SIGKILL);
    if (strcmp(what, "stop") == 0) {
        kill(getpid(), SIGSTOP);
        return 0;
    }
    errno = atoi(what);
    return 1;
}

__attribute__((destructor)) static void tell(void)
{
    const char *path = getenv("EASEOFF_COUNTS");
    FILE *file = path ? fopen(path, "w") : NULL;
    if (!file)
        return;
    for (int kind = 0; kind < KINDS; kind++)
        fprintf(file, "%s %d\n", NAMES[kind], counts[kind]);
    fclose(file);
}

ssize_t write(int fd, const void *data, size_t size)
{
    int half = 0;
    if (fd > 2 && wrong(WRITE, &half))
        return -1;
    if (half) {
        NEXT(write)(fd, data, size / 2);
        kill(getpid(), SIGKILL);
    }
    return NEXT(write)(fd, data, size);
}

int fsync(int fd)
{
    return wrong(SYNC, NULL) ? -1 : NEXT(fsync)(fd);
}

int rename(const char *from, const char *to)
{
    return wrong(RENAME, NULL) ? -1 : NEXT(rename)(from, to);
}

int mkdir(const char *path, mode_t mode)
{
    return wrong(MAKE, NULL) ? -1 : NEXT(mkdir)(path, mode);
}

int open64(const char *path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    int mode = flags & O_CREAT ? va_arg(rest, int) : 0;
    va_end(rest);
    if (flags & O_CREAT && wrong(MAKE, NULL))
        return -1;
    return NEXT(open64)(path, flags, mode);
}

int unlink(const char *path)
{
    return wrong(REMOVE, NULL) ? -1 : NEXT(unlink)(path);
}

int rmdir(const char *path)
{
    return wrong(REMOVE, NULL) ? -1 : NEXT(rmdir)(path);
}

int unlinkat(int folder, const char *path, int flags)
{
    return wrong(REMOVE, NULL) ? -1 : NEXT(unlinkat)(folder, path, flags);
}
