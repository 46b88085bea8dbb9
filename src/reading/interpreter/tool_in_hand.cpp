#include "reading/interpreter/tool_in_hand.hpp"

#include <fmt/format.h>

namespace platetally::interpreter {

int ToolInHand::named_by(const gcode::Words& words, Remarks& remarks) const {
  if (!words.has('T'))
    return feeding_;
  if (has(words['T']))
    return static_cast<int>(words['T']);
  remarks.say(
      "word-for-missing-tool", Severity::warning,
      [&] {
        return fmt::format(
            "a word for tool {}; the machine has tools 0 to {}; the word was left out", words['T'],
            tools_ - 1);
      },
      "Was the plate made for another machine?");
  return kParked;
}

}  // namespace platetally::interpreter
