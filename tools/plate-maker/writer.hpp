// Writes G-code and keeps the truth of what was written.
#pragma once

#include <string>

#include "options.hpp"
#include "truth.hpp"

namespace plate_maker {

class Writer {
 public:
  explicit Writer(const Options& options) : options_(options) {}

  void start(int tools);
  void finish();
  /// Material laid from now on is purge (or part again).
  void purging(bool on) { purging_ = on; }
  void set_layer(double z_mm);
  /// A climbing path has reached the height of a new layer.
  void reach_layer(double z_mm) { layer_z_mm_ = z_mm; }
  void select(int tool);
  /// Lifts, travels and returns. No retraction for hops below 2 mm.
  void travel(double x_mm, double y_mm);
  void lay(double x_mm, double y_mm, double feed_mm_min);
  /// To x y while z changes to `z_mm`.
  void lay_sloped(double x_mm, double y_mm, double z_mm, double feed_mm_min);
  void lay_arc(double x_mm, double y_mm, double i_mm, double j_mm, bool clockwise, double length_mm,
               double feed_mm_min);
  /// Feeds at rest.
  void feed(double volume_mm3);
  void rectangle(double x_mm, double y_mm, double width_mm, double depth_mm, double feed_mm_min);
  /// Parallel lines that fill a rectangle, `lines` of them, back and forth.
  void fill(double x_mm, double y_mm, double width_mm, int lines, double pitch_mm,
            double feed_mm_min);
  void comment(const std::string& text);
  void line(const std::string& text);

  int tool() const { return tool_; }
  const std::string& text() const { return out_; }
  const Truth& truth() const { return truth_; }

  static constexpr double kBeadMm = 0.45;
  double bead_mm2() const { return kBeadMm * options_.layer_mm; }

 private:
  std::string e_word(double e_mm);
  void count_laid(double e_mm, double x_mm, double y_mm);
  LayerTruth& layer();
  void retract();
  void unretract();

  const Options& options_;
  std::string out_;
  Truth truth_;
  double x_mm_ = 0.0, y_mm_ = 0.0, z_mm_ = 0.0;
  double layer_z_mm_ = 0.0;
  double e_mm_ = 0.0;    // the register, as written
  double fed_mm_ = 0.0;  // of the last e_word, as the file says it
  int tool_ = -1;
  bool purging_ = false;
  bool retracted_ = false;
  bool laid_ = false;
  bool swap_pending_ = false;
};

}  // namespace plate_maker
