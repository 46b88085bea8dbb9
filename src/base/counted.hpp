// A number of things in words: "1 swap", "3 swaps".
#pragma once

#include <fmt/format.h>

#include <cstdint>
#include <string>
#include <string_view>

namespace platetally::base {

/// `many`: of more than one; empty: `one` with an s.
inline std::string counted(std::uint64_t count, std::string_view one, std::string_view many = {}) {
  return count == 1     ? fmt::format("1 {}", one)
         : many.empty() ? fmt::format("{} {}s", count, one)
                        : fmt::format("{} {}", count, many);
}

}  // namespace platetally::base
