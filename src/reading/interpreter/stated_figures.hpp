// What the comments in front of the first layer and behind the last state of the whole plate.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "reading/gcode/stated.hpp"

namespace platetally::interpreter {

/// A statement and where it stands.
struct StatedAt {
  gcode::Statement statement;
  std::uint64_t line = 0;
};

/// Memory is bounded: of the footer the last 256 KiB are kept, and at most 256 statements.
class StatedFigures {
 public:
  /// A comment that stands alone; `moves` so far, `in_header`: no layer has begun.
  void take(std::string_view comment, std::uint64_t line, std::uint64_t moves, bool in_header);
  /// Once, at the end of a plate of so many moves.
  std::vector<StatedAt> finish(std::uint64_t moves);

 private:
  struct Kept {
    std::size_t begin, size;
    std::uint64_t line, moves;
  };

  void read(std::string_view comment, std::uint64_t line);

  std::vector<StatedAt> found_;
  std::string text_;  ///< of comments that may be the footer
  std::vector<Kept> kept_;
};

}  // namespace platetally::interpreter
