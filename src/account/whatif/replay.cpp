// A turn's spans are stretched evenly to its new seconds and volume: within a turn it is not known
// which span is purge and which is part, and over a minute heat hardly sees the difference.
//
// Heater words of a turn name tools by their part in it: the tool itself, the one before (put on
// standby behind the swap), the one behind (heated up ahead). In a new order these are other tools,
// at their own printing temperatures; where no swap is left, words for the one before and behind
// fall away, and so does putting the tool itself on standby at the turn's end.
#include "account/whatif/replay.hpp"

#include <algorithm>
#include <cmath>

#include "account/ledgers/by_tool.hpp"
#include "account/whatif/heating.hpp"
#include "base/units.hpp"
#include "motion/timeline/durations.hpp"

namespace platetally::whatif {

namespace {

using ledgers::Turn;
using timeline::HeatEvent;
using timeline::HeatEventKind;
using timeline::HeatLog;

constexpr double kStandbyShare = 0.9;  // of the printing temperature; below it a head stands by

bool names_head(const HeatEvent& event) {
  return (event.kind == HeatEventKind::set_heater || event.kind == HeatEventKind::wait_heater) &&
         event.heater == interpreter::Heater::head;
}

class LogWriter {
 public:
  LogWriter(const KeptPlate& plate, const Variant& variant, const Rewritten& rewritten)
      : plate_(plate),
        variant_(variant),
        rewritten_(rewritten),
        events_(plate.log.events),
        hottest_c_(plate.machine.tools.size(), 0.0) {
    for (const Tool& tool : plate.machine.tools)
      area_mm2_.push_back(base::filament_area_mm2(tool.filament_diameter_mm));
    for (const HeatEvent& event : events_)
      if (event.kind == HeatEventKind::set_heater && names_head(event) && event.tool >= 0)
        hottest_c_[static_cast<std::size_t>(event.tool)] =
            std::max(hottest_c_[static_cast<std::size_t>(event.tool)], event.value);
    // What stands behind the last stroke ends the plate, whichever turn comes last.
    while (epilogue_ > 0 && !(events_[epilogue_ - 1].kind == HeatEventKind::span &&
                              events_[epilogue_ - 1].volume_mm3 > 0.0))
      --epilogue_;
  }

  HeatLog write();

 private:
  struct Slice {
    std::size_t first = 0, last = 0;
  };
  struct Sums {
    double seconds = 0.0, mm3 = 0.0;
  };

  Slice slice_of(std::size_t turn) const;
  Sums sums_of(const Slice& slice) const;
  double own_s(const Turn& turn) const;
  double volume_mm3(const Turn& turn) const;
  void write_turn(const NewTurn& turn, std::uint32_t number);
  void write_span(const HeatEvent& span, const NewTurn& turn, double longer, double more);
  void write_settings(std::size_t turn);
  bool is_gone(int tool) const;
  bool keeps_head_word(HeatEvent& event, const NewTurn& turn, bool has_laid, bool lays_later) const;

  const KeptPlate& plate_;
  const Variant& variant_;
  const Rewritten& rewritten_;
  const std::vector<HeatEvent>& events_;
  std::vector<double> hottest_c_;  ///< by tool, the most that it is set to
  std::vector<double> area_mm2_;
  std::size_t epilogue_ = events_.size();
  std::uint32_t number_ = 0;
  HeatLog log_;
};

LogWriter::Slice LogWriter::slice_of(std::size_t turn) const {
  const auto [first, last] =
      std::ranges::equal_range(events_, static_cast<std::uint32_t>(turn), {}, &HeatEvent::turn);
  const auto begin = static_cast<std::size_t>(first - events_.begin());
  return {begin,
          std::max(begin, std::min(static_cast<std::size_t>(last - events_.begin()), epilogue_))};
}

LogWriter::Sums LogWriter::sums_of(const Slice& slice) const {
  Sums sums;
  for (std::size_t i = slice.first; i < slice.last; ++i)
    if (events_[i].kind == HeatEventKind::span) {
      sums.seconds += events_[i].duration_s;
      sums.mm3 += events_[i].volume_mm3;
    }
  return sums;
}

/// The machine's own seconds of the swap in front of a turn.
double LogWriter::own_s(const Turn& turn) const {
  return turn.from < 0
             ? 0.0
             : timeline::Durations::swap_s(plate_.machine, turn.from, turn.tool).expected +
                   timeline::Durations::long_swap_s(plate_.machine).expected;
}

double LogWriter::volume_mm3(const Turn& turn) const {
  if (turn.tool < 0)
    return 0.0;
  return turn.melted_mm * area_mm2_[static_cast<std::size_t>(turn.tool)] +
         (turn.from < 0 ? 0.0 : plate_.machine.swap.hidden_purge_mm3);
}

/// A tool that the variant does not use.
bool LogWriter::is_gone(int tool) const {
  return std::ranges::find(variant_.without, tool) != variant_.without.end() ||
         std::ranges::any_of(variant_.merge, [&](const auto& pair) { return pair.first == tool; });
}

/// Turns a word for a head into what it is in the variant; false: it falls away.
bool LogWriter::keeps_head_word(HeatEvent& event, const NewTurn& turn, bool has_laid,
                                bool lays_later) const {
  const int own = plate_.turns[turn.base].tool;
  const bool means_before = event.tool == turn.before && !(event.tool == turn.behind && has_laid);
  int now = event.tool;
  if (event.tool == own)
    now = turn.now.tool;
  else if (means_before)
    now = turn.now_before;
  else if (event.tool == turn.behind)
    now = turn.now_behind;
  if (now < 0 || is_gone(now))
    return false;
  const double hottest_c = hottest_c_[static_cast<std::size_t>(event.tool)];
  const bool lowers =
      event.kind == HeatEventKind::set_heater && event.value < kStandbyShare * hottest_c;
  if (event.tool == own && lowers && has_laid && !lays_later && turn.behind >= 0 &&
      turn.now_behind < 0)
    return false;
  if (now != event.tool && event.value == hottest_c)
    event.value = hottest_c_[static_cast<std::size_t>(now)];
  event.tool = static_cast<std::int16_t>(now);
  return true;
}

void LogWriter::write_span(const HeatEvent& span, const NewTurn& turn, double longer, double more) {
  HeatEvent event = span;
  event.turn = number_;
  event.tool = turn.now.tool;
  event.duration_s *= longer;
  event.moving_s *= longer;
  event.volume_mm3 *= more;
  log_.events.push_back(event);
}

void LogWriter::write_turn(const NewTurn& turn, std::uint32_t number) {
  number_ = number;
  const Turn& old = plate_.turns[turn.base];
  const Slice slice = slice_of(turn.base);
  const Sums had = sums_of(slice);
  const double seconds = std::max(
      0.0, had.seconds + turn.now.motion_s() + own_s(turn.now) - old.motion_s() - own_s(old));
  const double mm3 = std::max(0.0, had.mm3 + volume_mm3(turn.now) - volume_mm3(old));
  const double longer = had.seconds > 0.0 ? seconds / had.seconds : 0.0;
  const double more = had.mm3 > 0.0 ? mm3 / had.mm3 : 0.0;
  double laid_mm3 = 0.0;
  bool took = turn.now.from < 0;
  HeatEvent take;
  take.kind = HeatEventKind::take_tool;
  take.tool = turn.now.tool;
  take.layer = old.layer;
  take.turn = number;
  for (std::size_t i = slice.first; i < slice.last; ++i) {
    HeatEvent event = events_[i];
    event.turn = number;
    if (event.kind == HeatEventKind::take_tool && event.tool >= 0) {
      if (!took)
        log_.events.push_back(take);
      took = true;
      continue;
    }
    if (event.kind == HeatEventKind::span) {
      if (!took)
        log_.events.push_back(take);
      took = true;
      if (longer > 0.0)
        write_span(event, turn, longer, more);
      laid_mm3 += event.volume_mm3;
      continue;
    }
    constexpr double kNoVolume_mm3 = 1e-9;
    if (names_head(event) &&
        !keeps_head_word(event, turn, laid_mm3 > 0.0, had.mm3 - laid_mm3 > kNoVolume_mm3))
      continue;
    log_.events.push_back(event);
  }
  if (!took)
    log_.events.push_back(take);
  const bool lacks_time = longer <= 0.0 && seconds > 0.0;
  const bool lacks_volume = more <= 0.0 && mm3 > 0.0;
  if (!lacks_time && !(lacks_volume && seconds > 0.0))
    return;
  HeatEvent span;
  span.tool = turn.now.tool;
  span.layer = old.layer;
  span.turn = number;
  span.duration_s = span.moving_s = lacks_time ? seconds : 1e-3;
  span.volume_mm3 = lacks_volume || lacks_time ? mm3 : 0.0;
  log_.events.push_back(span);
}

/// Of a turn that is left out, what holds on for the plate: fans, bed and enclosure.
void LogWriter::write_settings(std::size_t turn) {
  const Slice slice = slice_of(turn);
  for (std::size_t i = slice.first; i < slice.last; ++i) {
    HeatEvent event = events_[i];
    if (event.kind == HeatEventKind::span || event.kind == HeatEventKind::take_tool ||
        names_head(event))
      continue;
    event.turn = number_;
    log_.events.push_back(event);
  }
}

HeatLog LogWriter::write() {
  log_.footprint_by_layer = plate_.log.footprint_by_layer;
  log_.span_s = plate_.log.span_s;
  log_.joined_s = plate_.log.joined_s;
  log_.left_out = plate_.log.left_out;
  log_.events.reserve(events_.size() + rewritten_.turns.size() +
                      kMostWordsInTime * variant_.heat.size());
  const std::size_t preamble = sequence_of(plate_.turns).preamble;
  std::size_t at = 0;
  for (; at < epilogue_ && events_[at].turn < preamble; ++at)
    if (!(names_head(events_[at]) && is_gone(events_[at].tool)))
      log_.events.push_back(events_[at]);
  // A plate that begins with another tool takes that one from the start.
  for (auto event = log_.events.rbegin(); event != log_.events.rend(); ++event)
    if (event->kind == HeatEventKind::take_tool && event->tool >= 0 && !rewritten_.turns.empty() &&
        rewritten_.turns.front().now.from < 0) {
      event->tool = rewritten_.turns.front().now.tool;
      break;
    }
  std::vector<std::size_t> dropped = rewritten_.dropped;
  std::ranges::sort(dropped);
  std::size_t next_dropped = 0;
  for (std::size_t i = 0; i < rewritten_.turns.size(); ++i) {
    for (; next_dropped < dropped.size() && dropped[next_dropped] < rewritten_.turns[i].base;
         ++next_dropped)
      write_settings(dropped[next_dropped]);
    write_turn(rewritten_.turns[i], static_cast<std::uint32_t>(preamble + i));
  }
  for (at = epilogue_; at < events_.size(); ++at) {
    HeatEvent event = events_[at];
    if (names_head(event) && is_gone(event.tool))
      continue;
    event.turn = number_;
    log_.events.push_back(event);
  }
  return std::move(log_);
}

/// Swaps and purge by pair, as a sequence of turns has them.
struct PairSums {
  std::vector<double> count;
  std::vector<double> purge_g;
};

class AccountChange {
 public:
  AccountChange(const KeptPlate& plate, const Rewritten& rewritten, Account& account)
      : plate_(plate),
        rewritten_(rewritten),
        account_(account),
        machine_(plate.machine),
        tools_(plate.machine.tools.size()),
        by_ordinal_(plate.ordinals.size() + plate.start_layers.size(), 0),
        g_per_mm_(ledgers::g_per_mm_by_tool(plate.machine, plate.materials)),
        hidden_mm_(ledgers::hidden_mm_by_tool(plate.machine)) {
    for (std::size_t i = 0; i < plate.ordinals.size(); ++i)
      by_ordinal_[plate.ordinals[i]] = i;
  }

  void change();

 private:
  void add(const Turn& turn, double times);
  void add_difference(const Turn& now, const Turn& old);
  double hidden_g(int tool) const {
    const auto index = static_cast<std::size_t>(tool);
    return hidden_mm_[index] * g_per_mm_[index];
  }
  void change_pairs();
  void change_orders();
  void change_purge_kinds(double old_purge_g, double old_hidden_g);
  template <typename Turns>
  PairSums sums_of(const Turns& turns) const;

  const KeptPlate& plate_;
  const Rewritten& rewritten_;
  Account& account_;
  const Machine& machine_;
  const std::size_t tools_;
  std::vector<std::size_t> by_ordinal_;
  std::vector<double> g_per_mm_;
  std::vector<double> hidden_mm_;
  Range swaps_s_;  ///< the machine's own seconds of swaps, more than before
  Range long_s_;   ///< occasional long ones, the same
  double hidden_g_ = 0.0;
};

const Turn& turn_of(const Turn& turn) {
  return turn;
}
const Turn& turn_of(const NewTurn& turn) {
  return turn.now;
}

/// Adds a turn to the books, or takes it away.
void AccountChange::add(const Turn& turn, double times) {
  LayerAccount& layer = account_.layers[by_ordinal_[turn.layer]];
  layer.time_by.print_s += times * turn.print_s;
  layer.time_by.travel_s += times * turn.travel_s;
  layer.time_by.other_s += times * (turn.rest_s + turn.still_s);
  layer.time_by.swap_s += times * (turn.purge_s + turn.filler_s);
  if (turn.tool < 0)
    return;
  ToolAccount& tool = account_.tools[static_cast<std::size_t>(turn.tool)];
  const double g_per_mm = g_per_mm_[static_cast<std::size_t>(turn.tool)];
  double purge_g = times * (turn.purge_mm + turn.filler_mm) * g_per_mm;
  if (turn.from >= 0) {
    const Range own_s = timeline::Durations::swap_s(machine_, turn.from, turn.tool);
    const Range long_s = timeline::Durations::long_swap_s(machine_);
    layer.time_by.swap_s += times * (own_s.expected + long_s.expected);
    swaps_s_ += times * own_s;
    long_s_ += times * long_s;
    purge_g += times * hidden_g(turn.tool);
    hidden_g_ += times * hidden_g(turn.tool);
    for (std::uint64_t* count : {&layer.swaps, &tool.selects, &account_.totals.tool_selects})
      *count = times > 0.0 ? *count + 1 : *count - 1;  // what is taken away was added before
  }
  layer.purge_g += purge_g;
  tool.purge_g += purge_g;
  layer.part_g += times * turn.part_mm() * g_per_mm;
  tool.part_g += times * turn.part_mm() * g_per_mm;
  layer.start_up_g += times * turn.start_up_mm * g_per_mm;
  tool.start_up_g += times * turn.start_up_mm * g_per_mm;
  tool.filament_mm += times * turn.fed_mm;
}

template <typename Turns>
PairSums AccountChange::sums_of(const Turns& turns) const {
  PairSums sums{std::vector<double>(tools_ * tools_), std::vector<double>(tools_ * tools_)};
  std::size_t pair = tools_ * tools_;
  for (const auto& each : turns) {
    const Turn& turn = turn_of(each);
    if (turn.tool < 0)
      continue;
    if (turn.from >= 0) {
      pair = static_cast<std::size_t>(turn.from) * tools_ + static_cast<std::size_t>(turn.tool);
      sums.count[pair] += 1.0;
      sums.purge_g[pair] += hidden_g(turn.tool);
    }
    if (pair < sums.purge_g.size())
      sums.purge_g[pair] +=
          (turn.purge_mm + turn.filler_mm) * g_per_mm_[static_cast<std::size_t>(turn.tool)];
  }
  return sums;
}

void AccountChange::change_pairs() {
  const Sequence sequence = sequence_of(plate_.turns);
  std::vector<Turn> old(plate_.turns.begin() + static_cast<std::ptrdiff_t>(sequence.preamble),
                        plate_.turns.end());
  const PairSums before = sums_of(old);
  const PairSums now = sums_of(rewritten_.turns);
  std::vector<SwapPairAccount> pairs;
  const auto find = [&](int from, int to) {
    return std::ranges::find_if(account_.swap_pairs, [&](const SwapPairAccount& pair) {
      return pair.from == from && pair.to == to;
    });
  };
  for (std::size_t i = 0; i < tools_ * tools_; ++i) {
    SwapPairAccount row;
    row.from = static_cast<int>(i / tools_);
    row.to = static_cast<int>(i % tools_);
    if (const auto had = find(row.from, row.to); had != account_.swap_pairs.end())
      row = *had;
    const auto old_count = static_cast<double>(row.count);
    const double count = old_count + now.count[i] - before.count[i];
    if (count < 0.5)
      continue;
    if (row.needed_g && old_count > 0.0)
      row.needed_g = *row.needed_g / old_count * count;
    row.count = static_cast<std::uint64_t>(std::llround(count));
    row.purge_g = std::max(0.0, row.purge_g + now.purge_g[i] - before.purge_g[i]);
    pairs.push_back(row);
  }
  account_.swap_pairs = std::move(pairs);
}

void AccountChange::change_orders() {
  for (LayerAccount& layer : account_.layers)
    if (layer.index > 0)
      layer.order.clear();
  account_.visits = rewritten_.visits;
  for (LayerVisit& visit : account_.visits) {
    visit.layer = by_ordinal_[visit.layer];
    std::vector<int>& order = account_.layers[visit.layer].order;
    for (const int tool : visit.order)
      if (std::ranges::find(order, tool) == order.end())
        order.push_back(tool);
  }
}

/// By what purge was recognised: in the same shares as before, hidden purge apart.
void AccountChange::change_purge_kinds(double old_purge_g, double old_hidden_g) {
  Totals& totals = account_.totals;
  PurgeBy& by = totals.purge_by;
  const double open_g = old_purge_g - old_hidden_g;
  by.hidden_g = std::max(0.0, old_hidden_g + hidden_g_);
  const double now_g = std::max(0.0, totals.purge_g - by.hidden_g);
  if (rewritten_.policy != nullptr) {
    by = {};
    by.hidden_g = totals.purge_g - now_g;
    (rewritten_.policy->on_tower ? by.tower_g : by.at_rest_g) = now_g;
    totals.purge_low_g = totals.purge_high_g = totals.purge_g;
    account_.tower.laid_g = by.tower_g;
    return;
  }
  const double share = open_g > 0.0 ? now_g / open_g : 0.0;
  for (double* grams : {&by.at_rest_g, &by.place_g, &by.comment_g, &by.tower_g})
    *grams *= share;
  const double whole = old_purge_g > 0.0 ? totals.purge_g / old_purge_g : 1.0;
  totals.purge_low_g *= whole;
  totals.purge_high_g *= whole;
  account_.tower.laid_g *= share;
}

void AccountChange::change() {
  Totals& totals = account_.totals;
  const double old_motion_s = totals.time_by.sum_s() - totals.time_by.heat_wait_s;
  const double old_purge_g = totals.purge_g;
  const double old_hidden_g = totals.purge_by.hidden_g;
  for (const NewTurn& turn : rewritten_.turns) {
    add(turn.now, 1.0);
    add(plate_.turns[turn.base], -1.0);
  }
  for (const std::size_t turn : rewritten_.dropped)
    add(plate_.turns[turn], -1.0);
  change_pairs();
  change_orders();
  TimeBy time_by;
  double purge_g = 0.0;
  for (const LayerAccount& layer : account_.layers) {
    time_by += layer.time_by;
    purge_g += layer.purge_g;
  }
  const double motion_s = time_by.sum_s() - time_by.heat_wait_s;
  const double own_s = swaps_s_.expected + long_s_.expected;
  for (Range* time : {&totals.time, &totals.time_of_print}) {
    *time += Range::exactly(motion_s - old_motion_s - own_s);
    *time += swaps_s_;
    *time += long_s_;
  }
  for (TimeBandCause& cause : totals.time_band) {
    const Range* more = cause.cause == "swap"        ? &swaps_s_
                        : cause.cause == "long-swap" ? &long_s_
                                                     : nullptr;
    if (more == nullptr)
      continue;
    cause.below_s = std::max(0.0, cause.below_s + more->expected - more->low);
    cause.above_s = std::max(0.0, cause.above_s + more->high - more->expected);
  }
  totals.purge_g = purge_g;
  change_purge_kinds(old_purge_g, old_hidden_g);
}

}  // namespace

timeline::HeatLog replay_log(const KeptPlate& plate, const Variant& variant,
                             const Rewritten& rewritten) {
  return LogWriter(plate, variant, rewritten).write();
}

void change_account(const KeptPlate& plate, const Rewritten& rewritten, Account& account) {
  AccountChange(plate, rewritten, account).change();
}

}  // namespace platetally::whatif
