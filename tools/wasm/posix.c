// What WASI's libc leaves out; see include/posix.h.
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

mode_t umask(mode_t mask) {
  (void)mask;
  return 022;
}

int fchmod(int file, mode_t mode) {
  (void)file;
  (void)mode;
  return 0;
}

int fchmodat(int folder, const char* path, mode_t mode, int flags) {
  (void)folder;
  (void)path;
  (void)mode;
  (void)flags;
  return 0;
}

int mkstemp(char* name) {
  static unsigned next = 0;
  const size_t length = strlen(name);
  if (length < 6 || strcmp(name + length - 6, "XXXXXX") != 0) {
    errno = EINVAL;
    return -1;
  }
  for (int tries = 0; tries < 1000; ++tries) {
    unsigned number = next++;
    for (size_t i = length - 1; i >= length - 6; --i, number /= 10)
      name[i] = (char)('0' + number % 10);
    const int file = open(name, O_RDWR | O_CREAT | O_EXCL, 0600);
    if (file >= 0 || errno != EEXIST)
      return file;
  }
  errno = EEXIST;
  return -1;
}

/// The path itself, once it is seen to be there, with a link at its end followed.
char* realpath(const char* path, char* resolved) {
  char name[PATH_MAX];
  struct stat status;
  if (stat(path, &status) != 0)
    return NULL;
  if (strlen(path) >= sizeof name) {
    errno = ENAMETOOLONG;
    return NULL;
  }
  strcpy(name, path);
  for (int links = 0; links < 40; ++links) {
    char target[PATH_MAX];
    const ssize_t length = readlink(name, target, sizeof target - 1);
    if (length <= 0)
      break;
    target[length] = '\0';
    const char* slash = target[0] == '/' ? NULL : strrchr(name, '/');
    const size_t before = slash == NULL ? 0 : (size_t)(slash - name) + 1;
    if (before + (size_t)length >= sizeof name) {
      errno = ENAMETOOLONG;
      return NULL;
    }
    strcpy(name + before, target);
  }
  return resolved == NULL ? strdup(name) : strcpy(resolved, name);
}

int statvfs(const char* path, struct statvfs* status) {
  (void)path;
  (void)status;
  errno = ENOSYS;
  return -1;
}
