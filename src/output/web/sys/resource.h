// What the program has taken so far; WASI's libc tells of no memory.
#pragma once

#include <sys/time.h>

#define RUSAGE_SELF 0

struct rusage {
  struct timeval ru_utime;
  struct timeval ru_stime;
  long ru_maxrss;  ///< KiB; memory is never given back, so this is the most
};

inline int getrusage(int, struct rusage* usage) {
  constexpr long kKibibytesPerPage = 64;
  *usage = {};
  usage->ru_maxrss = static_cast<long>(__builtin_wasm_memory_size(0)) * kKibibytesPerPage;
  return 0;
}
