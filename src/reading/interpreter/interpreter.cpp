#include "reading/interpreter/interpreter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <utility>

#include "reading/gcode/faults.hpp"
#include "reading/interpreter/extrusion_evidence.hpp"
#include "reading/interpreter/lines_awaiting_e_mode.hpp"
#include "reading/interpreter/modal_machine.hpp"
#include "reading/interpreter/record_buffer.hpp"
#include "reading/interpreter/remarks.hpp"

namespace platetally::interpreter {

namespace {

/// A move with an E word: the first one where it matters whether E is absolute.
bool feeds_by_words(const gcode::Command& command) {
  if (!command.words.has('E'))
    return false;
  if (command.kind == gcode::CommandKind::motionless)
    return true;
  return command.kind == gcode::CommandKind::lettered && command.letter == 'G' &&
         command.number >= 0 && command.number <= 3 && command.fraction < 0;
}

/// A word that states the mode, so that nothing need be guessed.
bool states_e_mode(const gcode::Command& command, const Dialect& dialect) {
  if (command.kind != gcode::CommandKind::lettered || command.fraction >= 0)
    return false;
  if (command.letter == 'M')
    return command.number == 82 || command.number == 83;
  return dialect.distance_words_set_e && command.letter == 'G' &&
         (command.number == 90 || command.number == 91);
}

}  // namespace

struct Interpreter::Parts {
  enum class Mode : std::uint8_t {
    known,    ///< stated, set by the machine file, or decided
    unknown,  ///< not stated, and no E word yet
    holding,  ///< lines wait for the evidence
  };

  Parts(const Machine& the_machine, RecordSink& sink)
      : machine(the_machine),
        out(sink),
        modal(the_machine, out, remarks),
        mode(the_machine.dialect.initial_extrusion == ExtrusionMode::detect ? Mode::unknown
                                                                            : Mode::known) {}

  void take(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void run(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void watch_e_mode(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void decide_e_mode();
  void remark_on_faults(const gcode::Line& line, std::string_view text, std::uint64_t number);
  void remark_on_no_motion();
  void finish();

  const Machine& machine;
  Remarks remarks;
  RecordBuffer out;
  ModalMachine modal;
  Mode mode;
  ExtrusionEvidence evidence;
  LinesAwaitingEMode held;
  std::uint64_t first_e_line = 0;
  std::uint64_t last_line = 0;
  std::array<std::string, 16> fault_codes;  // of the faults met so far
};

void Interpreter::Parts::take(const gcode::Line& line, std::string_view text,
                              std::uint64_t number) {
  last_line = number;
  if (line.fault != gcode::LineFault::none || line.checksum == gcode::Checksum::wrong) [[unlikely]]
    remark_on_faults(line, text, number);
  if (mode != Mode::known) [[unlikely]] {
    watch_e_mode(line, text, number);
  } else {
    run(line, text, number);
  }
}

void Interpreter::Parts::run(const gcode::Line& line, std::string_view text, std::uint64_t number) {
  if (line.commands == 0 && line.comment.empty())
    return;
  remarks.place = {number, text, 0};
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
  const bool stated = std::any_of(begin, end, [this](const gcode::Command& command) {
    return states_e_mode(command, machine.dialect);
  });
  if (stated) {
    if (mode == Mode::holding)
      decide_e_mode();
    mode = Mode::known;
    run(line, text, number);
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
    run(line, text, number);
  });
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
  std::string& code = fault_codes[static_cast<std::size_t>(line.fault)];
  if (code.empty()) {
    Diagnostic fault = gcode::describe_fault(line, text, number);
    code = fault.code;
    remarks.entries().add(std::move(fault));
  } else {
    remarks.entries().count_again(code);
  }
}

void Interpreter::Parts::remark_on_no_motion() {
  remarks.place = {last_line, {}, 0};
  const std::vector<UnaccountedWord> words = modal.unaccounted().list();
  remarks.say(
      "no-motion", Severity::error,
      [&] {
        if (words.empty())
          return std::string("the plate moves nothing; expected G0, G1, G2 or G3");
        return fmt::format(
            "no move was understood; {} commands are in {} words that nothing explains, most often "
            "{} ({} times, first in line {})",
            modal.unaccounted().count(), words.size(), words.front().word, words.front().count,
            words.front().first_line);
      },
      words.empty() ? "" : "Explain the machine's own words in its file: dialect.rows.");
}

void Interpreter::Parts::finish() {
  if (mode == Mode::holding)
    decide_e_mode();
  remarks.place = {last_line, {}, 0};
  modal.remark_on_end();
  if (modal.moves() == 0)
    remark_on_no_motion();
  Record& end = out.next(RecordKind::end_of_plate, last_line);
  end.tool = -1;
  end.event = {};
  out.flush();
}

Interpreter::Interpreter(const Machine& machine, RecordSink& sink)
    : parts_(std::make_unique<Parts>(machine, sink)) {}

Interpreter::~Interpreter() = default;

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
  return parts_->modal.unaccounted().list();
}

std::vector<UnaccountedWord> Interpreter::read_by_key() const {
  return parts_->modal.read_by_key().list();
}

const std::vector<double>& Interpreter::layer_heights_mm() const {
  return parts_->modal.layers().heights_mm();
}

std::uint64_t Interpreter::tool_selects() const {
  return parts_->modal.tool_selects();
}

}  // namespace platetally::interpreter
