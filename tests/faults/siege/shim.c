/* What a program asks of the files below one folder: written down, and made to fail where that is wanted.
 *
 * Loaded before the C library. Does nothing until `siege_begin` is called. Each call that changes a file is
 * counted; the one of a given number fails with a given error. What succeeds is appended to a record:
 * kind, lengths of two names and of the data, an offset, the names, the data. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

enum { CREATE = 1, WRITE, SYNC, TRUNCATE, RENAME, UNLINK, MKDIR, LINK, RMDIR, SAID };

static char root[PATH_MAX];
static size_t root_length;
static int record = -1, fail_with, lasting, ours;
static long calls, fail_from;

struct head { uint32_t kind, first, second, data; int64_t offset; };

void siege_begin(const char *folder, const char *into, long from, int error, int stays)
{
    snprintf(root, sizeof root, "%s", folder);
    root_length = strlen(root);
    record = into && *into ? syscall(SYS_openat, AT_FDCWD, into, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600) : -1;
    calls = 0, fail_from = from, fail_with = error, lasting = stays, ours = 1;
}

long siege_calls(void) { return calls; }

static int below(const char *path) { return ours && !strncmp(path, root, root_length) && strchr("/", path[root_length]); }

static int full(int at, const char *path, char *out)
{
    if (!ours) return 0;
    if (path[0] == '/') snprintf(out, PATH_MAX, "%s", path);
    else {
        char where[64], base[PATH_MAX];
        ssize_t size;
        if (at == AT_FDCWD) { if (!getcwd(base, sizeof base)) return 0; }
        else {
            snprintf(where, sizeof where, "/proc/self/fd/%d", at);
            if ((size = readlink(where, base, sizeof base - 1)) < 0) return 0;
            base[size] = 0;
        }
        if (snprintf(out, PATH_MAX, "%s/%s", base, path) >= PATH_MAX) return 0;
    }
    return below(out);
}

static int named(int fd, char *out)
{
    char where[64];
    ssize_t size;
    if (!ours || fd == record) return 0;
    snprintf(where, sizeof where, "/proc/self/fd/%d", fd);
    if ((size = readlink(where, out, PATH_MAX - 1)) < 0) return 0;
    out[size] = 0;
    char *gone = strstr(out, " (deleted)");
    if (gone) return 0;
    return below(out);
}

static int fails(void)
{
    long now = __atomic_add_fetch(&calls, 1, __ATOMIC_SEQ_CST);
    if (fail_from <= 0 || !(now == fail_from || (lasting && now > fail_from))) return 0;
    errno = fail_with;
    return 1;
}

static void tell(uint32_t kind, const char *first, const char *second, const void *data, size_t size, int64_t offset)
{
    if (record < 0) return;
    int kept = errno;
    struct head head = {kind, strlen(first), second ? strlen(second) : 0, size, offset};
    struct iovec parts[] = {{&head, sizeof head}, {(void *)first, head.first},
                            {(void *)(second ? second : ""), head.second}, {(void *)data, size}};
    syscall(SYS_writev, record, parts, 4);
    errno = kept;
}

#define REAL(name) static typeof(name) *real; if (!real) real = (typeof(name) *)dlsym(RTLD_NEXT, #name)

static int opening(int (*call)(int, const char *, int, mode_t), int at, const char *path, int flags, mode_t mode)
{
    char name[PATH_MAX];
    struct stat before;
    int ours_here = (flags & (O_CREAT | O_TRUNC)) && !(flags & O_DIRECTORY) && full(at, path, name);
    if (!ours_here) return call(at, path, flags, mode);
    int there = fstatat(at, path, &before, 0) == 0;
    if (fails()) return -1;
    int fd = call(at, path, flags, mode);
    if (fd >= 0 && !there) tell(CREATE, name, NULL, NULL, 0, 0);
    else if (fd >= 0 && (flags & O_TRUNC)) tell(TRUNCATE, name, NULL, NULL, 0, 0);
    return fd;
}

static int really_open(int at, const char *path, int flags, mode_t mode) { return syscall(SYS_openat, at, path, flags, mode); }

#define MODE(flags) mode_t mode = 0; if ((flags) & (O_CREAT | O_TMPFILE)) { va_list more; va_start(more, flags); mode = va_arg(more, mode_t); va_end(more); }
int open(const char *path, int flags, ...) { MODE(flags) return opening(really_open, AT_FDCWD, path, flags, mode); }
int open64(const char *path, int flags, ...) { MODE(flags) return opening(really_open, AT_FDCWD, path, flags | O_LARGEFILE, mode); }
int openat(int at, const char *path, int flags, ...) { MODE(flags) return opening(really_open, at, path, flags, mode); }
int openat64(int at, const char *path, int flags, ...) { MODE(flags) return opening(really_open, at, path, flags | O_LARGEFILE, mode); }

static ssize_t wrote(int fd, const void *data, ssize_t size, int64_t offset)
{
    char name[PATH_MAX];
    if (size > 0 && named(fd, name)) tell(WRITE, name, NULL, data, size, offset);
    return size;
}

static int is_file(int fd) { char name[PATH_MAX]; return named(fd, name); }

ssize_t write(int fd, const void *data, size_t size)
{
    if (ours && (fd == 1 || fd == 2)) tell(SAID, "", NULL, data, size, 0);
    if (!is_file(fd)) return syscall(SYS_write, fd, data, size);
    if (fails()) return -1;
    ssize_t done = syscall(SYS_write, fd, data, size);
    return wrote(fd, data, done, done > 0 ? lseek(fd, 0, SEEK_CUR) - done : 0);
}

ssize_t pwrite(int fd, const void *data, size_t size, off_t at)
{
    if (is_file(fd) && fails()) return -1;
    return wrote(fd, data, syscall(SYS_pwrite64, fd, data, size, at), at);
}

ssize_t pwrite64(int fd, const void *data, size_t size, off64_t at) { return pwrite(fd, data, size, at); }

static int synced(int fd, long number)
{
    char name[PATH_MAX];
    int ours_here = named(fd, name);
    if (ours_here && fails()) return -1;
    int done = syscall(number, fd);
    if (done == 0 && ours_here) tell(SYNC, name, NULL, NULL, 0, 0);
    return done;
}

int fsync(int fd) { return synced(fd, SYS_fsync); }
int fdatasync(int fd) { return synced(fd, SYS_fdatasync); }

int ftruncate(int fd, off_t size)
{
    char name[PATH_MAX];
    int ours_here = named(fd, name);
    if (ours_here && fails()) return -1;
    int done = syscall(SYS_ftruncate, fd, size);
    if (done == 0 && ours_here) tell(TRUNCATE, name, NULL, NULL, 0, size);
    return done;
}

int ftruncate64(int fd, off64_t size) { return ftruncate(fd, size); }

static int moving(int from_at, const char *from, int to_at, const char *to, unsigned flags)
{
    char first[PATH_MAX], second[PATH_MAX];
    int ours_here = full(from_at, from, first) && full(to_at, to, second);
    if (ours_here && fails()) return -1;
    int done = syscall(SYS_renameat2, from_at, from, to_at, to, flags);
    if (done == 0 && ours_here) tell(RENAME, first, second, NULL, 0, flags);
    return done;
}

int rename(const char *from, const char *to) { return moving(AT_FDCWD, from, AT_FDCWD, to, 0); }
int renameat(int a, const char *from, int b, const char *to) { return moving(a, from, b, to, 0); }
int renameat2(int a, const char *from, int b, const char *to, unsigned flags) { return moving(a, from, b, to, flags); }

static int removing(int at, const char *path, int flags)
{
    char name[PATH_MAX];
    int ours_here = full(at, path, name);
    if (ours_here && fails()) return -1;
    int done = syscall(SYS_unlinkat, at, path, flags);
    if (done == 0 && ours_here) tell(flags & AT_REMOVEDIR ? RMDIR : UNLINK, name, NULL, NULL, 0, 0);
    return done;
}

int unlink(const char *path) { return removing(AT_FDCWD, path, 0); }
int rmdir(const char *path) { return removing(AT_FDCWD, path, AT_REMOVEDIR); }
int unlinkat(int at, const char *path, int flags) { return removing(at, path, flags); }

static int making(int at, const char *path, mode_t mode)
{
    char name[PATH_MAX];
    int ours_here = full(at, path, name);
    if (ours_here && fails()) return -1;
    int done = syscall(SYS_mkdirat, at, path, mode);
    if (done == 0 && ours_here) tell(MKDIR, name, NULL, NULL, 0, 0);
    return done;
}

int mkdir(const char *path, mode_t mode) { return making(AT_FDCWD, path, mode); }
int mkdirat(int at, const char *path, mode_t mode) { return making(at, path, mode); }

static int linking(int from_at, const char *from, int to_at, const char *to, int flags)
{
    char first[PATH_MAX], second[PATH_MAX];
    int ours_here = full(from_at, from, first) && full(to_at, to, second);
    if (ours_here && fails()) return -1;
    int done = syscall(SYS_linkat, from_at, from, to_at, to, flags);
    if (done == 0 && ours_here) tell(LINK, first, second, NULL, 0, 0);
    return done;
}

int link(const char *from, const char *to) { return linking(AT_FDCWD, from, AT_FDCWD, to, 0); }
int linkat(int a, const char *from, int b, const char *to, int flags) { return linking(a, from, b, to, flags); }

/* Short ways of copying are refused, so that the program takes the long one, which is seen. */
ssize_t sendfile64(int to, int from, off64_t *at, size_t size)
{
    if (is_file(to)) { errno = EINVAL; return -1; }
    return syscall(SYS_sendfile, to, from, at, size);
}
ssize_t sendfile(int to, int from, off_t *at, size_t size) { return sendfile64(to, from, at, size); }
ssize_t copy_file_range(int from, off64_t *a, int to, off64_t *b, size_t size, unsigned flags)
{
    if (is_file(to)) { errno = EXDEV; return -1; }
    return syscall(SYS_copy_file_range, from, a, to, b, size, flags);
}
ssize_t writev(int fd, const struct iovec *parts, int count)
{
    if (!is_file(fd)) return syscall(SYS_writev, fd, parts, count);
    return count > 0 ? write(fd, parts[0].iov_base, parts[0].iov_len) : 0;
}
