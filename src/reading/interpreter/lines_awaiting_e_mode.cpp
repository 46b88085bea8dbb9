#include "reading/interpreter/lines_awaiting_e_mode.hpp"

#include <algorithm>

namespace platetally::interpreter {

namespace {

/// The piece of `to` that `view` is of `from`, whose copy `to` is.
std::string_view moved(std::string_view view, std::string_view from, std::string_view to) {
  if (view.empty())
    return {};
  return to.substr(static_cast<std::size_t>(view.data() - from.data()), view.size());
}

}  // namespace

void LinesAwaitingEMode::push(const gcode::Line& line, std::string_view text,
                              std::uint64_t number) {
  Held held;
  held.bytes = std::make_unique<char[]>(text.size());
  held.size = text.size();
  std::copy(text.begin(), text.end(), held.bytes.get());
  held.commands.assign(line.command.begin(),
                       line.command.begin() + static_cast<std::ptrdiff_t>(line.commands));
  for (gcode::Command& command : held.commands) {
    command.name = moved(command.name, text, held.text());
    command.text = moved(command.text, text, held.text());
  }
  held.comment = moved(line.comment, text, held.text());
  held.comment_is_alone = line.comment_is_alone;
  held.number = number;
  bytes_ += text.size();
  lines_.push_back(std::move(held));
}

void LinesAwaitingEMode::restore(const Held& held, gcode::Line& line) {
  std::copy(held.commands.begin(), held.commands.end(), line.command.begin());
  line.commands = held.commands.size();
  line.comment = held.comment;
  line.comment_is_alone = held.comment_is_alone;
}

}  // namespace platetally::interpreter
