/* A disk that errs: put before a dynamically linked program (LD_PRELOAD), this makes one of its calls about files in one
 * folder fail with EIO, or that one and every later one. Compiled and used by tests/it/fault.rs; no part of the program.
 *
 * FAULT_FOLDER  only files in this folder count
 * FAULT_CALLS   which calls count: letters of w (write, truncate), s (fsync, fdatasync), r (read)
 * FAULT_AT      the number of the call that fails, from 1
 * FAULT_ON      "once", or "on": the disk never answers again
 * FAULT_SEEN    a file that is made when a call was made to fail
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static int in_folder(int fd) {
    const char *folder = getenv("FAULT_FOLDER");
    char link[64], path[4096];
    if (!folder) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return strncmp(path, folder, strlen(folder)) == 0;
}

static int fails(int fd, char call) {
    static long calls = 0;
    const char *counted = getenv("FAULT_CALLS"), *at = getenv("FAULT_AT"), *on = getenv("FAULT_ON");
    int kept = errno;
    if (!counted || !at || !strchr(counted, call) || !in_folder(fd)) {
        errno = kept;
        return 0;
    }
    long number = __atomic_add_fetch(&calls, 1, __ATOMIC_SEQ_CST), wanted = atol(at);
    if (number < wanted || (number > wanted && (!on || strcmp(on, "on")))) {
        errno = kept;
        return 0;
    }
    const char *seen = getenv("FAULT_SEEN");
    if (seen) {
        int made = open(seen, O_CREAT | O_WRONLY, 0600);
        if (made >= 0) close(made);
    }
    errno = EIO;
    return 1;
}

#define INSTEAD(call, type, name, params, ...)                           \
    type name params {                                                   \
        static type (*real) params;                                      \
        if (!real) *(void **)&real = dlsym(RTLD_NEXT, #name);            \
        return fails(fd, call) ? -1 : real(__VA_ARGS__);                 \
    }

INSTEAD('w', ssize_t, write, (int fd, const void *from, size_t size), fd, from, size)
INSTEAD('w', ssize_t, pwrite, (int fd, const void *from, size_t size, off_t at), fd, from, size, at)
INSTEAD('w', ssize_t, pwrite64, (int fd, const void *from, size_t size, off64_t at), fd, from, size, at)
INSTEAD('w', int, ftruncate, (int fd, off_t size), fd, size)
INSTEAD('w', int, ftruncate64, (int fd, off64_t size), fd, size)
INSTEAD('s', int, fsync, (int fd), fd)
INSTEAD('s', int, fdatasync, (int fd), fd)
INSTEAD('r', ssize_t, read, (int fd, void *into, size_t size), fd, into, size)
INSTEAD('r', ssize_t, pread, (int fd, void *into, size_t size, off_t at), fd, into, size, at)
INSTEAD('r', ssize_t, pread64, (int fd, void *into, size_t size, off64_t at), fd, into, size, at)
