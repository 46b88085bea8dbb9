// The nozzle: takes paths in mm, writes them as words, and tells the truth book what it wrote.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "line_writer.hpp"
#include "options.hpp"
#include "truth.hpp"

namespace plate_maker {

class Pen {
 public:
  Pen(const Options& options, LineWriter& writer, Truth& truth);

  // What the next strokes are
  void set_purpose(Purpose purpose) { purpose_ = purpose; }
  void set_height(double height_mm) { height_mm_ = height_mm; }
  void set_width(double width_mm) { width_mm_ = width_mm; }
  void set_speed(double speed_mm_s) { speed_mm_s_ = speed_mm_s; }
  /// The next travel goes to this height; a stroke without a travel before it climbs there.
  void set_level(double z_mm) { level_ = to_xyz(z_mm); }
  void set_waves(bool on) { waves_ = on; }
  void enter_layer(std::size_t index, double z_mm) { truth_.enter_layer(index, to_xyz(z_mm)); }

  // Motion
  void travel(Size to);
  /// Straight up or down, with nothing laid.
  void move_to_height(double z_mm) { move_height(to_xyz(z_mm)); }
  void stroke(Size to);
  void arc(Size to, Size centre, double radius_mm, double sweep_rad);
  void feed_at_rest(double mm3);
  /// In pulses, each while the nozzle goes up by its share of `rise_mm`; the next travel comes
  /// down.
  void feed_rising(double mm3, double rise_mm);
  void retract();
  /// A machine of one nozzle: the tip is cooled and drawn out of it, in several moves.
  void draw_out();
  /// The tool in hand is pushed as far in as it was drawn out; one never used waits drawn out.
  void load();
  /// Takes a tool in hand, by the number that T words state; -1 parks.
  void select(int tool);
  Size place_mm() const { return {to_mm(at_[0]), to_mm(at_[1])}; }
  /// States absolute or relative E, and where E counts from.
  void state_e_mode();

  void command(std::string_view line) { writer_.command(line); }
  void comment(std::string_view text);

  const LineWriter& writer() const { return writer_; }

 private:
  struct InHand {
    std::int64_t drawn_back = 0;
    std::int64_t drawn_out = 0;  ///< of that, out of the nozzle
    bool ever_loaded = false;
    bool drawn_back_by_firmware = false;
  };

  std::int64_t to_xyz(double mm) const;
  double to_mm(std::int64_t xyz) const { return static_cast<double>(xyz) / xyz_per_mm_; }
  std::int64_t level_at(double x_mm) const;
  std::int64_t e_for(double length_mm) const;
  void lay_straight(Size to);
  void write_e(std::int64_t e);
  void write_feed(double mm_s);
  void write_height(std::int64_t z, bool always);
  void move_height(std::int64_t z);
  void hop(std::int64_t z);
  void wipe_back(std::int64_t e);
  void move_e(std::int64_t e, double mm_s);
  void give_back();
  void switch_extruder(bool on);
  void sprinkle();

  const Options& options_;
  LineWriter& writer_;
  Truth& truth_;
  const int xyz_decimals_;
  const int e_decimals_;
  const double xyz_per_mm_;
  const double e_per_mm_;
  const double e_per_mm3_;

  Purpose purpose_ = Purpose::part;
  double height_mm_ = 0.2;
  double width_mm_ = 0.45;
  double speed_mm_s_ = 60.0;
  bool waves_ = false;
  std::int64_t level_ = 0;
  Point3 at_{};
  Point3 stroke_from_{};  ///< the last stroke's beginning, for the wipe
  bool may_wipe_ = false;
  std::int64_t e_ = 0;
  std::int64_t feed_ = -1;
  bool extruder_on_ = false;
  int strokes_since_reset_ = 0;
  int strokes_since_odd_word_ = 0;
  std::size_t odd_word_ = 0;
  std::map<int, InHand> tools_;
  InHand* in_hand_ = nullptr;
};

/// The units that the words are written in.
double mm_per_xyz(const Options& options);
double mm_per_e(const Options& options);

}  // namespace plate_maker
