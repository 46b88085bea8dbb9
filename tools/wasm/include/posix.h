// What programs for POSIX name and WASI's libc leaves out, force-included in every file: a file system without owners
// and permissions.
#ifndef PLATETALLY_WASM_POSIX_H
#define PLATETALLY_WASM_POSIX_H
#ifndef __ASSEMBLER__

#include <stddef.h>
#include <sys/stat.h>
#include <sys/types.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Does nothing; 022.
mode_t umask(mode_t mask);
/// Do nothing; 0.
int fchmod(int file, mode_t mode);
int fchmodat(int folder, const char* path, mode_t mode, int flags);
/// As POSIX says; names end in digits that count up.
int mkstemp(char* name);
char* realpath(const char* path, char* resolved);

#ifdef __cplusplus
}
#endif

#endif
#endif
