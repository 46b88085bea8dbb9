// Diagnostics of the line in hand: repeats are counted without building their message again.
#pragma once

#include <string>
#include <string_view>
#include <utility>

#include "base/diagnostics.hpp"
#include "base/excerpt.hpp"

namespace platetally::interpreter {

/// The line that is being interpreted.
struct Place {
  std::uint64_t line = 0;
  std::string_view text;
  std::uint32_t column = 0;
};

class Remarks {
 public:
  Place place;

  /// `message` is called for the first remark of a code only and gives its text. `count`: how often
  /// it was met.
  template <typename Message>
  void say(std::string_view code, Severity severity, Message&& message, std::string_view help = {},
           std::uint64_t count = 1) {
    if (entries_.count_again(code))
      return;
    Diagnostic diagnostic;
    diagnostic.code = code;
    diagnostic.severity = severity;
    diagnostic.line = place.line;
    diagnostic.column = place.column;
    diagnostic.message = std::forward<Message>(message)();
    diagnostic.help = help;
    diagnostic.count = count;
    if (place.column > 0)
      base::set_excerpt(diagnostic, place.text);
    entries_.add(std::move(diagnostic));
  }

  base::Diagnostics& entries() { return entries_; }

 private:
  base::Diagnostics entries_;
};

}  // namespace platetally::interpreter
