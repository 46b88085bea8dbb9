// The state that words change and that gives later words their meaning, and the records that they
// make. One method a family of words; the families live in modal_*.cpp.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/dialect/table.hpp"
#include "reading/gcode/plain_moves.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/arcs.hpp"
#include "reading/interpreter/comment_marks.hpp"
#include "reading/interpreter/layer_finder.hpp"
#include "reading/interpreter/missing_tools.hpp"
#include "reading/interpreter/record.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/row_buffer.hpp"
#include "reading/interpreter/tall_prime_tower.hpp"
#include "reading/interpreter/unaccounted.hpp"
#include "reading/interpreter/word_counts.hpp"

namespace platetally::interpreter {

/// A thousand kilometres: no machine, and small enough for all later arithmetic.
inline constexpr double kMost_mm = 1e9;
/// No machine draws back more at once.
inline constexpr double kLongestRetraction_mm = 1000.0;

class ModalMachine {
 public:
  ModalMachine(const Machine& machine, RowBuffer& out, Remarks& remarks);

  /// Comments of the line whose commands come next.
  void begin_line(const gcode::Line& line);
  /// One command at remarks.place.
  void run(const gcode::Command& command);
  /// Whether the modes in force are the usual ones, in which take_plain_moves() takes any.
  bool takes_plain_moves() const;
  /// Takes lines that are nothing but G0 or G1 with words of X, Y, E and F: the moves from `first`
  /// on, up to one that asks for more, as it lays outside the layer in force or says what must be
  /// remarked on. Does what begin_line() and run() would do, for nearly every line of nearly every
  /// plate. Returns how many it took.
  std::size_t take_plain_moves(const gcode::PlainMoves& moves, std::size_t first,
                               std::uint64_t first_line);

  bool ended() const { return ended_; }
  /// What M82 and M83 state.
  void set_e_mode(bool relative) {
    stated_e_relative_ = relative;
    update_e_mode();
  }
  /// Whether relative distances make E relative too.
  void let_distances_set_e(bool set) {
    distances_set_e_ = set;
    update_e_mode();
  }
  bool stated_e_relative() const { return stated_e_relative_; }
  bool relative_distances() const { return relative_; }
  double e_register() const { return e_register_; }
  double e_unit_mm() const { return volumetric_ ? 1.0 : unit_mm_; }
  std::uint64_t moves() const { return moves_; }
  std::uint64_t tool_selects() const { return tool_selects_; }
  std::uint64_t unaccounted() const { return unaccounted_.count(); }
  std::vector<UnaccountedWord> unaccounted_words() const {
    return unaccounted_.list(heats_nozzle_ || layers_.current() == 0);
  }
  const MissingTools& missing_tools() const { return missing_; }
  /// Command words with a meaning.
  std::uint64_t understood() const { return understood_ + moves_; }
  std::uint64_t moves_out_of_range() const { return moves_out_of_range_; }
  /// Words whose limits were read by the English in their keys.
  const WordCounts& read_by_key() const { return read_by_key_; }
  const LayerFinder& layers() const { return layers_; }
  /// What is open at the end of the plate and should not be.
  void remark_on_end();

 private:
  using Vector3 = std::array<double, 3>;
  enum class MotionWord : std::uint8_t { none, rapid, line, arc_clockwise, arc_counter_clockwise };

  /// What a tool's words have set.
  struct ToolState {
    double set_c = 0.0;      // set point in force
    double active_c = 0.0;   // G10 P S
    double standby_c = 0.0;  // G10 P R
    bool has_standby = false;
    double flow_factor = 1.0;
    double filament_mm = 1.75;  // for volumetric E
  };

  /// A branch of a run-time condition.
  struct Branch {
    bool take_first;
    bool in_first;
    bool runs() const { return take_first == in_first; }
  };

  void dispatch(const gcode::Command& command, dialect::Found found);
  bool dispatch_motion(const gcode::Command& command, dialect::Meaning meaning);
  bool dispatch_heat(const gcode::Command& command, dialect::Meaning meaning);
  bool dispatch_limits(const gcode::Command& command, dialect::Meaning meaning);
  bool dispatch_filament(const gcode::Command& command, dialect::Meaning meaning);
  void count_unaccounted(const gcode::Command& command);

  // modal_motion.cpp
  void run_motionless(const gcode::Command& command);
  void run_straight(const gcode::Words& words, bool rapid);
  void run_arc(const gcode::Words& words, bool clockwise);
  std::optional<Arc> read_arc(const gcode::Words& words, bool clockwise, const Vector3& to_mm);
  void remark_on_arc(const Arc& arc);
  /// Where the words of a move lead.
  struct Straight {
    Vector3 to_mm;
    double e_mm = 0.0;
    double e_after;  ///< the register behind it
    bool is_in_range() const {
      return std::abs(to_mm[0]) + std::abs(to_mm[1]) + std::abs(to_mm[2]) + std::abs(e_mm) <
             kMost_mm;
    }
  };
  template <typename Words>
  Vector3 target(const Words& words) const;
  template <typename Words>
  Straight read_straight(const Words& words) const;
  void update_e_mode() { e_relative_ = stated_e_relative_ || (relative_ && distances_set_e_); }
  void read_feed(const gcode::Words& words);
  bool keep_in_range(const Straight& way);
  void remark_on_switched_extruder();
  void remark_on_retraction(double e_mm);
  void emit_move(const Vector3& to_mm, double e_mm, bool rapid, const Arc* arc);
  void push_move(const Vector3& to_mm, double e_mm, bool rapid, const Arc* arc);
  double inverse_time_feed_mm_s(const Run& run, const Vector3& to_mm, double e_mm) const;
  /// Decides the layer of a move that lays material; false where its height has none.
  bool place_in_layer(const Vector3& to_mm);
  bool lies_off_the_part(const Vector3& to_mm) const;
  bool may_open_layer(const Vector3& to_mm);

  // modal_plain.cpp
  static constexpr std::size_t kMany = 5;  // strokes, to be worth taking side by side
  bool take_strokes(const gcode::PlainMoves& moves, std::size_t first, std::size_t count);
  bool take_plain_move(const gcode::PlainMoves& moves, std::size_t move, std::uint64_t line);

  // modal_position.cpp
  void set_position(const gcode::Words& words);
  void clear_offsets(bool for_good);
  void home(const gcode::Words& words);
  void probe(const gcode::Words& words);
  void turn_motors(bool on, const gcode::Words& words);
  void wake_motors();

  // modal_time.cpp
  void dwell(const gcode::Words& words);
  void pause(const gcode::Words& words);
  void emit_seconds(RecordKind kind, double seconds);
  double stated_seconds(const gcode::Words& words) const;

  // modal_heat.cpp
  void set_heater(Heater heater, const gcode::Words& words, bool waits);
  void emit_heater(Heater heater, int tool, double set_c);
  void emit_wait(Heater heater, int tool, bool cooling);
  void wait_for_all();
  void set_fan(const gcode::Words& words, bool on);

  // modal_limits.cpp
  void limit_axes(const gcode::Words& words, Limit limit, bool honoured);
  void limit_acceleration(const gcode::Words& words);
  void limit_one_acceleration(const gcode::Words& words);
  void limit_corner(const gcode::Words& words);
  void emit_limit_record(Limit limit, const std::array<double, 4>& values);
  void emit_limits(Limit limit, double value, double y_value, bool may_be_zero);
  void emit_limit(Limit limit, double value, bool may_be_zero = false);
  void emit_limit_of_x_and_y(Limit limit, double value);
  bool honours(bool honoured, const char* word);
  bool limit_by_key(const gcode::Command& command);
  void set_feed_factor(const gcode::Words& words);
  void set_flow_factor(const gcode::Words& words);

  // modal_filament.cpp
  void select_word(const gcode::Command& command);
  void select_tool(double number);
  void emit_selection(int tool);
  void change_standby(int from, int to);
  void retract_or_set_tool(const gcode::Words& words);
  void set_tool_temperatures(const gcode::Words& words);
  void set_volumetric(const gcode::Words& words);
  void update_e_scale();
  /// The tool that a T word names, or the one in hand; -1 (said) where the machine has no such
  /// tool.
  int tool_of(const gcode::Words& words);
  bool has_tool(double number) const;

  // machine_words.cpp
  void run_row(const gcode::Command& command, const DialectRow& row);
  /// False where the row is none of conditions.
  bool run_condition(const DialectRow& row);
  void skip(const gcode::Command& command);
  void run_row_limits(const gcode::Command& command, const DialectRow& row);
  void run_row_temperatures(const gcode::Command& command, const DialectRow& row, bool waits);
  bool number_of(const gcode::Command& command, const DialectKey& key, double& value);
  bool find_number(const gcode::Command& command, const DialectRow& row, std::string_view means,
                   double& value);
  bool skips() const { return skipped_branches_ > 0; }

  void update_marks() {
    flags_ = static_cast<std::uint8_t>((row_purge_ || marks_.active() ? kMarkedPurge : 0) |
                                       (trusts_area_ ? 0 : kOutsideIsPart));
  }
  /// A record of an event, to be filled in and pushed.
  Record event(RecordKind kind) const;
  void emit(RecordKind kind) { out_.push(event(kind)); }
  void emit(RecordKind kind, double value);

  const Machine& machine_;
  RowBuffer& out_;
  Remarks& remarks_;
  dialect::Table table_;
  bool g0_is_rapid_;  // no row of the machine file says otherwise
  bool g1_is_line_;
  CommentMarks marks_;
  LayerFinder layers_;
  TallPrimeTower ahead_;
  Unaccounted unaccounted_;
  WordCounts read_by_key_;

  // Position: physical millimetres; what the words say is physical - offset.
  Vector3 position_mm_{};
  Vector3 offset_mm_{};
  Vector3 suspended_offset_mm_{};
  double unit_mm_ = 1.0;
  bool relative_ = false;
  bool machine_coordinates_ = false;  // G53: for the rest of its line
  Plane plane_ = Plane::xy;
  MotionWord motion_ = MotionWord::none;

  // Filament: one register for all tools, in what the E words count (mm, or mm3 when volumetric).
  double e_register_ = 0.0;
  double e_scale_ = 1.0;  // from the register's difference to filament millimetres, factors applied
  bool stated_e_relative_ = false;
  bool distances_set_e_ = false;
  bool e_relative_ = false;  // as the two and the mode of distances have it
  bool volumetric_ = false;
  bool extruder_on_ = false;
  bool has_e_words_ = false;

  double feed_mm_s_;  // the F word in force
  double feed_factor_ = 1.0;
  bool inverse_time_ = false;
  double inverse_per_min_ = 0.0;

  std::vector<ToolState> tools_;
  int selected_;       // what the last selection named: kNothingSelected, -1 or a tool
  int tool_ = 0;       // in hand; -1: parked
  int last_tool_ = 0;  // the tool that material is fed by, parked or not
  std::uint64_t tool_selects_ = 0;

  double bed_set_c_ = 0.0;
  double enclosure_set_c_ = 0.0;

  bool motors_off_ = false;
  bool ended_ = false;
  std::uint8_t flags_ = 0;
  bool row_purge_ = false;
  std::vector<Branch> branches_;
  std::size_t skipped_branches_ = 0;
  std::size_t deeper_branches_ = 0;

  Vector3 laid_to_mm_{};  // where the last material ended
  double off_part_mm_ = 0.0;
  int heights_off_part_ = 0;
  bool trusts_area_ = true;
  std::uint64_t moves_ = 0;
  bool heats_nozzle_ = false;
  std::uint64_t moves_out_of_range_ = 0;
  std::uint64_t understood_ = 0;  // other than moves
  MissingTools missing_;
};

template <typename Words>
ModalMachine::Vector3 ModalMachine::target(const Words& words) const {
  Vector3 to_mm = position_mm_;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const char letter = static_cast<char>('X' + axis);
    if (!words.has(letter))
      continue;
    const double said_mm = words[letter] * unit_mm_;
    if (machine_coordinates_)
      to_mm[axis] = said_mm;
    else
      to_mm[axis] = (relative_ ? position_mm_[axis] : offset_mm_[axis]) + said_mm;
  }
  return to_mm;
}

template <typename Words>
ModalMachine::Straight ModalMachine::read_straight(const Words& words) const {
  Straight way{target(words), 0.0, e_register_};
  if (words.has('E')) {
    const double said = words['E'] * (volumetric_ ? 1.0 : unit_mm_);
    way.e_mm = (e_relative_ ? said : said - e_register_) * e_scale_;
    way.e_after = e_relative_ ? e_register_ + said : said;
  }
  return way;
}

}  // namespace platetally::interpreter
