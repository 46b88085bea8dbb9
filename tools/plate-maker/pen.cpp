#include "pen.hpp"

#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

namespace plate_maker {

namespace {

constexpr double kRetractFrom_mm = 2.0;  // shorter travels keep the filament where it is
constexpr double kRetract_mm_s = 40.0;
constexpr double kLift_mm_s = 10.0;
constexpr double kPulse_mm = 25.0;
constexpr double kWaveLength_mm = 20.0;
constexpr double kHelixRadius_mm = 1.2;
constexpr double kInch_mm = 25.4;
constexpr double kPi = std::numbers::pi;

// Words that no controller of this world knows; some with letters that mean something elsewhere.
constexpr std::array<std::string_view, 6> kOddWords{
    "M9107 S3",   "MIST_TRAY LEVEL=2 PAUSE=0", "M117 Tray 3 of 4, X marks the fern",
    "G1.7 X5 Y5", "RING_GREENHOUSE_BELL",      "M8123.4 P1"};

double pow10(int decimals) {
  double power = 1.0;
  for (int i = 0; i < decimals; ++i)
    power *= 10.0;
  return power;
}

int xyz_decimals(const Options& options) {
  return options.inches ? 5 : 3;
}

int e_decimals(const Options& options) {
  return options.inches ? 7 : 5;
}

double length_mm(Size from, Size to) {
  return std::hypot(to.x - from.x, to.y - from.y);
}

}  // namespace

double mm_per_xyz(const Options& options) {
  return (options.inches ? kInch_mm : 1.0) / pow10(xyz_decimals(options));
}

double mm_per_e(const Options& options) {
  return (options.inches ? kInch_mm : 1.0) / pow10(e_decimals(options));
}

Pen::Pen(const Options& options, LineWriter& writer, Truth& truth)
    : options_(options),
      writer_(writer),
      truth_(truth),
      xyz_decimals_(xyz_decimals(options)),
      e_decimals_(e_decimals(options)),
      xyz_per_mm_(1.0 / mm_per_xyz(options)),
      e_per_mm_(1.0 / mm_per_e(options)),
      e_per_mm3_(e_per_mm_ / (kPi / 4.0 * options.filament_mm * options.filament_mm)) {}

std::int64_t Pen::to_xyz(double mm) const {
  return std::llround(mm * xyz_per_mm_);
}

std::int64_t Pen::level_at(double x_mm) const {
  if (!waves_)
    return level_;
  return level_ + to_xyz(options_.nonplanar_mm * std::sin(2.0 * kPi * x_mm / kWaveLength_mm));
}

std::int64_t Pen::e_for(double length_mm) const {
  if (options_.extruder_words)
    return 0;
  const std::int64_t e = std::llround(length_mm * width_mm_ * height_mm_ * e_per_mm3_);
  return std::max<std::int64_t>(e, 1);
}

void Pen::write_e(std::int64_t e) {
  e_ += e;
  writer_.word('E', options_.absolute_e ? e_ : e, e_decimals_);
}

void Pen::write_feed(double mm_s) {
  const std::int64_t feed =
      options_.inches ? std::llround(mm_s * 60000.0 / kInch_mm) : std::llround(mm_s * 60.0);
  if (feed != feed_)
    writer_.word('F', feed, options_.inches ? 3 : 0);
  feed_ = feed;
}

void Pen::write_height(std::int64_t z, bool always) {
  if (always || z != at_[2])
    writer_.word('Z', z, xyz_decimals_);
  at_[2] = z;
}

void Pen::move_height(std::int64_t z) {
  if (z == at_[2])
    return;
  writer_.begin(options_.rapid ? "G0" : "G1");
  write_height(z, true);
  write_feed(kLift_mm_s);
  writer_.end();
  ++truth_.moves.height;
}

/// From the present height to `z` and back, in the manner asked for.
void Pen::hop(std::int64_t z) {
  if (options_.hop == Hop::relative) {
    writer_.command("G91");
    writer_.begin("G1");
    writer_.word('Z', z - at_[2], xyz_decimals_);
    write_feed(kLift_mm_s);
    writer_.end();
    writer_.command("G90");
    at_[2] = z;
    ++truth_.moves.height;
  } else if (options_.hop == Hop::helix && z > at_[2]) {
    writer_.begin("G2");
    write_height(z, true);
    writer_.word('I', to_xyz(kHelixRadius_mm), xyz_decimals_);
    writer_.word('J', 0, xyz_decimals_);
    writer_.text(" P1");
    write_feed(kLift_mm_s * 4.0);
    writer_.end();
    ++truth_.moves.arc;
  } else {
    move_height(z);
  }
}

void Pen::travel(Size to) {
  sprinkle();
  const Point3 target{to_xyz(to.x), to_xyz(to.y), level_at(to.x)};
  const bool moves = target[0] != at_[0] || target[1] != at_[1];
  if (moves || target[2] != at_[2])
    switch_extruder(false);
  const bool is_long = length_mm(place_mm(), to) > kRetractFrom_mm || at_[2] > level_;
  if (is_long)
    retract();
  if (target[2] > at_[2])
    move_height(target[2]);
  const bool hops = options_.hop_mm > 0.0 && is_long && moves;
  if (hops)
    hop(at_[2] + to_xyz(options_.hop_mm));
  if (moves) {
    writer_.begin(options_.rapid ? "G0" : "G1");
    writer_.word('X', target[0], xyz_decimals_);
    writer_.word('Y', target[1], xyz_decimals_);
    if (options_.z_every_line)
      writer_.word('Z', at_[2], xyz_decimals_);
    write_feed(options_.travel_mm_s);
    writer_.end();
    ++truth_.moves.travel;
    at_[0] = target[0];
    at_[1] = target[1];
  }
  if (hops && options_.hop == Hop::relative)
    hop(target[2]);
  move_height(target[2]);
  may_wipe_ = false;
  give_back();
}

void Pen::stroke(Size to) {
  switch_extruder(true);
  const Size from = place_mm();
  const double longest_mm = waves_ ? 1.0 : (options_.segment_mm > 0.0 ? options_.segment_mm : 1e9);
  const int pieces = static_cast<int>(std::ceil(length_mm(from, to) / longest_mm - 1e-6));
  for (int piece = 1; piece < pieces; ++piece) {
    const double share = static_cast<double>(piece) / pieces;
    lay_straight({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
  }
  lay_straight(to);
}

void Pen::lay_straight(Size to) {
  const Point3 target{to_xyz(to.x), to_xyz(to.y), level_at(to.x)};
  if (target[0] == at_[0] && target[1] == at_[1])
    return;
  const Size end{to_mm(target[0]), to_mm(target[1])};
  const std::int64_t e = e_for(length_mm(place_mm(), end));
  Box box;
  box.add(at_);
  box.add(target);
  stroke_from_ = at_;
  may_wipe_ = true;
  writer_.begin("G1");
  writer_.word('X', target[0], xyz_decimals_);
  writer_.word('Y', target[1], xyz_decimals_);
  write_height(target[2], options_.z_every_line);
  if (!options_.extruder_words)
    write_e(e);
  write_feed(speed_mm_s_);
  writer_.end();
  at_ = target;
  ++truth_.moves.lay;
  ++strokes_since_reset_;
  ++strokes_since_odd_word_;
  truth_.lay(purpose_, e, box, writer_.lines());
}

void Pen::arc(Size to, Size centre, double radius_mm, double sweep_rad) {
  switch_extruder(true);
  const Size from = place_mm();
  const Point3 target{to_xyz(to.x), to_xyz(to.y), level_};
  const std::int64_t e = e_for(radius_mm * std::abs(sweep_rad));
  Box box;
  box.add(at_);
  box.add(target);
  // The points of the circle that lie farthest along an axis, where the sweep crosses them.
  const double begin_rad = std::atan2(from.y - centre.y, from.x - centre.x);
  const double low_rad = std::min(begin_rad, begin_rad + sweep_rad);
  const double high_rad = std::max(begin_rad, begin_rad + sweep_rad);
  for (double quarter = std::ceil(low_rad / (kPi / 2.0)); quarter * kPi / 2.0 <= high_rad;
       quarter += 1.0)
    box.add(Point3{to_xyz(centre.x + radius_mm * std::cos(quarter * kPi / 2.0)),
                   to_xyz(centre.y + radius_mm * std::sin(quarter * kPi / 2.0)), target[2]});
  writer_.begin(sweep_rad > 0.0 ? "G3" : "G2");
  writer_.word('X', target[0], xyz_decimals_);
  writer_.word('Y', target[1], xyz_decimals_);
  write_height(target[2], options_.z_every_line);
  writer_.word('I', to_xyz(centre.x - from.x), xyz_decimals_);
  writer_.word('J', to_xyz(centre.y - from.y), xyz_decimals_);
  if (!options_.extruder_words)
    write_e(e);
  write_feed(speed_mm_s_);
  writer_.end();
  at_ = target;
  may_wipe_ = false;
  ++truth_.moves.arc;
  ++strokes_since_reset_;
  ++strokes_since_odd_word_;
  truth_.lay(purpose_, e, box, writer_.lines());
}

void Pen::feed_at_rest(double mm3) {
  std::int64_t left = std::llround(mm3 * e_per_mm3_);
  const std::int64_t pulse = std::llround(kPulse_mm * e_per_mm_);
  while (left > 0) {
    const std::int64_t e = std::min(left, pulse);
    left -= e;
    writer_.begin("G1");
    write_e(e);
    write_feed(options_.purge_mm_s);
    writer_.end();
    ++truth_.moves.at_rest;
    truth_.lay(purpose_, e, {}, writer_.lines());
  }
}

void Pen::feed_rising(double mm3, double rise_mm) {
  constexpr int kPulses = 4;
  std::int64_t left = std::llround(mm3 * e_per_mm3_);
  const std::int64_t up = to_xyz(rise_mm / kPulses);
  for (int pulse = kPulses; pulse > 0 && left > 0; --pulse) {
    const std::int64_t e = left / pulse;
    left -= e;
    writer_.begin("G1");
    write_height(at_[2] + up, true);
    write_e(e);
    write_feed(options_.purge_mm_s / 4.0);
    writer_.end();
    ++truth_.moves.at_rest;
    truth_.lay(purpose_, e, {}, writer_.lines());
  }
}

void Pen::move_e(std::int64_t e, double mm_s) {
  writer_.begin("G1");
  write_e(e);
  write_feed(mm_s);
  writer_.end();
  ++(e < 0 ? truth_.moves.retract : truth_.moves.give_back);
  truth_.feed(e);
  in_hand_->drawn_back -= e;
}

void Pen::draw_out() {
  give_back();
  in_hand_->ever_loaded = true;
  const std::int64_t all = std::llround(options_.unload_mm * e_per_mm_);
  const std::int64_t little = std::llround(3.0 * e_per_mm_);
  move_e(-(all / 5), kRetract_mm_s);
  for (int dip = 0; dip < 2; ++dip) {  // cools the tip
    move_e(-little, kRetract_mm_s / 4.0);
    move_e(little, kRetract_mm_s / 4.0);
  }
  move_e(-(all / 2), kRetract_mm_s);
  move_e(-(all - all / 5 - all / 2), kRetract_mm_s / 2.0);
  in_hand_->drawn_out = all;
}

void Pen::load() {
  if (!in_hand_->ever_loaded) {
    in_hand_->ever_loaded = true;
    in_hand_->drawn_out = std::llround(options_.unload_mm * e_per_mm_);
    in_hand_->drawn_back = in_hand_->drawn_out;
  }
  const std::int64_t all = in_hand_->drawn_out;
  move_e(all / 5, kRetract_mm_s / 3.0);
  move_e(all * 7 / 10 - all / 5, kRetract_mm_s);
  move_e(in_hand_->drawn_back, kRetract_mm_s / 2.0);
  in_hand_->drawn_out = 0;
}

void Pen::retract() {
  switch_extruder(false);
  if (options_.retraction == Retraction::firmware && !in_hand_->drawn_back_by_firmware) {
    writer_.command("G10");
    in_hand_->drawn_back_by_firmware = true;
    ++truth_.moves.retract;
  }
  if (options_.retraction != Retraction::filament || in_hand_->drawn_back > 0)
    return;
  const std::int64_t all = std::llround(options_.retract_mm * e_per_mm_);
  const std::int64_t while_wiping = options_.wipe_mm > 0.0 && may_wipe_ ? all * 6 / 10 : 0;
  writer_.begin("G1");
  write_e(while_wiping - all);
  write_feed(kRetract_mm_s);
  writer_.end();
  ++truth_.moves.retract;
  if (while_wiping > 0)
    wipe_back(while_wiping);
  in_hand_->drawn_back = all;
  truth_.feed(-all);
}

/// Back along the last stroke, drawing filament back.
void Pen::wipe_back(std::int64_t e) {
  const Size from = place_mm();
  const Size back{to_mm(stroke_from_[0]), to_mm(stroke_from_[1])};
  const double share = std::min(1.0, options_.wipe_mm / length_mm(from, back));
  at_[0] = to_xyz(from.x + share * (back.x - from.x));
  at_[1] = to_xyz(from.y + share * (back.y - from.y));
  writer_.begin("G1");
  writer_.word('X', at_[0], xyz_decimals_);
  writer_.word('Y', at_[1], xyz_decimals_);
  write_e(-e);
  write_feed(speed_mm_s_);
  writer_.end();
  ++truth_.moves.wipe;
}

void Pen::give_back() {
  if (in_hand_->drawn_back_by_firmware) {
    writer_.command("G11");
    in_hand_->drawn_back_by_firmware = false;
    ++truth_.moves.give_back;
  }
  if (in_hand_->drawn_back == 0)
    return;
  writer_.begin("G1");
  write_e(in_hand_->drawn_back);
  write_feed(kRetract_mm_s);
  writer_.end();
  ++truth_.moves.give_back;
  truth_.feed(in_hand_->drawn_back);
  in_hand_->drawn_back = 0;
}

void Pen::select(int tool) {
  const std::string word = fmt::format("T{}", tool);
  writer_.command(word);
  truth_.select(tool);
  in_hand_ = &tools_[tool];
  may_wipe_ = false;
  if (tool < 0)
    return;
  e_ = 0;
  if (!options_.extruder_words)
    writer_.command("G92 E0");
  if (options_.select_twice) {
    writer_.command(word);
    truth_.repeat_select(tool);
  }
}

void Pen::state_e_mode() {
  if (options_.extruder_words)
    return;
  writer_.command(options_.absolute_e ? "M82" : "M83");
  writer_.command("G92 E0");
  e_ = 0;
}

void Pen::switch_extruder(bool on) {
  if (!options_.extruder_words || on == extruder_on_)
    return;
  writer_.command(on ? "M101" : "M103");
  extruder_on_ = on;
}

/// Between strokes: sets E back to zero, and says a word that nobody knows.
void Pen::sprinkle() {
  if (options_.reset_e_every > 0 && strokes_since_reset_ >= options_.reset_e_every) {
    writer_.command("G92 E0");
    e_ = 0;
    strokes_since_reset_ = 0;
  }
  if (options_.odd_words_every > 0 && strokes_since_odd_word_ >= options_.odd_words_every) {
    writer_.command(kOddWords[odd_word_ % kOddWords.size()]);
    ++odd_word_;
    strokes_since_odd_word_ = 0;
  }
}

void Pen::comment(std::string_view text) {
  if (options_.comments == Comments::parentheses)
    writer_.plain(fmt::format("({})", text));
  else if (options_.comments != Comments::none)
    writer_.plain(fmt::format("; {}", text));
}

}  // namespace plate_maker
