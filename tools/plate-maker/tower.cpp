#include "tower.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace plate_maker {

namespace {

constexpr double kFillerPitch = 4.0;  // line widths between lines of a tower that only has to stand
constexpr double kPi = std::numbers::pi;
constexpr double kInnermost_mm = 1.5;  // ring of a round tower
constexpr double kRib_mm = 4.0;

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

Tower::Tower(const Options& options, Pen& pen, TowerPlan plan)
    : options_(options), pen_(pen), plan_(std::move(plan)) {
  const double line_mm3 = options.tower_side_mm * options.width_mm * lowest_height(options);
  slot_depth_mm_ = std::ceil(options.purge_mm3 / line_mm3) * options.width_mm;
  if (options.tower_form == TowerForm::boxed || is_object())
    slot_depth_mm_ += 2.0 * options.width_mm;
  const double all_mm2 =
      1.15 * options.purge_mm3 * static_cast<double>(plan_.slots) / lowest_height(options);
  radius_mm_ = std::max(options.tower_side_mm / 2.0,
                        std::sqrt(all_mm2 / kPi + kInnermost_mm * kInnermost_mm));
}

Size Tower::centre() const {
  return {options_.purge_at_mm.x + radius_mm_, options_.purge_at_mm.y + radius_mm_};
}

bool Tower::grows_in(const Layer& layer) const {
  if (plan_.slots == 0)
    return false;
  if (is_object())
    return true;
  if (layer.index > plan_.last_swap_layer)
    return false;
  return !options_.tower_lags || plan_.swaps.at(layer.index) > 0;
}

std::size_t Tower::height_index(const Layer& layer) const {
  if (options_.tower_lags)
    return grown_;
  return layer.index == 0 ? 0 : layer.index + static_cast<std::size_t>(options_.tower_ahead);
}

void Tower::set_level(std::size_t tower_layer) {
  pen_.set_level(z_of(options_, tower_layer));
  pen_.set_height(height_of(options_, tower_layer));
}

Rectangle Tower::slot_box(std::size_t slot) const {
  const Size at = options_.purge_at_mm;
  const double y = at.y + static_cast<double>(slot) * slot_depth_mm_;
  const double half_mm = options_.width_mm / 2.0;
  return {{at.x + half_mm, y + half_mm},
          {at.x + options_.tower_side_mm - half_mm, y + slot_depth_mm_ - half_mm}};
}

void Tower::open_layer() {
  used_slots_ = 0;
  next_ring_mm_ = radius_mm_;
  has_walls_ = false;
  has_rest_ = false;
}

bool Tower::lays_before(const Layer& layer, int tool) const {
  if (!grows_in(layer))
    return false;
  if (!is_object())
    return options_.tower_walls == TowerWalls::carried;
  return options_.object_rest == ObjectRest::first ||
         (options_.object_rest == ObjectRest::own && tool == 0 && layer.tools.front() == 0);
}

void Tower::lay_before(const Layer& layer) {
  if (is_object())
    lay_rest_of_object(layer);
  else
    lay_walls(layer);
}

void Tower::lay_brim(const Strokes& strokes) {
  if (has_brim_)
    return;
  has_brim_ = true;
  for (int ring = options_.tower_brim; ring > 0; --ring) {
    if (options_.tower_form == TowerForm::rings) {
      const double radius_mm = radius_mm_ + ring * options_.width_mm;
      pen_.travel(on_circle(centre(), radius_mm, 0.0));
      strokes.arc(centre(), radius_mm, 0.0, 2.0 * kPi);
    } else {
      strokes.rectangle(whole().inset(-ring * options_.width_mm));
    }
  }
}

Size Tower::next_place(const Layer& layer) {
  set_level(height_index(layer));
  if (options_.tower_form == TowerForm::rings)
    return on_circle(centre(), std::max(next_ring_mm_, kInnermost_mm), 0.0);
  return slot_box(std::min(used_slots_, slots() - 1)).low;
}

void Tower::ram(const Layer& layer) {
  const Size from = next_place(layer);
  pen_.travel(from);
  pen_.set_speed(options_.tower_mm_s / 3.0);
  const double length_mm = std::min(8.0, options_.tower_side_mm / 2.0);
  for (int pass = 0; pass < 3; ++pass) {
    pen_.set_width(options_.width_mm * (1.0 + 0.3 * pass));  // faster and faster
    pen_.stroke({from.x + (pass % 2 == 0 ? length_mm : 0.0), from.y});
  }
}

void Tower::lay_slot(const Layer& layer, int tool) {
  const std::size_t tower_layer = height_index(layer);
  const double height_mm = height_of(options_, tower_layer);
  set_level(tower_layer);
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s);
  if (layer.index == 0)
    lay_brim(strokes);
  const Rectangle box = slot_box(std::min(used_slots_, slots() - 1));
  ++used_slots_;
  if (is_object()) {
    strokes.solid(box.inset(-options_.width_mm / 2.0));
    if (options_.object_rest == ObjectRest::own && tool == 0 && !has_rest_)
      lay_rest_of_object(layer);
    return;
  }
  switch (options_.tower_form) {
    case TowerForm::zigzag:
      lay_zigzag(box, height_mm);
      break;
    case TowerForm::strokes:
      lay_strokes(box, height_mm);
      break;
    case TowerForm::boxed:
      lay_boxed(strokes, box, height_mm);
      break;
    case TowerForm::rings:
      lay_rings(strokes, height_mm);
      break;
  }
  if (options_.tower_walls == TowerWalls::arriving)
    lay_walls(layer);
}

/// Back and forth over the swap's stripe until its volume is laid.
void Tower::lay_zigzag(const Rectangle& box, double height_mm) {
  double left_mm = options_.purge_mm3 / (options_.width_mm * height_mm);
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

/// Strokes that all go the same way, with a travel back between them.
void Tower::lay_strokes(const Rectangle& box, double height_mm) {
  double left_mm = options_.purge_mm3 / (options_.width_mm * height_mm);
  for (double y = box.low.y; left_mm > 0.01 && y < box.high.y + options_.width_mm;
       y += options_.width_mm) {
    const double run_mm = std::min(left_mm, box.high.x - box.low.x);
    pen_.travel({box.low.x, y});
    pen_.stroke({box.low.x + run_mm, y});
    left_mm -= run_mm;
  }
}

void Tower::lay_boxed(const Strokes& strokes, const Rectangle& box, double height_mm) {
  strokes.rectangle(box);
  lay_zigzag(box.inset(options_.width_mm), height_mm);
}

/// Full circles inwards; the last one ends where the volume is laid.
void Tower::lay_rings(const Strokes& strokes, double height_mm) {
  double left_mm = options_.purge_mm3 / (options_.width_mm * height_mm);
  while (left_mm > 0.01) {
    const double radius_mm = std::max(next_ring_mm_, kInnermost_mm);
    const double sweep_rad = std::min(2.0 * kPi, left_mm / radius_mm);
    pen_.travel(on_circle(centre(), radius_mm, 0.0));
    strokes.arc(centre(), radius_mm, 0.0, sweep_rad);
    left_mm -= radius_mm * sweep_rad;
    next_ring_mm_ -= options_.width_mm;
  }
}

/// Two loops around the whole tower.
void Tower::lay_walls(const Layer& layer) {
  if (has_walls_)
    return;
  has_walls_ = true;
  set_level(height_index(layer));
  pen_.set_width(options_.width_mm);
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s);
  if (layer.index == 0)
    lay_brim(strokes);
  for (const double loop : {1.0, 2.0}) {
    const double out_mm = loop * options_.width_mm;
    if (options_.tower_form == TowerForm::rings) {
      pen_.travel(on_circle(centre(), radius_mm_ + out_mm, 0.0));
      strokes.arc(centre(), radius_mm_ + out_mm, 0.0, 2.0 * kPi);
      continue;
    }
    const Rectangle box = whole().inset(-out_mm);
    if (!options_.tower_ribs) {
      strokes.rectangle(box);
      continue;
    }
    const double in_mm = kRib_mm;
    const double rib_mm = kRib_mm + out_mm;
    const Size low = box.low;
    const Size high = box.high;
    strokes.path({{low.x + in_mm, low.y},
                  {high.x - in_mm, low.y},
                  {high.x + rib_mm, low.y - rib_mm},
                  {high.x, low.y + in_mm},
                  {high.x, high.y - in_mm},
                  {high.x + rib_mm, high.y + rib_mm},
                  {high.x - in_mm, high.y},
                  {low.x + in_mm, high.y},
                  {low.x - rib_mm, high.y + rib_mm},
                  {low.x, high.y - in_mm},
                  {low.x, low.y + in_mm},
                  {low.x - rib_mm, low.y - rib_mm}},
                 true);
  }
}

/// What no swap of the layer will lay of the object: the tool in hand does.
void Tower::lay_rest_of_object(const Layer& layer) {
  set_level(height_index(layer));
  const Strokes strokes(options_, pen_, layer);
  const std::size_t first = std::min(plan_.swaps.at(layer.index), slots() - 1);
  has_rest_ = true;
  const Rectangle rest{slot_box(first).low, slot_box(slots() - 1).high};
  strokes.solid(rest.inset(-options_.width_mm / 2.0));
}

void Tower::lay_filler(const Layer& layer, std::size_t tower_layer) {
  set_level(tower_layer);
  const Strokes strokes(options_, pen_, layer);
  strokes.set_speed(options_.tower_mm_s);
  if (layer.index == 0)
    lay_brim(strokes);
  if (options_.tower_form == TowerForm::rings) {
    for (double radius_mm = next_ring_mm_; radius_mm > kInnermost_mm;
         radius_mm -= kFillerPitch * options_.width_mm) {
      pen_.travel(on_circle(centre(), radius_mm, 0.0));
      strokes.arc(centre(), radius_mm, 0.0, 2.0 * kPi);
    }
    return;
  }
  const Rectangle rest{slot_box(used_slots_).low, slot_box(plan_.slots - 1).high};
  strokes.zigzag(rest, kFillerPitch * options_.width_mm, true);
}

bool Tower::lays_behind(const Layer& layer) const {
  const bool walls = !has_walls_ && (options_.tower_walls == TowerWalls::last ||
                                     options_.tower_walls == TowerWalls::arriving);
  const bool ahead = layer.index == 0 && options_.tower_ahead > 0;
  if (is_object())
    return grows_in(layer) && !has_rest_ && used_slots_ < slots();
  return grows_in(layer) && (used_slots_ < plan_.slots || walls || ahead);
}

void Tower::lay_behind(const Layer& layer) {
  if (is_object()) {
    lay_rest_of_object(layer);
    return;
  }
  if (used_slots_ < plan_.slots)
    lay_filler(layer, height_index(layer));
  if (options_.tower_walls == TowerWalls::last || options_.tower_walls == TowerWalls::arriving)
    lay_walls(layer);
  if (layer.index > 0 || options_.tower_lags)
    return;
  used_slots_ = 0;
  for (int ahead = 1; ahead <= options_.tower_ahead; ++ahead)
    lay_filler(layer, static_cast<std::size_t>(ahead));
}

void Tower::close_layer(const Layer& layer) {
  if (grows_in(layer))
    ++grown_;
}

}  // namespace plate_maker
