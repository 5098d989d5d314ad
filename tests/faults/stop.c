/* Stands between a program and the disk. Loaded before the program (LD_PRELOAD), it has the kernel
 * hand it the calls by which Rust's library and ours change files, whoever makes them: a library
 * that asks the kernel itself is caught too. Calls that concern one folder are counted, and at a
 * chosen one the program is killed, or the disk fails. It is told what to do by variables:
 *
 *   FAULTS_UNDER  the folder, without links and without a slash at its end
 *   FAULTS_LOG    a file outside it: a line for each call that was counted
 *   FAULTS_AT     which call, from 1; 0 or nothing: none
 *   FAULTS_DO     kill  before the call is made
 *                 half  after half of the bytes are written (of what writes none: before it)
 *                 once  the call fails
 *                 on    the disk takes half of this call's bytes, and from then on all fail
 *   FAULTS_ERRNO  how it fails
 *   FAULTS_OVER   a file: once it is there, nothing fails any more
 *   FAULTS_CLOCK  seconds by which the clock goes back each time that it is read
 */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <signal.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <time.h>
#include <ucontext.h>
#include <unistd.h>

#if defined(__x86_64__)
#define MACHINE AUDIT_ARCH_X86_64
#define ARGUMENT(c, k)                                                                             \
    ((c)->uc_mcontext.gregs[(const int[]){REG_RDI, REG_RSI, REG_RDX, REG_R10, REG_R8}[k]])
#define ANSWER(c) ((c)->uc_mcontext.gregs[REG_RAX])
#elif defined(__aarch64__)
#define MACHINE AUDIT_ARCH_AARCH64
#define ARGUMENT(c, k) ((c)->uc_mcontext.regs[k])
#define ANSWER(c) ((c)->uc_mcontext.regs[0])
#else
#error "this machine's registers are not known here"
#endif

/* No call here has a sixth argument: with this as one, it is ours and let through. */
#define OURS 0x6368616c

static char under[PATH_MAX], over[PATH_MAX];
static const char *what = "";
static int log_to = -1, wrong;
static long at, counted, clock_step, clock_read;

/* Makes the call itself; the kernel's answer, an error as a negative number. */
static long make(long call, const long a[5]) {
    long done = syscall(call, a[0], a[1], a[2], a[3], a[4], OURS);
    return done < 0 ? -errno : done;
}

static int inside(const char *path) {
    size_t n = strlen(under);
    return n && strncmp(path, under, n) == 0 && (path[n] == '/' || path[n] == 0);
}

static int link_of(char *out, const char *link) {
    ssize_t n = readlink(link, out, PATH_MAX - 1);
    out[n < 0 ? 0 : n] = 0;
    return n > 0;
}

static int of_file(char *out, int fd) {
    char link[32];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    return link_of(out, link);
}

static int of_name(char *out, int from, const char *name) {
    if (name[0] == '/') {
        snprintf(out, PATH_MAX, "%s", name);
        return 1;
    }
    if (!(from == AT_FDCWD ? link_of(out, "/proc/self/cwd") : of_file(out, from)))
        return 0;
    size_t n = strlen(out);
    snprintf(out + n, PATH_MAX - n, "/%s", name);
    return 1;
}

/* Half of the bytes of a call that writes; -1 if it writes none. */
static long half(long call, const long a[5]) {
    long b[5] = {a[0], a[1], a[2], a[3], a[4]};
    if (call == SYS_write || call == SYS_pwrite64) {
        b[2] = a[2] / 2;
        return b[2] ? make(call, b) : 0;
    }
    if (call == SYS_writev) {
        const struct iovec *first = (const struct iovec *)a[1];
        b[1] = (long)first->iov_base;
        b[2] = first->iov_len / 2;
        return a[2] > 0 && b[2] ? make(SYS_write, b) : 0;
    }
    return -1;
}

/* A full disk can still be tidied up. */
static int frees(long call) {
    return call == SYS_ftruncate || call == SYS_unlinkat
#ifdef SYS_unlink
           || call == SYS_unlink
#endif
        ;
}

static long answer(long call, const long a[5]) {
    const char *name = "?";
    char path[PATH_MAX], other[PATH_MAX];
    path[0] = other[0] = 0;
    switch (call) {
    case SYS_write: name = "write"; of_file(path, a[0]); break;
    case SYS_pwrite64: name = "pwrite"; of_file(path, a[0]); break;
    case SYS_writev: name = "writev"; of_file(path, a[0]); break;
    case SYS_ftruncate: name = "cut"; of_file(path, a[0]); break;
    case SYS_fallocate: name = "fallocate"; of_file(path, a[0]); break;
    case SYS_fsync: name = "sync"; of_file(path, a[0]); break;
    case SYS_fdatasync: name = "sync"; of_file(path, a[0]); break;
    case SYS_copy_file_range: name = "copy"; of_file(path, a[2]); break;
    case SYS_sendfile: name = "copy"; of_file(path, a[0]); break;
    case SYS_openat: name = "open"; of_name(path, a[0], (const char *)a[1]); break;
    case SYS_mkdirat: name = "mkdir"; of_name(path, a[0], (const char *)a[1]); break;
    case SYS_unlinkat: name = "unlink"; of_name(path, a[0], (const char *)a[1]); break;
#ifdef SYS_renameat
    case SYS_renameat:
#endif
    case SYS_renameat2:
    case SYS_linkat:
        name = call == SYS_linkat ? "link" : "rename";
        of_name(other, a[0], (const char *)a[1]);
        of_name(path, a[2], (const char *)a[3]);
        break;
#ifdef SYS_open
    case SYS_creat: name = "open"; of_name(path, AT_FDCWD, (const char *)a[0]); break;
    case SYS_mkdir: name = "mkdir"; of_name(path, AT_FDCWD, (const char *)a[0]); break;
    case SYS_unlink: name = "unlink"; of_name(path, AT_FDCWD, (const char *)a[0]); break;
    case SYS_truncate: name = "cut"; of_name(path, AT_FDCWD, (const char *)a[0]); break;
    case SYS_rename:
    case SYS_link:
        name = call == SYS_link ? "link" : "rename";
        of_name(other, AT_FDCWD, (const char *)a[0]);
        of_name(path, AT_FDCWD, (const char *)a[1]);
        break;
#endif
    }
    if (!inside(path) && !inside(other))
        return make(call, a);
    long n = __atomic_add_fetch(&counted, 1, __ATOMIC_SEQ_CST);
    if (log_to >= 0) {
        char line[PATH_MAX + 64];
        int length = snprintf(line, sizeof line, "%ld %s %s\n", n, name, path);
        long own[5] = {log_to, (long)line, length, 0, 0};
        make(SYS_write, own);
    }
    if (!at || n < at)
        return make(call, a);
    if (n == at && strcmp(what, "half") == 0)
        half(call, a);
    if (n == at && (strcmp(what, "half") == 0 || strcmp(what, "kill") == 0)) {
        kill(getpid(), SIGKILL);
        /* The others of this process may still run for a moment: they must change nothing. */
        for (;;)
            pause();
    }
    if (strcmp(what, "kill") == 0 || strcmp(what, "half") == 0)
        for (;;)
            pause();
    int fails = strcmp(what, "on") == 0 || (n == at && strcmp(what, "once") == 0);
    if (!fails || (wrong == ENOSPC && frees(call)) || (over[0] && access(over, F_OK) == 0))
        return make(call, a);
    if (n == at && strcmp(what, "on") == 0) {
        long some = half(call, a);
        if (some > 0)
            return some;
    }
    return -wrong;
}

static void asked(int signal, siginfo_t *about, void *context) {
    ucontext_t *c = context;
    int kept = errno;
    long a[5];
    (void)signal;
    for (int k = 0; k < 5; k++)
        a[k] = ARGUMENT(c, k);
    ANSWER(c) = answer(about->si_syscall, a);
    errno = kept;
}

/* The clock that people read. Programs ask the C library for it, not the kernel. */
int clock_gettime(clockid_t which, struct timespec *now) {
    long done = syscall(SYS_clock_gettime, which, now);
    if (done == 0 && which == CLOCK_REALTIME && clock_step)
        now->tv_sec -= clock_step * __atomic_add_fetch(&clock_read, 1, __ATOMIC_SEQ_CST);
    return done;
}

static void cannot(const char *why) {
    dprintf(2, "faults: %s: %s\n", why, strerror(errno));
    _exit(97);
}

__attribute__((constructor)) static void begin(void) {
    const char *folder = getenv("FAULTS_UNDER"), *text;
    if ((text = getenv("FAULTS_CLOCK")))
        clock_step = atol(text);
    if (!folder)
        return;
    snprintf(under, sizeof under, "%s", folder);
    if ((text = getenv("FAULTS_OVER")))
        snprintf(over, sizeof over, "%s", text);
    if ((text = getenv("FAULTS_LOG")))
        log_to = open(text, O_WRONLY | O_CREAT | O_TRUNC | O_APPEND | O_CLOEXEC, 0600);
    at = (text = getenv("FAULTS_AT")) ? atol(text) : 0;
    what = (text = getenv("FAULTS_DO")) ? text : "";
    wrong = (text = getenv("FAULTS_ERRNO")) ? atoi(text) : EIO;

    static const int calls[] = {
        SYS_write,     SYS_pwrite64,  SYS_writev,   SYS_ftruncate,       SYS_fallocate,
        SYS_fsync,     SYS_fdatasync, SYS_mkdirat,  SYS_copy_file_range, SYS_sendfile,
        SYS_renameat2, SYS_linkat,    SYS_unlinkat,
#ifdef SYS_renameat
        SYS_renameat,
#endif
#ifdef SYS_open
        SYS_creat,     SYS_mkdir,     SYS_unlink,   SYS_truncate,        SYS_rename,
        SYS_link,
#endif
    };
    enum { CALLS = sizeof calls / sizeof *calls };
    struct sock_filter f[2 * CALLS + 16] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, arch)),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, MACHINE, 1, 0),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, args[5])),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, OURS, 0, 1),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
    };
    int n = 7;
    const struct sock_filter trap = BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRAP);
    for (int k = 0; k < CALLS; k++) {
        f[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, calls[k], 0, 1);
        f[n++] = trap;
    }
    /* Of the calls that open, those that may write. */
    f[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_openat, 0, 3);
    f[n++] = (struct sock_filter)BPF_STMT(BPF_LD | BPF_W | BPF_ABS,
                                          offsetof(struct seccomp_data, args[2]));
    f[n++] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, O_WRONLY | O_RDWR | O_CREAT, 0, 1);
    f[n++] = trap;
    f[n++] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);

    struct sigaction act;
    memset(&act, 0, sizeof act);
    act.sa_sigaction = asked;
    act.sa_flags = SA_SIGINFO;
    if (sigaction(SIGSYS, &act, NULL) != 0)
        cannot("sigaction");
    struct sock_fprog all = {.len = n, .filter = f};
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 || prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &all) != 0)
        cannot("the kernel takes no filter");
}
