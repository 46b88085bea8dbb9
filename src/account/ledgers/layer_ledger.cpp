#include "account/ledgers/layer_ledger.hpp"

#include <algorithm>
#include <utility>

namespace platetally::ledgers {

namespace {

void append_once(std::vector<int>& order, int tool) {
  if (std::find(order.begin(), order.end(), tool) == order.end())
    order.push_back(tool);
}

}  // namespace

LayerLedger::LayerLedger(std::vector<double> g_per_mm, std::vector<double> hidden_mm)
    : g_per_mm_(std::move(g_per_mm)),
      hidden_mm_(std::move(hidden_mm)),
      deepest_(g_per_mm_.size()) {}

void LayerLedger::add(const motion::TimedRecord& timed, const timeline::Swap& swap,
                      const swaps::Feed& feed) {
  const interpreter::Record& record = timed.record;
  if (layers_.size() <= record.layer)
    layers_.resize(record.layer + 1U);
  LayerRow& row = layers_[record.layer];
  if (swap.selection == timeline::Selection::swap) {
    const auto to = static_cast<std::size_t>(swap.to);
    const double hidden_g = hidden_mm_[to] * g_per_mm_[to];
    ++row.swaps;
    row.purge_g += hidden_g;
    row.hidden_g += hidden_g;
  }
  if (record.kind != interpreter::RecordKind::move || record.tool < 0)
    return;
  const double g_per_mm = g_per_mm_[static_cast<std::size_t>(record.tool)];
  row.fed_g += record.move.e_mm * g_per_mm;
  if (record.move.e_mm < 0.0) {
    row.deepest.take(record.move.e_mm, record.line);
    deepest_[static_cast<std::size_t>(record.tool)].take(record.move.e_mm, record.line);
    row.drawn_g += record.move.e_mm * g_per_mm;
  } else if (feed.use == swaps::Use::none) {
    row.drawn_g += record.move.e_mm * g_per_mm;
  }
  if (feed.use == swaps::Use::purge)
    row.purge_g += (feed.fresh_mm + feed.earlier_mm) * g_per_mm;
  else if (feed.use == swaps::Use::start_up)
    row.start_up_g += (feed.fresh_mm + feed.earlier_mm) * g_per_mm;
  if (!interpreter::lays_material(record))
    return;
  row.begin_by(record.line);
  if (row.order.empty() || row.order.back() != record.tool)
    append_once(row.order, record.tool);
}

void LayerLedger::recount(std::uint32_t layer, std::size_t tool, swaps::Use from, swaps::Use to,
                          double mm) {
  LayerRow& row = layers_[layer];
  const double g = mm * g_per_mm_[tool];
  // Part is what the others leave.
  if (from == swaps::Use::purge)
    row.purge_g -= g;
  else if (from == swaps::Use::start_up)
    row.start_up_g -= g;
  if (to == swaps::Use::purge)
    row.purge_g += g;
  else if (to == swaps::Use::start_up)
    row.start_up_g += g;
}

void LayerLedger::merge(const LayerLedger& other) {
  if (layers_.size() < other.layers_.size())
    layers_.resize(other.layers_.size());
  for (std::size_t i = 0; i < other.layers_.size(); ++i) {
    LayerRow& mine = layers_[i];
    const LayerRow& theirs = other.layers_[i];
    mine.fed_g += theirs.fed_g;
    mine.purge_g += theirs.purge_g;
    mine.start_up_g += theirs.start_up_g;
    mine.hidden_g += theirs.hidden_g;
    mine.swaps += theirs.swaps;
    mine.drawn_g += theirs.drawn_g;
    mine.deepest.take(theirs.deepest.e_mm, theirs.deepest.line);
    mine.begin_by(theirs.first_line);
    for (const int tool : theirs.order)
      append_once(mine.order, tool);
  }
}

}  // namespace platetally::ledgers
