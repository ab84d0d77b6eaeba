/* Notes every change of a file below POWER_ROOT in the file POWER_LOG, in the order it was asked for.
 *
 * Preloaded into the program (LD_PRELOAD), so that a test can make the disk of every moment at which
 * the power might have gone: what was synced is there, the rest may be.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;

static void *real(const char *name) { return dlsym(RTLD_NEXT, name); }

static int below_root(const char *path) {
    const char *root = getenv("POWER_ROOT");
    return root && !strncmp(path, root, strlen(root));
}

/* A record: kind, two paths, place, number of bytes, the bytes. */
static void note(char kind, const char *path, const char *other, int64_t place, const void *bytes,
                 uint32_t number) {
    const char *log = getenv("POWER_LOG");
    if (!log || !below_root(path)) return;
    uint16_t first = strlen(path), second = strlen(other);
    char head[17 + 2 * PATH_MAX];
    size_t size = 0;
    head[size++] = kind;
    memcpy(head + size, &first, 2), size += 2;
    memcpy(head + size, path, first), size += first;
    memcpy(head + size, &second, 2), size += 2;
    memcpy(head + size, other, second), size += second;
    memcpy(head + size, &place, 8), size += 8;
    memcpy(head + size, &number, 4), size += 4;
    pthread_mutex_lock(&turn);
    /* Straight to the system: these writes are not to be noted themselves. */
    int file = syscall(SYS_openat, AT_FDCWD, log, O_CREAT | O_APPEND | O_WRONLY, 0600);
    if (file >= 0) {
        if (syscall(SYS_write, file, head, size) < 0 || syscall(SYS_write, file, bytes, number) < 0)
            abort();
        syscall(SYS_close, file);
    }
    pthread_mutex_unlock(&turn);
}

static const char *path_of(int file, char *room) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t size = readlink(link, room, PATH_MAX - 1);
    room[size > 0 ? size : 0] = 0;
    return room;
}

static const char *whole(const char *path, char *room) {
    if (path[0] == '/') return path;
    char here[PATH_MAX / 2];
    snprintf(room, PATH_MAX, "%s/%s", getcwd(here, sizeof here) ? here : "", path);
    return room;
}

#define ROOM char room[PATH_MAX], more[PATH_MAX]; (void)more

ssize_t pwrite64(int file, const void *bytes, size_t number, off64_t place) {
    ROOM;
    ssize_t done = ((ssize_t(*)(int, const void *, size_t, off64_t))real("pwrite64"))(file, bytes, number, place);
    if (done > 0) note('w', path_of(file, room), "", place, bytes, done);
    return done;
}

ssize_t pwrite(int file, const void *bytes, size_t number, off_t place) {
    return pwrite64(file, bytes, number, place);
}

ssize_t write(int file, const void *bytes, size_t number) {
    ROOM;
    /* With O_APPEND the place is only known afterwards. */
    ssize_t done = ((ssize_t(*)(int, const void *, size_t))real("write"))(file, bytes, number);
    if (done > 0) note('w', path_of(file, room), "", lseek(file, 0, SEEK_CUR) - done, bytes, done);
    return done;
}

int ftruncate64(int file, off64_t size) {
    ROOM;
    int done = ((int (*)(int, off64_t))real("ftruncate64"))(file, size);
    if (!done) note('t', path_of(file, room), "", size, "", 0);
    return done;
}

int ftruncate(int file, off_t size) { return ftruncate64(file, size); }

int fsync(int file) {
    ROOM;
    int done = ((int (*)(int))real("fsync"))(file);
    if (!done) note('s', path_of(file, room), "", 0, "", 0);
    return done;
}

int fdatasync(int file) {
    ROOM;
    int done = ((int (*)(int))real("fdatasync"))(file);
    if (!done) note('s', path_of(file, room), "", 0, "", 0);
    return done;
}

int unlink(const char *path) {
    ROOM;
    int done = ((int (*)(const char *))real("unlink"))(path);
    if (!done) note('u', whole(path, room), "", 0, "", 0);
    return done;
}

int rename(const char *path, const char *other) {
    ROOM;
    int done = ((int (*)(const char *, const char *))real("rename"))(path, other);
    if (!done) note('r', whole(path, room), whole(other, more), 0, "", 0);
    return done;
}

int link(const char *path, const char *other) {
    ROOM;
    int done = ((int (*)(const char *, const char *))real("link"))(path, other);
    if (!done) note('l', whole(path, room), whole(other, more), 0, "", 0);
    return done;
}

int linkat(int from, const char *path, int to, const char *other, int flags) {
    ROOM;
    int done = ((int (*)(int, const char *, int, const char *, int))real("linkat"))(from, path, to, other, flags);
    if (!done) note('l', whole(path, room), whole(other, more), 0, "", 0);
    return done;
}

static int opened(int file, const char *path, int flags) {
    ROOM;
    if (file >= 0 && (flags & O_TRUNC)) note('t', whole(path, room), "", 0, "", 0);
    return file;
}

#define OPEN(name)                                                                   \
    int name(const char *path, int flags, ...) {                                     \
        va_list given;                                                               \
        va_start(given, flags);                                                      \
        mode_t mode = flags & O_CREAT ? va_arg(given, mode_t) : 0;                   \
        va_end(given);                                                               \
        return opened(((int (*)(const char *, int, ...))real(#name))(path, flags, mode), path, flags); \
    }

OPEN(open)
OPEN(open64)
