#include "reading/interpreter/extrusion_evidence.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace platetally::interpreter {

void ExtrusionEvidence::Reading::add(double feed_mm, double path_mm) {
  if (feed_mm <= 0.0) {
    drawing += feed_mm < 0.0 ? 1 : 0;
    return;
  }
  const double log_ratio = std::log(feed_mm / path_mm);
  ++feeding;
  sum += log_ratio;
  sum_of_squares += log_ratio * log_ratio;
}

double ExtrusionEvidence::Reading::score() const {
  if (feeding == 0)
    return std::numeric_limits<double>::infinity();
  const auto n = static_cast<double>(feeding);
  const double variance = std::max(0.0, sum_of_squares / n - (sum / n) * (sum / n));
  const double drawn_back = static_cast<double>(drawing) / static_cast<double>(feeding + drawing);
  return std::sqrt(variance) + drawn_back;
}

void ExtrusionEvidence::take(const gcode::Command& command) {
  if (command.kind == gcode::CommandKind::motionless) {
    take_move(command.words, !command.words.has('I') && !command.words.has('J'));
    return;
  }
  if (command.kind != gcode::CommandKind::lettered || command.letter != 'G' ||
      command.fraction >= 0)
    return;
  switch (command.number) {
    case 0:
    case 1:
      take_move(command.words, true);
      break;
    case 2:
    case 3:
      take_move(command.words, false);
      break;
    case 90:
      relative_xy_ = false;
      break;
    case 91:
      relative_xy_ = true;
      break;
    case 92:
      e_mm_ = command.words.get('E', command.words.mask == 0 ? 0.0 : e_mm_);
      knows_x_ = knows_x_ && !command.words.has('X');
      knows_y_ = knows_y_ && !command.words.has('Y');
      break;
    default:
      break;
  }
}

void ExtrusionEvidence::take_move(const gcode::Words& words, bool straight) {
  double dx_mm = 0.0, dy_mm = 0.0;
  bool knows_path = straight;
  const auto advance = [&](char letter, double& at_mm, bool& knows, double& step_mm) {
    if (!words.has(letter))
      return;
    if (relative_xy_) {
      step_mm = words[letter];
      knows = false;
      return;
    }
    knows_path = knows_path && knows;
    step_mm = words[letter] - at_mm;
    at_mm = words[letter];
    knows = true;
  };
  advance('X', x_mm_, knows_x_, dx_mm);
  advance('Y', y_mm_, knows_y_, dy_mm);
  if (!words.has('E'))
    return;
  const double before_mm = e_mm_;
  e_mm_ = words['E'];
  const double path_mm = std::hypot(dx_mm, dy_mm);
  if (!knows_path || !(path_mm > 0.0))
    return;
  ++moves_;
  absolute_.add(e_mm_ - before_mm, path_mm);
  relative_.add(e_mm_, path_mm);
}

ExtrusionEvidence::Verdict ExtrusionEvidence::verdict() const {
  Verdict verdict;
  if (moves_ < kLeastMoves)
    return verdict;
  verdict.absolute_score = absolute_.score();
  verdict.relative_score = relative_.score();
  verdict.by_default = !(std::abs(verdict.absolute_score - verdict.relative_score) >= kLeastMargin);
  verdict.relative = !verdict.by_default && verdict.relative_score < verdict.absolute_score;
  return verdict;
}

}  // namespace platetally::interpreter
