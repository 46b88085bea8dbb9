// How a run ends. docs/command-line.md promises these.
#pragma once

namespace platetally::cli {

inline constexpr int kDone = 0;
inline constexpr int kLimitExceeded = 1;
inline constexpr int kFailed =
    2;  ///< bad usage, unreadable input, unwritable output, internal error

}  // namespace platetally::cli
