// For loops of plain arithmetic: the compiler makes a second version with wider registers, and the
// machine that runs them picks. No operation is fused or reordered, so the bits are the same.
#pragma once

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__gnu_linux__)
#define PLATETALLY_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define PLATETALLY_WIDE
#endif

/// Before a loop whose columns do not overlap, where the compiler cannot know.
#if defined(__GNUC__) && !defined(__clang__)
#define PLATETALLY_APART _Pragma("GCC ivdep")
#else
#define PLATETALLY_APART
#endif
