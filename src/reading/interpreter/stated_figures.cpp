#include "reading/interpreter/stated_figures.hpp"

#include <array>

#include "reading/dialect/text.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::uint64_t kMovesOfFooter = 64;  // an end script parks, lifts and wipes
constexpr std::size_t kMostText = std::size_t{256} << 10;
constexpr std::size_t kMostStatements = 256;
constexpr std::size_t kLookedAt = 80;

/// One of these stands in every statement; no two begin alike.
constexpr std::array<std::string_view, 6> kWords{"filament", "material", "plastic",
                                                 "layer",    "time",     "duration"};

/// By a letter of either case: the word that begins with it.
constexpr std::array<std::string_view, 256> words_by_letter() {
  std::array<std::string_view, 256> by_letter{};
  for (const std::string_view word : kWords)
    for (const std::size_t change : {0x00U, 0x20U})  // of case
      by_letter[static_cast<unsigned char>(word.front()) ^ change] = word;
  return by_letter;
}

/// Whether one of the words stands in it, told at a glance.
bool may_state(std::string_view comment) {
  static constexpr std::array<std::string_view, 256> kByLetter = words_by_letter();
  comment = comment.substr(0, kLookedAt);
  for (std::size_t at = 0; at < comment.size(); ++at) {
    const std::string_view word = kByLetter[static_cast<unsigned char>(comment[at])];
    if (!word.empty() && dialect::starts_without_case(comment.substr(at), word))
      return true;
  }
  return false;
}

}  // namespace

void StatedFigures::read(std::string_view comment, std::uint64_t line) {
  for (gcode::Statement& statement : gcode::read_statements(comment))
    if (found_.size() < kMostStatements)
      found_.push_back({std::move(statement), line});
}

void StatedFigures::take(std::string_view comment, std::uint64_t line, std::uint64_t moves,
                         bool in_header) {
  if (!may_state(comment))
    return;
  if (in_header) {
    read(comment, line);
    return;
  }
  // What came long before this one is no footer.
  if (!kept_.empty() && (kept_.back().moves + kMovesOfFooter < moves || text_.size() > kMostText)) {
    kept_.clear();
    text_.clear();
  }
  comment = comment.substr(0, gcode::kMostStatedBytes);
  kept_.push_back({text_.size(), comment.size(), line, moves});
  text_ += comment;
}

std::vector<StatedAt> StatedFigures::finish(std::uint64_t moves) {
  for (const Kept& kept : kept_)
    if (kept.moves + kMovesOfFooter >= moves)
      read(std::string_view(text_).substr(kept.begin, kept.size), kept.line);
  return std::move(found_);
}

}  // namespace platetally::interpreter
