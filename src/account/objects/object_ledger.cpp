#include "account/objects/object_ledger.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "account/objects/outline.hpp"
#include "base/give_back.hpp"

namespace platetally::objects {

namespace {

constexpr std::uint32_t kNoEntry = 0;
constexpr float kBrim_mm = 10.0F;  // around a tower: assumed
constexpr auto kCell_mm = static_cast<float>(IslandRaster::kCellMm);
constexpr double kLittle = 0.01;       // of an island that was no part after all
constexpr float kOverhang_mm = 10.0F;  // that may reach over a skirt: assumed
// Instead of the index of an object.
constexpr int kNoObject = -1;
constexpr int kOfRest = -2;
constexpr std::uint32_t kSkirtLayers = 3;  // a skirt has so many at most: assumed

auto key_of(const Entry& entry) {
  return std::tuple(entry.band, entry.tool, entry.label);
}

}  // namespace

/// What an island comes to over all its entries.
struct ObjectLedger::IslandSums {
  Label label = 0;
  double mm = 0.0;
  double print_s = 0.0;
  std::uint32_t layers = 0;
  std::uint32_t last_band = UINT32_MAX;
  bool is_object = true;
};

ObjectLedger::ObjectLedger(const BuildArea& area, std::size_t tools, bool draws_plate,
                           std::optional<double> picture_at_mm)
    : tools_(tools), islands_(area), draws_plate_(draws_plate) {
  if (picture_at_mm)
    layer_ = std::make_unique<LayerRaster>(area, *picture_at_mm);
}

/// What is laid next is of this layer and tool.
void ObjectLedger::go_on(std::uint32_t layer, std::int16_t tool) {
  if (laying_ && path_.layer == layer && path_.tool == tool)
    return;
  book();
  path_ = {};
  path_.layer = layer;
  path_.tool = tool;
}

/// Cell by cell is needed for a picture, in the first layers, and every half millimetre, so that no
/// cell is forgotten (IslandRaster::kNear). Else the ends of strokes say enough: paths hang
/// together.
void ObjectLedger::choose_walk(std::uint32_t layer, double z_mm) {
  constexpr std::uint32_t kFirstLayers = 2;
  constexpr double kEvery_mm = 0.5;
  walk_chosen_for_ = layer;
  const bool walks = draws_plate_ || layer <= kFirstLayers || z_mm < walked_z_mm_ ||
                     z_mm >= walked_z_mm_ + kEvery_mm;
  if (walks)
    walked_z_mm_ = z_mm;
  islands_.walk_all_cells(walks);
}

void ObjectLedger::lay(const interpreter::Record& stroke, double mm) {
  const interpreter::Move& move = stroke.move;
  if (stroke.layer != walk_chosen_for_)
    choose_walk(stroke.layer, move.to_mm[2]);
  go_on(stroke.layer, std::max<std::int16_t>(stroke.tool, 0));
  if (!laying_)
    islands_.begin(move.from_mm[0], move.from_mm[1], move.to_mm[2], stroke.tool);
  laying_ = true;
  islands_.go_to_height(move.to_mm[2]);
  trace(move);
  path_.mm += mm;
  path_.print_s += stroke.motion_s;
  path_.z_max_mm = std::max(path_.z_max_mm, move.to_mm[2]);
}

/// Along a straight line, or an arc in chords of about a millimetre.
void ObjectLedger::trace(const interpreter::Move& move) {
  constexpr double kMostChords = 720.0;
  path_.box.include(move.from_mm[0], move.from_mm[1]);
  if (layer_ && layer_->wants(path_.layer, move.to_mm[2]))
    layer_->begin(move.from_mm[0], move.from_mm[1]);
  if (move.is_arc() && move.plane == interpreter::Plane::xy) {
    const double across_mm = move.from_mm[0] - move.centre_mm[0];
    const double along_mm = move.from_mm[1] - move.centre_mm[1];
    const double length_mm = std::hypot(across_mm, along_mm) * std::abs(move.sweep_rad);
    const int chords = static_cast<int>(std::clamp(std::ceil(length_mm), 8.0, kMostChords));
    for (int chord = 1; chord < chords; ++chord) {
      const double angle_rad = move.sweep_rad * chord / chords;
      const double cosine = std::cos(angle_rad);
      const double sine = std::sin(angle_rad);
      go(move.centre_mm[0] + cosine * across_mm - sine * along_mm,
         move.centre_mm[1] + sine * across_mm + cosine * along_mm);
    }
  }
  go(move.to_mm[0], move.to_mm[1]);
}

void ObjectLedger::go(double x_mm, double y_mm) {
  islands_.go(x_mm, y_mm);
  path_.box.include(x_mm, y_mm);
  if (layer_ && layer_->wants(path_.layer, path_.z_max_mm))
    layer_->go(x_mm, y_mm, islands_.current(), path_.tool);
}

void ObjectLedger::draw(const interpreter::Rows& rows, std::size_t first, std::size_t last) {
  islands_.go(rows, first, last);
  if (layer_ && layer_->wants(rows.run.layer, rows.to_z_mm[first])) {
    layer_->begin(rows.from_x_mm(first), rows.from_y_mm(first));
    for (std::size_t i = first; i < last; ++i)
      layer_->go(rows.to_x_mm[i], rows.to_y_mm[i], islands_.current(), rows.run.tool);
  }
}

void ObjectLedger::add_strokes(std::uint32_t layer, std::int16_t tool, double mm, double seconds,
                               const swaps::Box& box, double z_mm) {
  go_on(layer, tool);
  path_.mm += mm;
  path_.print_s += seconds;
  path_.z_max_mm = std::max(path_.z_max_mm, z_mm);
  path_.box.include(box);
}

void ObjectLedger::lay_waste(const interpreter::Record& stroke, AreaUse use) {
  const Label waste = use == AreaUse::purge ? kPurge : kStartUp;
  const interpreter::Move& move = stroke.move;
  islands_.lay_waste(move, stroke.tool, waste);
  if (layer_ && layer_->wants(stroke.layer, move.to_mm[2])) {
    layer_->begin(move.from_mm[0], move.from_mm[1]);
    layer_->go(move.to_mm[0], move.to_mm[1], waste, stroke.tool);
  }
}

void ObjectLedger::travel(double seconds) {
  book();
  laying_ = false;
  pending_travel_s_ += seconds;
}

void ObjectLedger::on_way_of_swap() {
  book();
  laying_ = false;
  is_on_way_of_swap_ = true;
}

void ObjectLedger::name(int object) {
  book();
  laying_ = false;
  islands_.name(object);
}

Entry& ObjectLedger::entry_of(Label label) {
  const std::uint32_t band = path_.layer >> shift_;
  const auto tool = static_cast<std::uint16_t>(path_.tool);
  std::uint32_t& last = islands_.island(label).entry;
  if (last != kNoEntry) {
    Entry& entry = entries_[last - 1];
    if (entry.band == band && entry.tool == tool)
      return entry;
  }
  entries_.push_back({band, tool, label});
  last = static_cast<std::uint32_t>(entries_.size());
  return entries_.back();
}

/// The path so far, and the travel that led to it.
void ObjectLedger::book() {
  if (!laying_)
    return;
  const Label label = islands_.current();
  const std::size_t entries = entries_.size();
  Entry& entry = entry_of(label);
  if (entries_.size() > entries && !is_on_way_of_swap_) {
    entry.came_s = static_cast<float>(pending_travel_s_);
    entry.came_from = last_label_;
  }
  last_label_ = label;
  entry.mm += path_.mm;
  entry.print_s += path_.print_s;
  if (is_on_way_of_swap_)
    turn(path_.layer, path_.tool).travel_s += pending_travel_s_;
  else
    entry.travel_s += pending_travel_s_;
  is_on_way_of_swap_ = false;
  pending_travel_s_ = 0.0;
  Island& island = islands_.island(label);
  if (!path_.box.empty())
    island.box.include(path_.box);
  island.z_max_mm = std::max(island.z_max_mm, static_cast<float>(path_.z_max_mm));
  const Path booked = path_;
  path_ = {};
  path_.layer = booked.layer;
  path_.tool = booked.tool;
  bound_labels();
  bound_entries();
}

void ObjectLedger::bound_labels() {
  const std::vector<Label> new_label = islands_.renumber();
  if (new_label.empty())
    return;
  for (Entry& entry : entries_) {
    entry.label = new_label[entry.label];
    entry.came_from = new_label[entry.came_from];
  }
  last_label_ = new_label[last_label_];
  if (layer_)
    layer_->cells().change_all([&](Cell& cell) { cell.label = new_label[cell.label]; });
}

void ObjectLedger::bound_entries() {
  if (entries_.size() < kMostEntries)
    return;
  merge_entries();
  while (entries_.size() > kMostEntries / 2) {
    ++shift_;
    for (Entry& entry : entries_)
      entry.band >>= 1U;
    merge_entries();
  }
  for (std::size_t label = 0; label < islands_.labels(); ++label)
    islands_.island(static_cast<Label>(label)).entry = kNoEntry;
}

/// One entry for each band, tool and island, in that order.
void ObjectLedger::merge_entries() {
  for (Entry& entry : entries_) {
    entry.label = islands_.root(entry.label);
    entry.came_from = islands_.root(entry.came_from);
  }
  std::ranges::stable_sort(entries_, {}, key_of);
  std::size_t kept = 0;
  for (const Entry& entry : entries_) {
    if (kept > 0 && key_of(entries_[kept - 1]) == key_of(entry)) {
      Entry& same = entries_[kept - 1];
      same.mm += entry.mm;
      same.print_s += entry.print_s;
      same.travel_s += entry.travel_s;
      same.came_s += same.came_from == entry.came_from ? entry.came_s : 0.0F;
    } else {
      entries_[kept++] = entry;
    }
  }
  entries_.resize(kept);
}

SwapsOfTurn& ObjectLedger::turn(std::uint32_t layer, int tool) {
  const std::size_t index = layer * tools_ + static_cast<std::size_t>(std::max(tool, 0));
  if (swaps_.size() <= index)
    swaps_.resize((layer + std::size_t{1}) * tools_);
  return swaps_[index];
}

void ObjectLedger::swap(std::uint32_t layer, int tool) {
  ++turn(layer, tool).count;
}

void ObjectLedger::add_swap_seconds(std::uint32_t layer, int tool, double seconds) {
  turn(layer, tool).seconds += seconds;
}

/// After the last record: what is open, and entries of islands that have become one.
void ObjectLedger::book_all_once() {
  if (is_merged_)
    return;
  book();
  merge_entries();
  is_merged_ = true;
  no_part_mm_.assign(islands_.labels(), 0.0);
}

Entry* ObjectLedger::find_entry(std::uint32_t layer, int tool, double x_mm, double y_mm) {
  book_all_once();
  const std::tuple key(layer >> shift_, static_cast<std::uint16_t>(std::max(tool, 0)),
                       islands_.root(islands_.at(x_mm, y_mm)));
  const auto found = std::ranges::lower_bound(entries_, key, {}, key_of);
  return found != entries_.end() && key_of(*found) == key ? &*found : nullptr;
}

void ObjectLedger::recount(const swaps::Recounted& filament) {
  if (filament.is == swaps::Use::purge && filament.print_s > 0.0)
    add_swap_seconds(filament.layer, filament.tool, filament.print_s);
  if (filament.beyond)
    left_out_.push_back(*filament.beyond);
  if (!filament.at_mm)
    return;
  const auto [x_mm, y_mm] = *filament.at_mm;
  Entry* const entry = find_entry(filament.layer, filament.tool, x_mm, y_mm);
  if (entry == nullptr)
    return;
  no_part_mm_[entry->label] += std::min(filament.mm, entry->mm);
  entry->mm = std::max(0.0, entry->mm - filament.mm);
  entry->print_s = std::max(0.0, entry->print_s - filament.print_s);
}

std::vector<ObjectLedger::IslandSums> ObjectLedger::sums_by_island() const {
  std::vector<IslandSums> by_label(islands_.labels());
  for (const Entry& entry : entries_) {
    IslandSums& sums = by_label[entry.label];
    sums.label = entry.label;
    sums.mm += entry.mm;
    sums.print_s += entry.print_s;
    if (sums.last_band != entry.band && (entry.mm > 0.0 || entry.print_s > 0.0)) {
      ++sums.layers;
      sums.last_band = entry.band;
    }
  }
  std::erase_if(by_label, [](const IslandSums& sums) { return sums.label == kNoLabel; });
  std::ranges::stable_sort(
      by_label, {}, [this](const IslandSums& sums) { return islands_.island(sums.label).first; });
  return by_label;
}

/// Priming lines, a tower, purge beside the bed.
bool ObjectLedger::is_no_object(const IslandSums& sums) const {
  const double taken_mm = no_part_mm_[sums.label];
  const swaps::Box& box = islands_.island(sums.label).box;
  const auto holds = [&](float margin_mm) {
    return [&box, margin_mm](const swaps::Box& place) { return box.lies_in(place, margin_mm); };
  };
  if (sums.mm <= 0.0 && (taken_mm > 0.0 || sums.print_s <= 0.0))
    return true;
  if (taken_mm > 0.0 && sums.mm < kLittle * taken_mm)
    return true;
  return (taken_mm > 0.0 && std::ranges::any_of(towers_, holds(kBrim_mm))) ||
         std::ranges::any_of(left_out_, holds(kCell_mm));
}

/// A few layers around something that is much higher.
void ObjectLedger::leave_out_skirts(std::vector<IslandSums>& sums) const {
  for (IslandSums& skirt : sums) {
    if (!skirt.is_object || skirt.layers > kSkirtLayers || islands_.island(skirt.label).named >= 0)
      continue;
    const swaps::Box& around = islands_.island(skirt.label).box;
    skirt.is_object = !std::ranges::any_of(sums, [&](const IslandSums& other) {
      const swaps::Box& box = islands_.island(other.label).box;
      swaps::Box middle;
      middle.include(0.5 * static_cast<double>(box.x_min_mm + box.x_max_mm),
                     0.5 * static_cast<double>(box.y_min_mm + box.y_max_mm));
      return other.label != skirt.label && other.is_object && other.layers > 2 * kSkirtLayers &&
             middle.lies_in(around, 0.0F) && box.lies_in(around, kOverhang_mm);
    });
  }
}

void ObjectLedger::settle(const std::vector<std::string>& names,
                          const std::vector<swaps::Box>& towers) {
  book_all_once();
  towers_ = towers;
  std::vector<IslandSums> sums = sums_by_island();
  for (IslandSums& island : sums)
    island.is_object = island.label >= kFirstIsland && !is_no_object(island);
  leave_out_skirts(sums);
  std::vector<double> sizes_mm;
  for (const IslandSums& island : sums)
    if (island.is_object)
      sizes_mm.push_back(island.mm);
  std::ranges::sort(sizes_mm, std::ranges::greater{});
  const double least_mm = sizes_mm.size() > kMostObjects ? sizes_mm[kMostObjects - 1] : 0.0;

  object_of_.assign(islands_.labels(), 0);
  waste_.assign(islands_.labels(), AreaUse::purge);
  waste_[kStartUp] = AreaUse::start_up;
  std::vector<int> index_of(islands_.labels(), kNoObject);
  FoundObject rest;
  rest.name = "rest";
  rest.is_rest = true;
  bool has_rest = false;
  for (const IslandSums& island : sums) {
    const Island& about = islands_.island(island.label);
    if (island.label == kRest || (island.is_object && island.mm < least_mm)) {
      has_rest = has_rest || island.mm > 0.0;
      index_of[island.label] = kOfRest;
      if (!about.box.empty())
        rest.box.include(about.box);
      rest.height_mm = std::max(rest.height_mm, static_cast<double>(about.z_max_mm));
    } else if (island.is_object) {
      FoundObject object;
      object.name = about.named >= 0 ? names[static_cast<std::size_t>(about.named)]
                                     : fmt::format("object {}", found_.objects.size() + 1);
      object.box = about.box;
      object.height_mm = static_cast<double>(about.z_max_mm);
      index_of[island.label] = static_cast<int>(found_.objects.size());
      found_.objects.push_back(std::move(object));
      object_of_[island.label] = static_cast<std::uint32_t>(found_.objects.size());
    } else if (!about.box.empty() && no_part_mm_[island.label] > 0.0 &&
               std::ranges::none_of(towers_, [&](const swaps::Box& tower) {
                 return about.box.meets(tower, 0.0F);
               })) {
      waste_[island.label] = AreaUse::start_up;
    }
  }
  if (has_rest || found_.objects.empty()) {
    for (int& index : index_of)
      index = index == kOfRest ? static_cast<int>(found_.objects.size()) : index;
    found_.objects.push_back(rest);
  }
  give_travel_to_swaps(index_of);
  for (const Entry& entry : entries_)
    if (const int index = index_of[entry.label]; index >= 0) {
      found_.entries.push_back(entry);
      found_.entries.back().label = static_cast<Label>(index);
    }
  std::ranges::stable_sort(found_.entries, {}, key_of);
  base::give_back(entries_);
  found_.shift = shift_;
  found_.overflows = islands_.overflows() || has_rest;
}

/// The ways to a tower that was found behind the last record, and from it to the first object.
void ObjectLedger::give_travel_to_swaps(const std::vector<int>& index_of) {
  const auto is_tower = [&](Label label) {
    return label >= kFirstIsland && index_of[label] < 0 && waste_[label] == AreaUse::purge &&
           no_part_mm_[label] > 0.0;
  };
  for (Entry& entry : entries_) {
    const auto way_of_swap = [&](double seconds) {
      turn(entry.band << shift_, entry.tool).travel_s += seconds;
    };
    if (is_tower(entry.label)) {
      way_of_swap(entry.travel_s);
    } else if (is_tower(entry.came_from) && index_of[entry.label] >= 0) {
      const double came_s = std::min(static_cast<double>(entry.came_s), entry.travel_s);
      entry.travel_s -= came_s;
      way_of_swap(came_s);
    }
  }
}

PlatePicture ObjectLedger::draw_cells(const CellTiles& cells) const {
  const auto in_tower = [this](double x_mm, double y_mm) {
    return std::ranges::any_of(towers_, [&](const swaps::Box& tower) {
      swaps::Box point;
      point.include(x_mm, y_mm);
      return point.lies_in(tower, kCell_mm);
    });
  };
  const auto area_of = [&](int column, int row, const Cell& cell) {
    AreaKey key;
    key.tool = cell.tool;
    if (cell.label == kNoLabel)
      return key;
    key.is_laid = true;
    const Label root = islands_.root(cell.label);
    const double half_mm = 0.5 * cells.cell_mm();
    if (root < kFirstIsland || object_of_[root] == 0)
      key.use = root == kRest ? AreaUse::part : waste_[root];
    else if (no_part_mm_[root] > 0.0 &&
             in_tower(cells.x_mm(column) + half_mm, cells.y_mm(row) + half_mm))
      key.use = AreaUse::purge;
    else
      key.object = object_of_[root];
    return key;
  };
  return draw_areas(cells, area_of);
}

PlatePicture ObjectLedger::plate_picture() const {
  PlatePicture picture = draw_cells(islands_.cells());
  picture.is_whole = picture.is_whole && !islands_.overflows();
  return picture;
}

std::optional<PlatePicture> ObjectLedger::layer_picture() const {
  if (!layer_ || layer_->empty())
    return std::nullopt;
  PlatePicture picture = draw_cells(layer_->cells());
  picture.at_mm = layer_->z_mm();
  picture.is_whole = picture.is_whole && !layer_->overflows();
  return picture;
}

}  // namespace platetally::objects
