// Lines that wait until it is known what their E words mean.
#pragma once

#include <cstdint>
#include <memory>
#include <string_view>
#include <utility>
#include <vector>

#include "reading/gcode/words.hpp"

namespace platetally::interpreter {

/// Keeps lines with the text that their views point into; bounded by is_full() and one line more.
class LinesAwaitingEMode {
 public:
  void push(const gcode::Line& line, std::string_view text, std::uint64_t number);
  bool is_full() const { return lines_.size() >= kMostLines || bytes_ >= kMostBytes; }

  /// Calls run(line, text, number) for each in order, and forgets them.
  template <typename Run>
  void release(Run&& run) {
    const std::vector<Held> lines = std::exchange(lines_, {});
    bytes_ = 0;
    gcode::Line line;
    for (const Held& held : lines) {
      restore(held, line);
      run(line, held.text(), held.number);
    }
  }

 private:
  static constexpr std::size_t kMostLines = 8192;
  static constexpr std::size_t kMostBytes = 4U << 20;

  struct Held {
    std::unique_ptr<char[]> bytes;
    std::size_t size = 0;
    std::vector<gcode::Command> commands;
    std::string_view comment;
    bool comment_is_alone = false;
    std::uint64_t number = 0;
    std::string_view text() const { return {bytes.get(), size}; }
  };
  static void restore(const Held& held, gcode::Line& line);

  std::vector<Held> lines_;
  std::size_t bytes_ = 0;
};

}  // namespace platetally::interpreter
