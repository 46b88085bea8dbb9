// The state that words change and that gives later words their meaning, in parts; and the rows and
// events that words make. Words that concern one part alone are run there; what joins parts is here
// and in modal_*.cpp.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <optional>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/dialect/table.hpp"
#include "reading/gcode/plain_moves.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/arcs.hpp"
#include "reading/interpreter/comment_marks.hpp"
#include "reading/interpreter/conditions.hpp"
#include "reading/interpreter/events.hpp"
#include "reading/interpreter/feed_rate.hpp"
#include "reading/interpreter/filament.hpp"
#include "reading/interpreter/heat_words.hpp"
#include "reading/interpreter/layer_places.hpp"
#include "reading/interpreter/limit_words.hpp"
#include "reading/interpreter/missing_tools.hpp"
#include "reading/interpreter/object_marks.hpp"
#include "reading/interpreter/position.hpp"
#include "reading/interpreter/record.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/row_buffer.hpp"
#include "reading/interpreter/tool_in_hand.hpp"
#include "reading/interpreter/unaccounted.hpp"

namespace platetally::interpreter {

/// A thousand kilometres: no machine, and small enough for all later arithmetic.
inline constexpr double kMost_mm = 1e9;
/// No machine draws back more at once.
inline constexpr double kLongestRetraction_mm = 1000.0;

class ModalMachine {
 public:
  ModalMachine(const Machine& machine, RowBuffer& out, Remarks& remarks);
  ModalMachine(const ModalMachine&) = delete;  // its parts know one another
  ModalMachine& operator=(const ModalMachine&) = delete;

  /// Comments of the line whose commands come next.
  void begin_line(const gcode::Line& line);
  /// One command at remarks.place.
  void run(const gcode::Command& command);
  /// Whether the modes in force are the usual ones, in which take_plain_moves() takes any.
  bool takes_plain_moves() const;
  /// Takes lines that are nothing but G0 or G1 with words of X, Y, Z, E and F: the moves from
  /// `first` on, up to one whose words must be remarked on. Does what begin_line() and run() would
  /// do, for nearly every line of nearly every plate. Returns how many it took.
  std::size_t take_plain_moves(const gcode::PlainMoves& moves, std::size_t first,
                               std::uint64_t first_line);

  bool ended() const { return ended_; }
  /// What M82 and M83 state.
  void set_e_mode(bool relative) { filament_.state_relative(relative, position_.is_relative()); }
  /// Whether relative distances make E relative too.
  void let_distances_set_e(bool set) {
    filament_.let_distances_decide(set, position_.is_relative());
  }
  bool stated_e_relative() const { return filament_.stated_relative(); }
  bool relative_distances() const { return position_.is_relative(); }
  double e_register() const { return filament_.at(); }
  double e_unit_mm() const { return filament_.unit_mm(position_.unit_mm()); }
  std::uint64_t moves() const { return moves_; }
  std::uint64_t tool_selects() const { return hand_.selects(); }
  std::uint64_t unaccounted() const { return unaccounted_.count(); }
  std::vector<UnaccountedWord> unaccounted_words() const {
    return unaccounted_.list(heat_.points().heats_head() || places_.current() == 0);
  }
  const MissingTools& missing_tools() const { return missing_; }
  /// Command words with a meaning.
  std::uint64_t understood() const { return understood_ + moves_; }
  std::uint64_t moves_out_of_range() const { return moves_out_of_range_; }
  /// Words whose limits were read by the English in their keys.
  const WordCounts& read_by_key() const { return limits_.read_by_key(); }
  const LayerFinder& layers() const { return places_.layers(); }
  /// Comments may name objects: events say which, names() how they are called.
  ObjectMarks& objects() { return objects_; }
  /// What is open at the end of the plate and should not be.
  void remark_on_end();

 private:
  using Point = Position::Point;
  enum class MotionWord : std::uint8_t { none, rapid, line, arc_clockwise, arc_counter_clockwise };

  void read_object(const gcode::Line& line);
  void skip(const gcode::Command& command);
  void count_unaccounted(const gcode::Command& command);
  void dispatch(const gcode::Command& command, dialect::Found found);
  void set_distances(bool relative);

  // modal_motion.cpp
  /// Where the words of a move lead, and what they feed.
  struct Way {
    Point to_mm;
    Filament::Fed fed;
    bool is_in_range() const {
      return std::abs(to_mm[0]) + std::abs(to_mm[1]) + std::abs(to_mm[2]) + std::abs(fed.e_mm) <
             kMost_mm;
    }
  };
  template <typename Words>
  Way read_way(const Words& words) const {
    return {position_.target(words),
            words.has('E') ? filament_.read(words['E'], position_.unit_mm()) : filament_.nothing()};
  }
  void run_motionless(const gcode::Command& command);
  void run_motion(const gcode::Words& words, MotionWord motion);
  void repeat_motion(const gcode::Words& words);
  void run_straight(const gcode::Words& words, bool rapid);
  void run_arc(const gcode::Words& words, bool clockwise);
  std::optional<Arc> read_arc(const gcode::Words& words, bool clockwise, const Point& to_mm);
  void remark_on_arc(const Arc& arc);
  void read_feed(const gcode::Words& words);
  bool keep_in_range(const Way& way);
  void remark_on_switched_extruder();
  void remark_on_retraction(double e_mm);
  void emit_move(const Way& way, bool rapid, const Arc* arc);
  void push_move(const Way& way, bool rapid, const Arc* arc);
  double length_mm(const Run& run, const Point& to_mm, double e_mm) const;
  bool place_in_layer(const Point& to_mm);

  // modal_plain.cpp
  static constexpr std::size_t kMany = 5;  // strokes, to be worth taking side by side
  bool take_strokes(const gcode::PlainMoves& moves, std::size_t first, std::size_t count);
  bool take_plain_move(const gcode::PlainMoves& moves, std::size_t move, std::uint64_t line);

  // modal_position.cpp
  void set_position(const gcode::Words& words);
  void remark_on_work_offset(const gcode::Command& command);
  void home(const gcode::Words& words);
  void probe(const gcode::Words& words);
  void turn_motors(bool on, const gcode::Words& words);
  void wake_motors();

  // modal_time.cpp
  void dwell(const gcode::Words& words);
  void pause(const gcode::Words& words);
  void emit_seconds(RecordKind kind, double seconds);
  double stated_seconds(const gcode::Words& words) const;

  // modal_filament.cpp
  void select_word(const gcode::Command& command);
  void select_tool(double number);
  void emit_selection(int tool);
  void retract_or_set_tool(const gcode::Words& words);
  void set_volumetric(const gcode::Words& words);
  bool set_diameter(const gcode::Words& words);
  void set_feed_factor(const gcode::Words& words);
  void set_flow_factor(const gcode::Words& words);

  // machine_words.cpp
  void run_row(const gcode::Command& command, const DialectRow& row);
  /// False where the row is none of conditions.
  bool run_condition(const DialectRow& row);
  void run_row_limits(const gcode::Command& command, const DialectRow& row);
  void run_row_temperatures(const gcode::Command& command, const DialectRow& row, bool waits);
  bool number_of(const gcode::Command& command, const DialectKey& key, double& value);
  bool find_number(const gcode::Command& command, const DialectRow& row, std::string_view means,
                   double& value);

  void update_flags() {
    events_.set_flags((marks_.active() ? kMarkedPurge : 0) |
                      (places_.trusts_area() ? 0 : kOutsideIsPart));
  }

  const Machine& machine_;
  RowBuffer& out_;
  Remarks& remarks_;
  dialect::Table table_;
  bool g0_is_rapid_;  // no row of the machine file says otherwise
  bool g1_is_line_;

  ToolInHand hand_;
  MissingTools missing_;
  Events events_;
  Conditions conditions_;
  CommentMarks marks_;
  ObjectMarks objects_;
  Position position_;
  Filament filament_;
  FeedRate feed_;
  LayerPlaces places_;
  HeatWords heat_;
  LimitWords limits_;
  Unaccounted unaccounted_;

  MotionWord motion_ = MotionWord::none;
  bool motors_off_ = false;
  bool ended_ = false;
  std::uint64_t moves_ = 0;
  std::uint64_t moves_out_of_range_ = 0;
  std::uint64_t understood_ = 0;  // other than moves
};

}  // namespace platetally::interpreter
