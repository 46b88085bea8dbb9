#include "reading/interpreter/distance_words_evidence.hpp"

#include <algorithm>

#include "base/units.hpp"

namespace platetally::interpreter {

bool DistanceWordsEvidence::is_clear_by_size() const {
  const auto [less_mm, more_mm] = std::minmax(if_absolute_.moved_mm, if_relative_.moved_mm);
  return more_mm >= kClear_mm && more_mm >= kClearRatio * less_mm;
}

bool DistanceWordsEvidence::is_clear() const {
  return is_clear_by_size() || is_clear_by_bead();
}

bool DistanceWordsEvidence::says_relative() const {
  if (!is_clear_by_size())
    if (const ExtrusionEvidence::Verdict bead = bead_.verdict(); !bead.by_default)
      return bead.relative;
  return if_relative_.moved_mm < if_absolute_.moved_mm - kSame_mm;
}

void DistanceWordsEvidence::take(const gcode::Command& command) {
  bead_.take(command);
  if (command.is_motion()) {
    if (command.words.has('E'))
      take_e(command.words['E'] * unit_mm_);
  } else if (command.is('M', 83)) {
    settled_ = true;
  } else if (command.is('G', 20)) {
    unit_mm_ = base::kMmPerInch;
  } else if (command.is('G', 21)) {
    unit_mm_ = 1.0;
  } else if (command.is('G', 90) || command.is('G', 91)) {
    relative_distances_ = command.is('G', 91);
  } else if (command.is('G', 92) &&
             (command.words.has('E') || (command.words.mask | command.words.bare) == 0)) {
    set_e(command.words.get('E', 0.0) * unit_mm_);
  }
}

void DistanceWordsEvidence::take_e(double word_mm) {
  if_absolute_.feed(word_mm - if_absolute_.register_mm);
  if (relative_distances_) {
    if_relative_.feed(word_mm);
    return;
  }
  if_relative_.feed(word_mm - if_relative_.register_mm);
  settled_ = true;
}

void DistanceWordsEvidence::set_e(double e_mm) {
  if_absolute_.register_mm = if_relative_.register_mm = e_mm;
  settled_ = true;
}

}  // namespace platetally::interpreter
