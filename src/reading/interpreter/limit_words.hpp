// Words that set limits of the motion, and factors on feed and flow.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "platetally/machine.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/events.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/word_counts.hpp"

namespace platetally::interpreter {

/// `unit_mm`: of the words.
class LimitWords {
 public:
  /// All must outlive it.
  LimitWords(const Machine& machine, Events& events, Remarks& remarks)
      : machine_(machine), events_(events), remarks_(remarks) {}

  void run_axes(const gcode::Words& words, double unit_mm, Limit limit, bool honoured);
  void run_acceleration(const gcode::Words& words, double unit_mm);
  void run_corner(const gcode::Words& words, double unit_mm);
  /// A word that nothing explains, but whose keys do. False: they do not.
  bool run_by_key(const gcode::Command& command);
  /// What M220 or M221 states, as a factor; nothing where it is none that is obeyed.
  std::optional<double> read_factor(const gcode::Words& words, const char* word);
  /// As a machine file names the limit.
  void set_by_name(std::string_view name, double value);

  /// Words whose limits were read by the English in their keys.
  const WordCounts& read_by_key() const { return read_by_key_; }

 private:
  void run_one_acceleration(const gcode::Words& words, double unit_mm);
  void push(Limit limit, const std::array<double, 4>& values);
  void set_pair(Limit limit, double value, double y_value, bool may_be_zero);
  void set(Limit limit, double value, bool may_be_zero = false);
  void set_x_and_y(Limit limit, double value);
  bool honours(bool honoured, const char* word);

  const Machine& machine_;
  Events& events_;
  Remarks& remarks_;
  WordCounts read_by_key_;
};

}  // namespace platetally::interpreter
