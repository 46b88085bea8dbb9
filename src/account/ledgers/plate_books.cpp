#include "account/ledgers/plate_books.hpp"

#include <algorithm>
#include <numeric>

#include "account/ledgers/by_tool.hpp"
#include "account/ledgers/heat_rows.hpp"
#include "base/units.hpp"
#include "heat/heat_result.hpp"
#include "material/swaps/pair_need.hpp"
#include "platetally/account.hpp"

namespace platetally::ledgers {

namespace {

template <typename T>
T at_or(const std::vector<T>& values, std::size_t index) {
  return index < values.size() ? values[index] : T{};
}

/// Start lines are of no layer: what they cost is in layer 0.
void add_to(LayerAccount& before, const LayerAccount& start) {
  before.time_by += start.time_by;
  before.swaps += start.swaps;
  before.part_g += start.part_g;
  before.purge_g += start.purge_g;
  before.start_up_g += start.start_up_g;
  before.energy_by += start.energy_by;
  before.bed_zones_active = std::max(before.bed_zones_active, start.bed_zones_active);
  before.bed_zones_warm = std::max(before.bed_zones_warm, start.bed_zones_warm);
}

/// The causes that widen the band of the total time, the widest first.
std::vector<TimeBandCause> band_causes(const TimeLedger& time, double unknown_words_s) {
  using timeline::Cause;
  constexpr std::pair<Cause, const char*> kNames[] = {
      {Cause::swap, "swap"},     {Cause::long_swap, "long-swap"},
      {Cause::homing, "homing"}, {Cause::probing, "probing"},
      {Cause::pause, "pause"},   {Cause::start_and_end, "start-and-end"}};
  std::vector<TimeBandCause> causes;
  for (const auto& [cause, name] : kNames) {
    const Range& seconds = time.of_cause(cause);
    if (seconds.high > seconds.low)
      causes.push_back({name, seconds.expected - seconds.low, seconds.high - seconds.expected});
  }
  const Range motion = time.motion_band();
  if (motion.high > motion.low)
    causes.push_back({"motion", -motion.low, motion.high});
  if (unknown_words_s > 0.0)
    causes.push_back({"unknown-words", 0.0, unknown_words_s});
  std::stable_sort(causes.begin(), causes.end(), [](const auto& a, const auto& b) {
    return a.below_s + a.above_s > b.below_s + b.above_s;
  });
  return causes;
}

}  // namespace

std::vector<std::size_t> by_height(const std::vector<double>& layer_heights_mm) {
  std::vector<std::size_t> order(layer_heights_mm.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  if (order.size() > 1)
    std::stable_sort(order.begin() + 1, order.end(), [&](std::size_t a, std::size_t b) {
      return layer_heights_mm[a] < layer_heights_mm[b];
    });
  return order;
}

PlateBooks::PlateBooks(const Machine& machine, const std::vector<Material>& materials,
                       std::vector<std::string> colours)
    : machine_(machine),
      colours_(std::move(colours)),
      g_per_mm_(g_per_mm_by_tool(machine, materials)),
      durations_(machine),
      purge_(machine),
      visits_(machine),
      layer_ledger_(machine.tools.size()),
      footprint_(machine.area),
      fixed_grid_(machine.bed),
      tool_use_(machine.tools.size()),
      heat_log_(machine),
      selects_(machine.tools.size(), 0) {}

void PlateBooks::take(const interpreter::Rows& rows) {
  for (std::size_t done = 0; done < rows.size;) {
    const std::size_t taken = run_.take(rows, done);
    if (taken == 0) {
      take_one(rows.record(done++));  // a run goes on from it
      continue;
    }
    heat_log_.take_strokes(rows, done, taken);
    visits_.draw(rows, done, done + taken);
    footprint_.add(rows, done, done + taken);
    if (objects_)
      objects_->draw(rows, done, done + taken);
    done += taken;
  }
}

void PlateBooks::take_one(const interpreter::Record& record) {
  close_run();
  if (record.kind == interpreter::RecordKind::move && record.move.e_mm > 0.0)
    time_.begin_print();
  if (durations_.take_plain_move(record)) [[likely]] {
    take_move(record);
    return;
  }
  const timeline::Duration duration = durations_.of(record);
  const swaps::Feed feed = purge_.take(record, duration.swap);
  note_stop(record, duration);
  time_.add(record, duration, feed);
  layer_ledger_.add(record, duration.swap);
  heat_log_.enter_turn(turns_.add(record, duration, feed));
  heat_log_.take(record, duration, feed.fresh_mm);
  visits_.take(record, duration.swap, feed.outside ? swaps::Feed{} : feed);
  tool_use_.add(record, duration);
  if (duration.swap.selection == timeline::Selection::swap) {
    outside_.swap(duration.swap);
    start_lines_.stop();
  }
  note_place(record, feed);
  add_place(record, feed);
  if (objects_) {
    note_swap_for_objects(record, duration);
    note_for_objects(record, feed);
  }
  if (duration.swap.selection != timeline::Selection::none)
    ++selects_[static_cast<std::size_t>(duration.swap.to)];
}

void PlateBooks::note_stop(const interpreter::Record& record, const timeline::Duration& duration) {
  Stop stop;
  stop.line = record.line;
  if (record.kind == interpreter::RecordKind::pause) {
    stop.what = "pause";
  } else if (duration.swap.selection == timeline::Selection::swap &&
             timeline::Durations::is_by_hand(machine_, duration.swap.from, duration.swap.to)) {
    stop.what = "manual-change";
    stop.tool = duration.swap.to;
  } else {
    return;
  }
  heat_log_.note_stop(record.line);
  time_.note_stop(std::move(stop), record.layer);
}

/// What take_one() does, for nearly every record of nearly every plate: nothing of swaps and
/// seconds that are not motion.
void PlateBooks::take_move(const interpreter::Record& record) {
  constexpr timeline::Swap kNoSwap;
  const swaps::Feed feed = purge_.take(record, kNoSwap);
  time_.add_move(record, feed);
  layer_ledger_.add(record, kNoSwap);
  heat_log_.enter_turn(turns_.add_move(record, feed));
  heat_log_.take_move(record, feed.fresh_mm);
  visits_.take(record, kNoSwap, feed.outside ? swaps::Feed{} : feed);
  tool_use_.add_move(record);
  note_place(record, feed);
  add_place(record, feed);
  if (objects_)
    note_for_objects(record, feed);
  if (feed.use == swaps::Use::part && feed.fresh_mm > 0.0 && feed.fresh_mm == record.move.e_mm &&
      record.flags == 0 && !record.move.is_stationary() && visits_.is_plain() &&
      !start_lines_.is_watching())
    run_.open(record, heat_log_.grid().last_tile(), machine_);
}

void PlateBooks::close_run() {
  if (!run_.is_open())
    return;
  run_.close();
  const StrokeRun::Sums& sums = run_.sums();
  const auto tool = static_cast<std::size_t>(run_.tool());
  swaps::Box box;
  box.include(sums.x_min_mm, sums.y_min_mm);
  box.include(sums.x_max_mm, sums.y_max_mm);
  later_.include(box);
  purge_.add_part(run_.layer(), tool, sums.e_mm);
  time_.add_strokes(run_.layer(), sums.motion_s);
  turns_.add_strokes(sums.e_mm, sums.motion_s);
  visits_.add_strokes(box, sums.e_mm, sums.motion_s, run_.x_mm(), run_.y_mm());
  tool_use_.add_strokes(tool, sums.motion_s);
  requirements_.add_points({sums.x_min_mm, sums.y_min_mm, sums.z_max_mm},
                           {sums.x_max_mm, sums.y_max_mm, sums.z_max_mm});
  if (objects_)
    objects_->add_strokes(run_.layer(), run_.tool(), sums.e_mm, sums.motion_s, box, sums.z_max_mm);
}

void PlateBooks::tell_objects_apart(bool draws_plate, std::optional<double> picture_at_mm) {
  draws_plate_ = draws_plate;
  objects_ = std::make_unique<objects::ObjectLedger>(machine_.area, machine_.tools.size(),
                                                     draws_plate, picture_at_mm);
}

void PlateBooks::note_for_objects(const interpreter::Record& record, const swaps::Feed& feed) {
  if (record.kind == interpreter::RecordKind::object)
    objects_->name(record.event.tool);
  if (record.kind != interpreter::RecordKind::move)
    return;
  const bool lays = interpreter::lays_material(record);
  if (lays && feed.use == swaps::Use::part) {
    objects_->lay(record, feed.fresh_mm);
    return;
  }
  // As the ledger of time has it: all that feeds purge is swap; travel is what moves and lays
  // nothing.
  const bool is_purge = feed.use == swaps::Use::purge;
  if (is_purge) {
    objects_->add_swap_seconds(record.layer, record.tool, record.motion_s);
    objects_->on_way_of_swap();
  }
  objects_->travel(!is_purge && !lays && !record.move.is_stationary() ? record.motion_s : 0.0);
  if (lays)
    objects_->lay_waste(record, is_purge ? AreaUse::purge : AreaUse::start_up);
}

void PlateBooks::note_swap_for_objects(const interpreter::Record& record,
                                       const timeline::Duration& duration) {
  if (duration.swap.selection == timeline::Selection::swap) {
    objects_->swap(record.layer, duration.swap.to);
    objects_->on_way_of_swap();
  }
  if (duration.cause == timeline::Cause::swap && record.kind != interpreter::RecordKind::move)
    objects_->add_swap_seconds(record.layer, duration.swap.to, duration.time_s.expected);
}

objects::ObjectsTold PlateBooks::take_objects(const heat::HeatResult& heat,
                                              const std::vector<std::string>& names,
                                              std::size_t layers) {
  objects::ObjectsTold told;
  if (!objects_)
    return told;
  objects_->settle(names, tower_.verdict == swaps::TowerVerdict::tower ? tower_.places
                                                                       : std::vector<swaps::Box>());
  told.objects =
      objects::share_plate(*objects_, {purge_.material(), g_per_mm_, time_.layers(), heat, layers});
  if (draws_plate_)
    told.plate = objects_->plate_picture();
  told.layer = objects_->layer_picture();
  told.overflows = objects_->found().overflows;
  told.layers_together = std::size_t{1} << objects_->found().shift;
  objects_.reset();
  return told;
}

/// Where a record lays material, for start lines and what is laid outside the area.
void PlateBooks::note_place(const interpreter::Record& record, const swaps::Feed& feed) {
  if (feed.outside) {
    outside_.lay(record, feed.fresh_mm, record.motion_s);
  } else if (feed.use == swaps::Use::part && interpreter::lays_material(record)) {
    outside_.lay_inside();
    if (start_lines_.is_watching() && record.layer > 0) {
      start_lines_.add(record, feed.fresh_mm);
    } else {
      later_.include(record.move.from_mm[0], record.move.from_mm[1]);
      later_.include(record.move.to_mm[0], record.move.to_mm[1]);
    }
  } else if (record.kind == interpreter::RecordKind::move && !record.move.is_stationary()) {
    outside_.travel();
  }
}

std::vector<LayerGrams> PlateBooks::grams_by_layer() const {
  std::vector<LayerGrams> grams;
  for (std::size_t layer = 0; layer < layer_ledger_.layers().size(); ++layer)
    grams.push_back(grams_of(layer));
  return grams;
}

double PlateBooks::flush_doubt_g() const {
  double doubt_g = 0.0;
  for (std::size_t tool = 0; tool < g_per_mm_.size(); ++tool)
    doubt_g += purge_.doubt_mm(tool) * g_per_mm_[tool];
  return doubt_g;
}

/// The one place where a verdict on the whole plate changes what was counted.
void PlateBooks::recount(const swaps::Recounted& filament) {
  purge_.recount(filament);
  turns_.recount(filament);
  if (filament.print_s > 0.0)
    time_.move_to_swap(filament.layer, filament.print_s);
  if (objects_)
    objects_->recount(filament);
}

void PlateBooks::settle_outside() {
  swaps::Box inside = start_lines_.box();
  inside.include(later_);
  const swaps::OutsideLog::Verdict verdict = outside_.settle(inside);
  for (const swaps::OutsideVisit& visit : verdict.purge) {
    recount({.layer = visit.layer,
             .tool = visit.tool,
             .mm = visit.fed_mm,
             .print_s = visit.print_s,
             .mark = swaps::Mark::place,
             .from = visit.from,
             .to = visit.to,
             .beyond = visit.box});
  }
  for (const swaps::OutsideVisit& visit : verdict.doubtful) {
    outside_doubt_g_ += visit.fed_mm * g_per_mm_[static_cast<std::size_t>(visit.tool)];
    const swaps::Box& box = visit.box;
    requirements_.add_points({double{box.x_min_mm}, double{box.y_min_mm}, visit.z_mm},
                             {double{box.x_max_mm}, double{box.y_max_mm}, visit.z_mm});
  }
}

void PlateBooks::settle_start_lines() {
  const auto laid_in = [this](std::uint32_t layer) {
    return purge_.material().of_layer(layer).laid_mm();
  };
  for (const StartLines::Stroke& stroke : start_lines_.find(later_, laid_in)) {
    const swaps::Box& box = stroke.box;
    recount({.layer = stroke.layer,
             .tool = stroke.tool,
             .mm = stroke.fed_mm,
             .is = swaps::Use::start_up,
             .at_mm = {{0.5 * static_cast<double>(box.x_min_mm + box.x_max_mm),
                        0.5 * static_cast<double>(box.y_min_mm + box.y_max_mm)}}});
    const swaps::MaterialBook::Cell cell = purge_.material().of_layer(stroke.layer);
    constexpr double kRest = 0.01;
    if (cell.laid_mm() - cell.of(swaps::Use::start_up) <= kRest * cell.laid_mm() &&
        !is_start(stroke.layer))
      start_layers_.push_back(stroke.layer);
  }
}

void PlateBooks::add_place(const interpreter::Record& record, const swaps::Feed& feed) {
  const bool is_part = feed.use == swaps::Use::part;
  requirements_.add(record, is_part && !feed.outside);
  if (!interpreter::lays_material(record))
    return;
  if (is_part) {
    layer_sequence_.add(record, purge_.swaps());
    footprint_.add(record.move, record.layer);
  } else if (feed.use == swaps::Use::purge && feed.mark == swaps::Mark::comment) {
    footprint_.add_purge(record.move, record.layer);
  } else if (feed.use != swaps::Use::none) {
    const bool is_early = feed.use == swaps::Use::start_up && feed.mark == swaps::Mark::comment;
    std::vector<std::uint64_t>& tiles = is_early ? early_tiles_ : fixed_tiles_;
    if (tiles.size() <= record.layer)
      tiles.resize(record.layer + 1U, 0);
    tiles[record.layer] |= fixed_grid_.tiles_under(record.move);
  }
}

void PlateBooks::settle_purge() {
  close_run();
  for (const swaps::Recounted& early : purge_.settle_early()) {
    recount(early);
    // Marked purge below that of later swaps moves with the plate, as that does.
    if (early.mark == swaps::Mark::comment && early.layer < early_tiles_.size())
      early_tiles_[early.layer] = 0;
  }
  fixed_tiles_.resize(std::max(fixed_tiles_.size(), early_tiles_.size()), 0);
  for (std::size_t layer = 0; layer < early_tiles_.size(); ++layer)
    fixed_tiles_[layer] |= early_tiles_[layer];
  settle_outside();
  settle_start_lines();
  tower_ = swaps::find_tower(visits_);
  if (tower_.verdict == swaps::TowerVerdict::tower) {
    move_to_tower();
    layer_sequence_.leave_out(purge_alone());
  }
  for (const std::size_t index : tower_.visits) {
    const swaps::Visit& visit = visits_.visits()[index];
    tower_laid_g_ += visit.part_mm * g_per_mm_[static_cast<std::size_t>(visit.tool)];
  }
  visits_.forget();  // heat needs the room next
}

/// What is laid between two swaps in a layer, where all of it lies on the tower.
std::set<LaidBetweenSwaps> PlateBooks::purge_alone() const {
  std::set<LaidBetweenSwaps> purge;
  const auto key_of = [this](const swaps::Visit& visit) {
    return LaidBetweenSwaps{visits_.swaps_before(visit), visit.layer};
  };
  std::vector<bool> on_tower(visits_.visits().size(), false);
  for (const std::size_t index : tower_.visits) {
    on_tower[index] = true;
    purge.insert(key_of(visits_.visits()[index]));
  }
  for (std::size_t i = 0; i < on_tower.size(); ++i)
    if (!on_tower[i])
      purge.erase(key_of(visits_.visits()[i]));
  return purge;
}

void PlateBooks::move_to_tower() {
  std::size_t next_of_swap = 0;  // the visit with which a tool would go on purging
  for (const std::size_t index : tower_.visits) {
    const swaps::Visit& visit = visits_.visits()[index];
    // What a tool lays there before it goes elsewhere is its swap's; later it fills the tower up.
    const bool is_of_swap = visit.leads || index == next_of_swap;
    next_of_swap = is_of_swap ? index + 1 : 0;
    // What lies under a tower before the first swap is there because of the swaps to come.
    const swaps::Segment& segment = visits_.segments()[std::max<std::size_t>(visit.segment, 1)];
    recount({.layer = visit.layer,
             .tool = visit.tool,
             .mm = visit.part_mm,
             .print_s = visit.print_s,
             .mark = swaps::Mark::tower,
             .from = segment.from,
             .to = segment.to,
             .only_keeps_standing = !is_of_swap,
             .segment = visits_.swaps_before(visit),
             .at_mm = {{double{visit.x_mm}, double{visit.y_mm}}}});
  }
  for (const swaps::Box& place : tower_.places)
    footprint_.call_purge(static_cast<double>(place.x_min_mm), static_cast<double>(place.x_max_mm),
                          static_cast<double>(place.y_min_mm), static_cast<double>(place.y_max_mm));
}

std::vector<std::size_t> PlateBooks::rows(const std::vector<double>& layer_heights_mm) const {
  std::vector<std::size_t> rows = by_height(layer_heights_mm);
  std::erase_if(rows, [this](std::size_t ordinal) { return is_start(ordinal); });
  return rows;
}

void PlateBooks::write(const heat::HeatResult& heat, const std::vector<double>& layer_heights_mm,
                       Account& account) const {
  const std::vector<std::size_t> ordinals = by_height(layer_heights_mm);
  write_layers(ordinals, layer_heights_mm, account);
  write_tools(account);
  write_pairs(account);
  write_visits(ordinals, account);
  write_tower(account);
  write_heat_rows(heat, rows(layer_heights_mm), machine_, account, start_layers_);
  write_stops(heat, ordinals, account);
  write_totals(heat, account);
}

void PlateBooks::write_layers(const std::vector<std::size_t>& ordinals,
                              const std::vector<double>& layer_heights_mm, Account& account) const {
  for (const std::size_t ordinal : ordinals) {
    const LayerRow row = at_or(layer_ledger_.layers(), ordinal);
    LayerAccount layer;
    layer.index = account.layers.size();
    layer.z_mm = layer_heights_mm[ordinal];
    layer.time_by = at_or(time_.layers(), ordinal);
    layer.swaps = row.swaps;
    layer.order = row.order;
    layer.first_line = row.first_line;
    const LayerGrams grams = grams_of(ordinal);
    layer.part_g = grams.part_g;
    layer.purge_g = grams.purge_g;
    layer.start_up_g = grams.start_up_g;
    if (is_start(ordinal))
      add_to(account.layers.front(), layer);
    else
      account.layers.push_back(std::move(layer));
  }
}

void PlateBooks::write_tools(Account& account) const {
  const std::vector<swaps::ToolFilament> filaments = purge_.tools();
  for (std::size_t tool = 0; tool < machine_.tools.size(); ++tool) {
    const swaps::ToolFilament& filament = filaments[tool];
    ToolAccount row;
    row.tool = static_cast<int>(tool);
    row.colour = swaps::colour_of_tool(machine_, colours_, tool);
    row.selects = selects_[tool];
    row.filament_mm = filament.net_mm;
    row.part_g = filament.part_mm() * g_per_mm_[tool];
    row.purge_g = (filament.purge_mm + filament.hidden_purge_mm) * g_per_mm_[tool];
    row.start_up_g = filament.start_up_mm * g_per_mm_[tool];
    account.tools.push_back(row);
  }
}

void PlateBooks::write_pairs(Account& account) const {
  const std::size_t tools = machine_.tools.size();
  const auto needs_mm3 = swaps::pair_needs_mm3(machine_, colours_);
  for (std::size_t from = 0; from < tools; ++from) {
    for (std::size_t to = 0; to < tools; ++to) {
      const swaps::PairBook& pair = purge_.pairs()[from * tools + to];
      if (pair.count == 0)
        continue;
      SwapPairAccount row;
      row.from = static_cast<int>(from);
      row.to = static_cast<int>(to);
      row.count = pair.count;
      row.purge_g = (pair.purge_mm + pair.hidden_purge_mm) * g_per_mm_[to];
      if (const std::optional<double>& need_mm3 = needs_mm3[from * tools + to])
        row.needed_g = static_cast<double>(row.count) * *need_mm3 /
                       base::filament_area_mm2(machine_.tools[to].filament_diameter_mm) *
                       g_per_mm_[to];
      account.swap_pairs.push_back(row);
    }
  }
}

/// Of the account's layers, by ordinal.
std::vector<std::uint64_t> PlateBooks::indices(const std::vector<std::size_t>& ordinals) const {
  std::vector<std::uint64_t> index_of(ordinals.size());
  std::uint64_t index = 0;
  for (const std::size_t ordinal : ordinals)
    index_of[ordinal] = is_start(ordinal) ? 0 : index++;
  return index_of;
}

/// Words that nothing is known of may take time before a stop by its share of all seconds.
void PlateBooks::write_stops(const heat::HeatResult& heat, const std::vector<std::size_t>& ordinals,
                             Account& account) const {
  const std::vector<std::uint64_t> index_of = indices(ordinals);
  account.stops = time_.stops();
  const double unknown_s = unknown_words_s(account);
  const double all_s = time_.total().expected;
  for (std::size_t i = 0; i < account.stops.size(); ++i) {
    Stop& stop = account.stops[i];
    stop.layer = stop.layer < index_of.size() ? index_of[stop.layer] : 0;
    if (all_s > 0.0)
      stop.after.high += unknown_s * std::min(1.0, stop.after.expected / all_s);
    if (i < heat.waited_before_stop_s.size())
      stop.after += Range::exactly(heat.waited_before_stop_s[i]);
  }
}

double PlateBooks::unknown_words_s(const Account& account) const {
  double seconds = 0.0;
  for (const UnaccountedWord& word : account.unaccounted)
    seconds += static_cast<double>(word.count) * machine_.procedures.unknown_word_most_s;
  return seconds;
}

void PlateBooks::write_visits(const std::vector<std::size_t>& ordinals, Account& account) const {
  const std::vector<std::uint64_t> index_of = indices(ordinals);
  account.visits = layer_sequence_.visits();
  std::erase_if(account.visits, [this](const LayerVisit& visit) { return is_start(visit.layer); });
  for (LayerVisit& visit : account.visits)
    visit.layer = index_of[visit.layer];
}

void PlateBooks::write_tower(Account& account) const {
  TowerAccount& tower = account.tower;
  tower.verdict = name_of(tower_.verdict);
  tower.why = explain(tower_);
  if (tower_.verdict != swaps::TowerVerdict::tower &&
      tower_.verdict != swaps::TowerVerdict::undecided)
    return;
  swaps::Box hull;
  for (const swaps::Box& place : tower_.places)
    hull.include(place);
  tower.x_min_mm = static_cast<double>(hull.x_min_mm);
  tower.x_max_mm = static_cast<double>(hull.x_max_mm);
  tower.y_min_mm = static_cast<double>(hull.y_min_mm);
  tower.y_max_mm = static_cast<double>(hull.y_max_mm);
  tower.laid_g = tower_laid_g_;
}

void PlateBooks::write_totals(const heat::HeatResult& heat, Account& account) const {
  Totals& totals = account.totals;
  sum_layers(account);
  for (std::size_t tool = 0; tool < g_per_mm_.size(); ++tool) {
    const double g_per_mm = g_per_mm_[tool];
    totals.purge_by.at_rest_g += purge_.purge_mm(tool, swaps::Mark::at_rest) * g_per_mm;
    totals.purge_by.place_g += purge_.purge_mm(tool, swaps::Mark::place) * g_per_mm;
    totals.purge_by.comment_g += purge_.purge_mm(tool, swaps::Mark::comment) * g_per_mm;
    totals.purge_by.tower_g += purge_.purge_mm(tool, swaps::Mark::tower) * g_per_mm;
    totals.purge_by.hidden_g += purge_.material().of_tool(tool).hidden_mm * g_per_mm;
  }
  totals.purge_low_g = totals.purge_g;
  totals.purge_high_g = totals.purge_g;
  if (tower_.verdict == swaps::TowerVerdict::undecided)
    totals.purge_high_g += account.tower.laid_g;
  totals.purge_high_g += outside_doubt_g_ + flush_doubt_g();
  if (!g_per_mm_.empty())
    totals.purge_high_g += tower_.dropped_mm * *std::ranges::max_element(g_per_mm_);
  totals.time = time_.total();
  totals.time += Range::exactly(heat.wait_s);
  totals.pause_s = time_.pause_s();
  totals.pauses = time_.pauses();
  totals.manual_changes = time_.stops_in_all() - time_.pauses();
  const double unknown_s = unknown_words_s(account);
  totals.time.high += unknown_s;
  totals.time += time_.motion_band();
  totals.time_of_print = time_.of_print();
  totals.time_of_print += time_.print_motion_band();
  totals.time_of_print.high += unknown_s;
  totals.time_band = band_causes(time_, unknown_s);
  totals.set_power_and_energy_band(machine_.supply.energy_spread);
}

}  // namespace platetally::ledgers
