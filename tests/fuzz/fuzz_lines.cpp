// One line after the other through the grammar: whatever the bytes, columns lie in the line, values
// are finite, and a line that commits nothing has no commands.
#include <cmath>
#include <cstdlib>
#include <string_view>

#include "reading/gcode/faults.hpp"
#include "reading/gcode/grammar.hpp"
#include "reading/gcode/plain_moves.hpp"

namespace {

void require(bool holds) {
  if (!holds)
    std::abort();
}

/// The line says the same when it is read word by word.
void require_same(std::string_view text, const platetally::gcode::Line& line) {
  using namespace platetally::gcode;
  static Line slow;
  parse_line_word_by_word(text, slow);
  require(line.commands == slow.commands && line.fault == slow.fault &&
          line.fault_column == slow.fault_column && line.checksum == slow.checksum &&
          line.comment == slow.comment);
  for (std::size_t i = 0; i < line.commands; ++i) {
    const Command& a = line.command[i];
    const Command& b = slow.command[i];
    require(a.kind == b.kind && a.letter == b.letter && a.number == b.number &&
            a.fraction == b.fraction && a.text == b.text && a.name == b.name &&
            a.words.mask == b.words.mask && a.words.bare == b.words.bare);
    for (char letter = 'A'; letter <= 'Z'; ++letter)
      require(!a.words.has(letter) || a.words[letter] == b.words[letter]);
  }
}

/// Plain moves that are read many at once say what they say one by one.
void require_plain_moves(std::string_view rest) {
  using namespace platetally::gcode;
  static PlainMoves moves;
  static Line line;
  const char* at = rest.data();
  const char* const last = at + rest.size();
  while (at != last) {
    moves.read(at, last);
    for (std::size_t i = 0; i < moves.size(); ++i) {
      at = parse_line(at, last, line);
      require(at == moves.next(i) && line.commands == 1 && line.fault == LineFault::none &&
              line.comment.data() == nullptr && line.checksum == Checksum::absent);
      const Command& command = line.command[0];
      require(command.letter == 'G' && command.fraction < 0 && command.words.bare == 0 &&
              command.number == (moves.is_rapid(i) ? 0 : 1));
      std::uint32_t mask = 0;
      for (const auto word : {PlainMoves::kX, PlainMoves::kY, PlainMoves::kE, PlainMoves::kF}) {
        if (!moves.has(i, word))
          continue;
        const char letter = "XYEF"[word];
        mask |= 1U << Words::index(letter);
        require(moves.value(i, word) == command.words[letter]);
      }
      require(mask == command.words.mask);
    }
    if (at != last)
      at = parse_line(at, last, line);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally::gcode;
  std::string_view rest(reinterpret_cast<const char*>(data), size);
  static Line line;
  require_plain_moves(rest);
  while (!rest.empty()) {
    const std::size_t end = rest.find('\n');
    const std::string_view text = rest.substr(0, end);
    parse_line(text, line);
    require(line.commands <= kMostCommands);
    require(line.fault_column <= text.size() + 1);
    for (std::size_t i = 0; i < line.commands; ++i)
      for (char letter = 'A'; letter <= 'Z'; ++letter)
        if (line.command[i].words.has(letter))
          require(std::isfinite(line.command[i].words[letter]));
    require_same(text, line);
    if (line.fault != LineFault::none)
      require(!describe_fault(line, text, 1).message.empty());
    if (end == std::string_view::npos)
      break;
    rest.remove_prefix(end + 1);
  }
  return 0;
}
