// Room on a disk: WASI does not tell; statvfs() says ENOSYS.
#ifndef PLATETALLY_WASM_STATVFS_H
#define PLATETALLY_WASM_STATVFS_H

struct statvfs {
  unsigned long f_bsize;
  unsigned long f_frsize;
  unsigned long f_blocks;
  unsigned long f_bfree;
  unsigned long f_bavail;
};

#ifdef __cplusplus
extern "C"
#endif
    int
    statvfs(const char* path, struct statvfs* status);

#endif
