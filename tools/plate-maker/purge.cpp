#include "purge.hpp"

#include <algorithm>
#include <cmath>

namespace plate_maker {

namespace {

constexpr double kFillerPitch = 4.0;  // line widths between lines of a tower that only has to stand
constexpr double kLinePitch_mm = 1.2;  // purge lines lie side by side
constexpr std::size_t kLinesInARow = 8;
constexpr double kWipe_mm = 8.0;  // over a brush at the chute

double lowest_height(const Options& options) {
  double lowest_mm = std::min(options.first_layer_height_mm, options.layer_height_mm);
  for (const double height_mm : options.height_cycle_mm)
    lowest_mm = std::min(lowest_mm, height_mm);
  return lowest_mm;
}

}  // namespace

double height_of(const Options& options, std::size_t layer) {
  if (layer == 0)
    return options.first_layer_height_mm;
  const auto& cycle = options.height_cycle_mm;
  return cycle.empty() ? options.layer_height_mm : cycle[(layer - 1) % cycle.size()];
}

double z_of(const Options& options, std::size_t layer) {
  const auto& cycle = options.height_cycle_mm;
  const double first_mm = options.first_layer_height_mm;
  if (cycle.empty())
    return first_mm + static_cast<double>(layer) * options.layer_height_mm;
  double cycle_mm = 0.0;
  for (const double height_mm : cycle)
    cycle_mm += height_mm;
  double z_mm = first_mm + static_cast<double>(layer / cycle.size()) * cycle_mm;
  for (std::size_t step = 0; step < layer % cycle.size(); ++step)
    z_mm += cycle[step];
  return z_mm;
}

PurgePlace::PurgePlace(const Options& options, Pen& pen, TowerPlan plan)
    : options_(options), pen_(pen), plan_(plan) {
  const double line_mm3 = options.tower_side_mm * options.width_mm * lowest_height(options);
  slot_depth_mm_ = std::ceil(options.purge_mm3 / line_mm3) * options.width_mm;
}

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

void PurgePlace::take_swap(const Layer& layer) {
  if (options_.purge == Purge::none)
    return;
  begin(options_.purge == Purge::tower ? "prime tower" : "purge");
  if (options_.purge == Purge::tower)
    lay_tower_slot(layer);
  else if (options_.purge == Purge::chute)
    purge_into_chute();
  else
    lay_line(layer);
  end(layer);
}

std::size_t PurgePlace::tower_layer_of(const Layer& layer) const {
  return layer.index == 0 ? 0 : layer.index + static_cast<std::size_t>(options_.tower_ahead);
}

Rectangle PurgePlace::slot_box(std::size_t slot) const {
  const Size at = options_.purge_at_mm;
  const double y = at.y + static_cast<double>(slot) * slot_depth_mm_;
  const double half_mm = options_.width_mm / 2.0;
  return {{at.x + half_mm, y + half_mm},
          {at.x + options_.tower_side_mm - half_mm, y + slot_depth_mm_ - half_mm}};
}

void PurgePlace::lay_brim(const Strokes& strokes) {
  if (has_brim_)
    return;
  has_brim_ = true;
  const Rectangle tower{slot_box(0).low, slot_box(plan_.slots - 1).high};
  for (int ring = options_.tower_brim; ring > 0; --ring)
    strokes.rectangle(tower.inset(-ring * options_.width_mm));
}

/// Back and forth over the swap's stripe until its volume is laid.
void PurgePlace::lay_tower_slot(const Layer& layer) {
  const std::size_t tower_layer = tower_layer_of(layer);
  pen_.set_level(z_of(options_, tower_layer));
  pen_.set_height(height_of(options_, tower_layer));
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s);
  if (layer.index == 0)
    lay_brim(strokes);
  const Rectangle box = slot_box(std::min(used_slots_, plan_.slots - 1));
  ++used_slots_;
  double left_mm = options_.purge_mm3 / (options_.width_mm * height_of(options_, tower_layer));
  double y = box.low.y;
  bool rightwards = true;
  pen_.travel(box.low);
  while (left_mm > 0.0) {
    const double begin_x = pen_.place_mm().x;
    const double full_mm = (rightwards ? box.high.x - begin_x : begin_x - box.low.x);
    const double run_mm = std::min(left_mm, full_mm);
    pen_.stroke({begin_x + (rightwards ? run_mm : -run_mm), y});
    left_mm -= run_mm;
    const double step_mm = std::min(left_mm, options_.width_mm);
    if (step_mm < 0.01 || y + step_mm > box.high.y + options_.width_mm)
      break;
    y += step_mm;
    pen_.stroke({pen_.place_mm().x, y});
    left_mm -= step_mm;
    rightwards = !rightwards;
  }
}

void PurgePlace::lay_tower_filler(const Layer& layer, std::size_t tower_layer) {
  begin("prime tower");
  pen_.set_level(z_of(options_, tower_layer));
  pen_.set_height(height_of(options_, tower_layer));
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s);
  if (layer.index == 0)
    lay_brim(strokes);
  const Rectangle rest{slot_box(used_slots_).low, slot_box(plan_.slots - 1).high};
  strokes.zigzag(rest, kFillerPitch * options_.width_mm, true);
  end(layer);
}

void PurgePlace::end_layer(const Layer& layer) {
  if (options_.purge != Purge::tower || plan_.slots == 0 || layer.index > plan_.last_swap_layer)
    return;
  if (used_slots_ < plan_.slots)
    lay_tower_filler(layer, tower_layer_of(layer));
  if (layer.index > 0)
    return;
  used_slots_ = 0;
  for (int ahead = 1; ahead <= options_.tower_ahead; ++ahead)
    lay_tower_filler(layer, static_cast<std::size_t>(ahead));
}

void PurgePlace::purge_into_chute() {
  const Size at = options_.purge_at_mm;
  pen_.travel(at);
  pen_.feed_at_rest(options_.purge_mm3);
  pen_.retract();
  pen_.travel({at.x + kWipe_mm, at.y});
  pen_.travel(at);
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
