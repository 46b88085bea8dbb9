#include "purge.hpp"

#include <algorithm>
#include <numbers>

namespace plate_maker {

namespace {

constexpr double kLinePitch_mm = 1.2;  // purge lines lie side by side
constexpr std::size_t kLinesInARow = 8;
constexpr double kWipe_mm = 8.0;  // over a brush at the chute
constexpr double kRam_mm3 = 12.0;
constexpr Size kAlsoChuteAt_mm{2.0, 2.0};

}  // namespace

PurgePlace::PurgePlace(const Options& options, Pen& pen, const TowerPlan& plan)
    : options_(options), pen_(pen), tower_(options, pen, plan) {}

void PurgePlace::begin(std::string_view what) {
  if (options_.comments == Comments::trade)
    pen_.comment(what);
  pen_.set_purpose(Purpose::purge);
}

void PurgePlace::end(const Layer& layer) {
  if (options_.comments == Comments::trade)
    pen_.comment("purge end");
  pen_.set_purpose(Purpose::part);
  pen_.set_level(layer.z_mm);
  pen_.set_height(layer.height_mm);
  pen_.set_width(options_.width_mm);
}

void PurgePlace::begin_layer(const Layer& layer, int tool) {
  if (!has_tower())
    return;
  tower_.open_layer();
  if (!tower_.lays_before(layer, tool))
    return;
  begin("prime tower");
  tower_.lay_before(layer);
  end(layer);
}

void PurgePlace::leave(const Layer& layer) {
  if (options_.purge == Purge::none || options_.purge == Purge::line)
    return;
  begin("purge");
  if (has_tower()) {
    tower_.ram(layer);
  } else {
    pen_.travel(options_.purge_at_mm);
    pen_.feed_at_rest(kRam_mm3);
  }
  end(layer);
  // The pen goes on at the tower's height, where the tip is drawn out.
}

void PurgePlace::take_swap(const Layer& layer, int tool) {
  if (options_.purge == Purge::none)
    return;
  begin(has_tower() ? "prime tower" : "purge");
  if (options_.also_chute_mm3 > 0.0)
    purge_into_chute(options_.also_chute_mm3);
  if (has_tower())
    tower_.lay_slot(layer, tool);
  else if (options_.purge == Purge::chute)
    purge_into_chute(options_.purge_mm3);
  else if (options_.purge == Purge::bucket)
    purge_into_bucket(layer);
  else
    lay_line(layer);
  end(layer);
}

void PurgePlace::end_layer(const Layer& layer) {
  if (!has_tower())
    return;
  if (tower_.lays_behind(layer)) {
    begin("prime tower");
    tower_.lay_behind(layer);
    end(layer);
  }
  tower_.close_layer(layer);
}

void PurgePlace::purge_into_chute(double mm3) {
  const Size at = options_.also_chute_mm3 > 0.0 ? kAlsoChuteAt_mm : options_.purge_at_mm;
  pen_.travel(at);
  pen_.feed_at_rest(mm3);
  pen_.retract();
  pen_.travel({at.x + kWipe_mm, at.y});
  pen_.travel(at);
}

/// A tray on the bed: filament piles up under a nozzle that rises with it, or goes round.
void PurgePlace::purge_into_bucket(const Layer& layer) {
  constexpr int kTurns = 8;
  constexpr double kRadius_mm = 1.5;
  constexpr double kRise_mm = 4.0;
  const Size at = options_.purge_at_mm;
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s / 6.0);
  switch (options_.bucket_motion) {
    case BucketMotion::rest:
      pen_.travel(at);
      pen_.feed_at_rest(options_.purge_mm3);
      break;
    case BucketMotion::rise:
      pen_.travel(at);
      pen_.feed_rising(options_.purge_mm3, kRise_mm);
      break;
    case BucketMotion::circle:
      pen_.travel({at.x + kRadius_mm, at.y});
      pen_.set_width(options_.purge_mm3 /
                     (kTurns * 2.0 * std::numbers::pi * kRadius_mm * layer.height_mm));
      for (int turn = 0; turn < kTurns; ++turn)
        strokes.arc(at, kRadius_mm, 0.0, 2.0 * std::numbers::pi);
      break;
  }
}

void PurgePlace::lay_line(const Layer& layer) {
  const Size at = options_.purge_at_mm;
  const double x = at.x + static_cast<double>(lines_ % kLinesInARow) * kLinePitch_mm;
  ++lines_;
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s / 3.0);
  pen_.set_width(options_.purge_mm3 / (options_.line_length_mm * layer.height_mm));
  strokes.path({{x, at.y}, {x, at.y + options_.line_length_mm}}, false);
}

void PurgePlace::lay_start_line(const Layer& layer) {
  begin("purge line");
  pen_.set_purpose(Purpose::start_up);
  pen_.set_level(layer.z_mm);
  pen_.set_height(layer.height_mm);
  pen_.set_width(2.0 * options_.width_mm);
  pen_.set_speed(options_.first_layer_mm_s);
  pen_.travel({3.0, 20.0});
  pen_.stroke({3.0, 100.0});
  pen_.stroke({4.0, 100.0});
  pen_.stroke({4.0, 20.0});
  end(layer);
}

}  // namespace plate_maker
