#include "reading/interpreter/interpreter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <optional>
#include <string>
#include <utility>

#include "reading/dialect/text.hpp"
#include "reading/gcode/faults.hpp"
#include "reading/interpreter/distance_words_evidence.hpp"
#include "reading/interpreter/extrusion_evidence.hpp"
#include "reading/interpreter/lines_awaiting_e_mode.hpp"
#include "reading/interpreter/modal_machine.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/row_buffer.hpp"

namespace platetally::interpreter {

namespace {

/// A move with an E word: the first one where it matters whether E is absolute.
bool feeds_by_words(const gcode::Command& command) {
  return command.words.has('E') && command.is_motion();
}

/// A word that states the mode, so that nothing need be guessed.
bool states_e_mode(const gcode::Command& command, const Dialect& dialect) {
  return command.is('M', 82) || command.is('M', 83) ||
         (dialect.distance_words_set_e == DistanceWordsSetE::yes &&
          (command.is('G', 90) || command.is('G', 91)));
}

bool is_g91(const gcode::Command& command) {
  return command.is('G', 91);
}

/// Whether a line that could not be read is one of motion: G0 to G3, or axis words alone.
bool begins_move(std::string_view text) {
  const auto skip = [&text](std::string_view characters) {
    text.remove_prefix(std::min(text.find_first_not_of(characters), text.size()));
  };
  using std::string_view_literals::operator""sv;
  constexpr auto kBlanks = " \t/\0"sv;  // and the zeros of a text in wider characters
  constexpr auto kDigits = "0123456789"sv;
  skip(kBlanks);
  if (text.starts_with('N') || text.starts_with('n')) {
    text.remove_prefix(1);
    skip("0123456789 \t\0"sv);
  }
  if (text.empty())
    return false;
  const char letter = dialect::upper(text.front());
  text.remove_prefix(1);
  skip(kBlanks);
  if (letter != 'G')
    return "XYZE"sv.find(letter) != std::string_view::npos && !text.empty() &&
           "0123456789.-+"sv.find(text.front()) != std::string_view::npos;
  while (text.size() > 1 && text.front() == '0' && dialect::is_digit(text[1]))
    text.remove_prefix(1);
  return !text.empty() && text.front() >= '0' && text.front() <= '3' &&
         (text.size() == 1 || kDigits.find(text[1]) == std::string_view::npos);
}

}  // namespace

struct Interpreter::Parts {
  enum class Mode : std::uint8_t {
    known,     ///< stated, set by the machine file, or decided
    unknown,   ///< not stated, and no E word yet
    holding,   ///< lines wait for the evidence
    doubting,  ///< known, but G91 may have changed it: lines wait
  };

  Parts(const Machine& the_machine, RowSink& sink)
      : machine(the_machine),
        out(sink),
        modal(the_machine, out, remarks),
        mode(the_machine.dialect.initial_extrusion == ExtrusionMode::detect ? Mode::unknown
                                                                            : Mode::known),
        doubts_g91(the_machine.dialect.distance_words_set_e == DistanceWordsSetE::detect) {}

  void take(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void run(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void take_known(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void watch_e_mode(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void decide_e_mode();
  bool begins_doubt(const gcode::Line& line) const;
  void hold_in_doubt(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void decide_g91();
  void remark_on_faults(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void remark_on_no_motion();
  void finish();

  const Machine& machine;
  Remarks remarks;
  RowBuffer out;
  ModalMachine modal;
  Mode mode;
  ExtrusionEvidence evidence;
  LinesAwaitingEMode held;
  bool doubts_g91;  // and nothing has made it clear yet
  std::optional<DistanceWordsEvidence> g91;
  StatedFigures figures;
  std::vector<StatedAt> stated_at_end;
  std::uint64_t first_e_line = 0;
  std::uint64_t last_line = 0;
  std::uint64_t lines_left_out = 0;
  std::uint64_t moves_left_out = 0;
};

void Interpreter::Parts::take(const gcode::Line& line, std::string_view text,
                              std::uint64_t number) {
  last_line = number;
  if (line.fault != gcode::LineFault::none || line.checksum == gcode::Checksum::wrong) [[unlikely]]
    remark_on_faults(line, text, number);
  if (mode == Mode::unknown || mode == Mode::holding) [[unlikely]] {
    watch_e_mode(line, text, number);
  } else {
    take_known(line, text, number);
  }
}

/// E is absolute or relative, as far as M82 and M83 go.
void Interpreter::Parts::take_known(const gcode::Line& line, std::string_view text,
                                    std::uint64_t number) {
  if (mode == Mode::doubting || (doubts_g91 && begins_doubt(line))) [[unlikely]]
    hold_in_doubt(line, text, number);
  else
    run(line, text, number);
}

void Interpreter::Parts::run(const gcode::Line& line, std::string_view text, std::uint64_t number) {
  if (line.commands == 0 && line.comment.empty())
    return;
  remarks.place = {number, text, 0};
  if (line.comment_is_alone)
    figures.take(line.comment, number, modal.moves(), modal.layers().current() == 0);
  if (modal.ended()) [[unlikely]] {
    if (line.commands > 0)
      remarks.say("after-end", Severity::note, [] {
        return std::string("commands behind the end of the program; they were left out");
      });
    return;
  }
  modal.begin_line(line);
  for (std::size_t i = 0; i < line.commands && !modal.ended(); ++i) {
    remarks.place.column = line.command[i].column;
    modal.run(line.command[i]);
  }
}

void Interpreter::Parts::watch_e_mode(const gcode::Line& line, std::string_view text,
                                      std::uint64_t number) {
  const auto* const begin = line.command.data();
  const auto* const end = begin + line.commands;
  const bool is_stated = std::any_of(begin, end, [this](const gcode::Command& command) {
    return states_e_mode(command, machine.dialect);
  });
  if (is_stated) {
    if (mode == Mode::holding)
      decide_e_mode();
    else
      mode = Mode::known;
    take_known(line, text, number);
    return;
  }
  if (mode == Mode::unknown && std::any_of(begin, end, feeds_by_words)) {
    mode = Mode::holding;
    first_e_line = number;
  }
  for (const auto* command = begin; command != end; ++command)
    evidence.take(*command);
  if (mode == Mode::unknown) {
    run(line, text, number);
    return;
  }
  held.push(line, text, number);
  if (evidence.is_enough() || held.is_full())
    decide_e_mode();
}

void Interpreter::Parts::decide_e_mode() {
  const ExtrusionEvidence::Verdict verdict = evidence.verdict();
  const char* const name = verdict.relative ? "relative" : "absolute";
  const bool assumed = verdict.by_default;
  remarks.place = {first_e_line, {}, 0};
  remarks.say(
      assumed ? "extrusion-mode-assumed" : "extrusion-mode-detected", Severity::note,
      [&] {
        if (assumed)
          return fmt::format(
              "the plate feeds filament without a word for absolute or relative E (M82, M83), and "
              "its {} first moves do not decide it; E was read as {}, as most controllers do",
              evidence.moves(), name);
        return fmt::format(
            "the plate feeds filament without a word for absolute or relative E (M82, M83); E was "
            "read as {}: over {} moves the feed per millimetre is uneven by {:.2f} if absolute, by "
            "{:.2f} if relative",
            name, evidence.moves(), verdict.absolute_score, verdict.relative_score);
      },
      "dialect.initial_extrusion in the machine file settles it.");
  mode = Mode::known;
  modal.set_e_mode(verdict.relative);
  held.release([this](const gcode::Line& line, std::string_view text, std::uint64_t number) {
    take_known(line, text, number);
  });
}

/// It feeds by a word, in relative distances, while E is said to be absolute.
bool Interpreter::Parts::begins_doubt(const gcode::Line& line) const {
  if (modal.stated_e_relative() || modal.ended())
    return false;
  const auto* const begin = line.command.data();
  const auto* const end = begin + line.commands;
  return (modal.relative_distances() || (line.commands > 1 && std::any_of(begin, end, is_g91))) &&
         std::any_of(begin, end, feeds_by_words);
}

void Interpreter::Parts::hold_in_doubt(const gcode::Line& line, std::string_view text,
                                       std::uint64_t number) {
  if (mode != Mode::doubting) {
    mode = Mode::doubting;
    first_e_line = number;
    g91.emplace(modal.e_register(), modal.e_unit_mm(), modal.relative_distances());
  }
  for (std::size_t i = 0; i < line.commands; ++i)
    g91->take(line.command[i]);
  held.push(line, text, number);
  if (g91->is_decided() || held.is_full())
    decide_g91();
}

void Interpreter::Parts::decide_g91() {
  const bool relative = g91->says_relative();
  remarks.place = {first_e_line, {}, 0};
  if (g91->readings_differ())
    remarks.say(
        "extrusion-in-relative-distances", Severity::note,
        [&] {
          const double absolute_mm = g91->moved_if_absolute_mm();
          const double relative_mm = g91->moved_if_relative_mm();
          return fmt::format(
              "G91 makes distances relative while E is absolute by M82; controllers differ in "
              "whether that makes E relative too; E was read as {}, which feeds and draws back "
              "{:.5g} mm here, and not {:.5g} mm",
              relative ? "relative" : "absolute", relative ? relative_mm : absolute_mm,
              relative ? absolute_mm : relative_mm);
        },
        "dialect.distance_words_set_e in the machine file settles it.");
  doubts_g91 = !g91->is_clear() && !held.is_full();
  mode = Mode::known;
  modal.let_distances_set_e(relative);
  held.release([this](const gcode::Line& line, std::string_view text, std::uint64_t number) {
    run(line, text, number);
  });
  if (doubts_g91)
    modal.let_distances_set_e(false);
}

void Interpreter::Parts::remark_on_faults(const gcode::Line& line, std::string_view text,
                                          std::uint64_t number) {
  if (line.checksum == gcode::Checksum::wrong) {
    const std::uint32_t column = line.fault == gcode::LineFault::none ? line.fault_column : 0;
    remarks.place = {number, text, column};
    remarks.say("checksum-wrong", Severity::warning, [] {
      return std::string(
          "the line's checksum does not fit its bytes; a controller would ask for the line again; "
          "it was taken as it stands");
    });
  }
  if (line.fault == gcode::LineFault::none)
    return;
  if (gcode::leaves_line_out(line.fault)) {
    ++lines_left_out;
    moves_left_out += begins_move(text) ? 1U : 0U;
  }
  if (!remarks.entries().count_again(gcode::code_of(line.fault)))
    remarks.entries().add(gcode::describe_fault(line, text, number));
}

void Interpreter::Parts::remark_on_no_motion() {
  remarks.place = {last_line, {}, 0};
  const std::vector<UnaccountedWord> words = modal.unaccounted_words();
  remarks.say(
      "no-motion", Severity::error,
      [&] {
        if (words.empty())
          return std::string("the file contains no moves; expected G0, G1, G2 or G3");
        return fmt::format(
            "no move was understood; {} commands are in {} words that nothing explains, most often "
            "{} ({} times, first in line {})",
            modal.unaccounted(), words.size(), words.front().word, words.front().count,
            words.front().first_line);
      },
      words.empty() ? "" : "Explain the machine's own words in its file: dialect.rows.");
}

void Interpreter::Parts::finish() {
  if (mode == Mode::holding)
    decide_e_mode();
  if (mode == Mode::doubting)
    decide_g91();
  stated_at_end = figures.finish(modal.moves());
  remarks.place = {last_line, {}, 0};
  modal.remark_on_end();
  if (modal.moves() == 0)
    remark_on_no_motion();
  Record end;
  end.kind = RecordKind::end_of_plate;
  end.flags = 0;
  end.tool = -1;
  end.line = last_line;
  end.motion_s = 0.0;
  end.event = {};
  out.push(end);
  out.flush();
}

Interpreter::Interpreter(const Machine& machine, RowSink& sink)
    : parts_(std::make_unique<Parts>(machine, sink)) {}

Interpreter::~Interpreter() = default;

void Interpreter::watch_objects() {
  parts_->modal.objects().watch();
}

const std::vector<std::string>& Interpreter::object_names() const {
  return parts_->modal.objects().names();
}

void Interpreter::take(const gcode::Line& line, std::string_view text, std::uint64_t line_number) {
  parts_->take(line, text, line_number);
}

bool Interpreter::takes_plain_moves() const {
  return parts_->mode == Parts::Mode::known && parts_->modal.takes_plain_moves();
}

std::size_t Interpreter::take(const gcode::PlainMoves& moves, std::size_t first,
                              std::uint64_t first_line_number) {
  const std::size_t taken = parts_->modal.take_plain_moves(moves, first, first_line_number);
  if (taken > 0)
    parts_->last_line = first_line_number + taken - 1;
  return taken;
}

void Interpreter::finish() {
  parts_->finish();
}

const base::Diagnostics& Interpreter::diagnostics() const {
  return parts_->remarks.entries();
}

std::vector<UnaccountedWord> Interpreter::unaccounted() const {
  return parts_->modal.unaccounted_words();
}

std::vector<LimitWord> Interpreter::read_by_key() const {
  std::vector<LimitWord> list;
  for (const auto& [word, counted] : parts_->modal.read_by_key().by_word())
    list.push_back({word, counted.count, counted.first_line});
  std::ranges::stable_sort(list, std::greater(), &LimitWord::count);
  return list;
}

const std::vector<double>& Interpreter::layer_heights_mm() const {
  return parts_->modal.layers().heights_mm();
}

std::uint64_t Interpreter::understood() const {
  return parts_->modal.understood();
}

std::uint64_t Interpreter::moves() const {
  return parts_->modal.moves();
}

std::uint64_t Interpreter::lines_left_out() const {
  return parts_->lines_left_out;
}

std::uint64_t Interpreter::moves_left_out() const {
  return parts_->moves_left_out + parts_->modal.moves_out_of_range();
}

std::vector<StatedAt> Interpreter::stated() const {
  return parts_->stated_at_end;
}

std::vector<MissingTool> Interpreter::missing_tools() const {
  return parts_->modal.missing_tools().list();
}

std::uint64_t Interpreter::tool_selects() const {
  return parts_->modal.tool_selects();
}

}  // namespace platetally::interpreter
