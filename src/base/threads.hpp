// Threads, where the machine that runs the program has them; the results are the same without.
#pragma once

namespace platetally::base {

#ifdef __wasm__
inline constexpr bool kHasThreads = false;
#else
inline constexpr bool kHasThreads = true;
#endif

/// How many of the `wanted` threads there are, counting the one that asks.
constexpr int threads_of(int wanted) {
  return kHasThreads ? wanted : 1;
}

}  // namespace platetally::base
