#include "account/ledgers/layer_ledger.hpp"

#include <algorithm>

namespace platetally::ledgers {

namespace {

void append_once(std::vector<int>& order, int tool) {
  if (std::find(order.begin(), order.end(), tool) == order.end())
    order.push_back(tool);
}

}  // namespace

LayerGrams grams_of_layer(const swaps::MaterialBook& material, std::uint32_t layer,
                          const std::vector<double>& g_per_mm) {
  LayerGrams grams;
  for (std::size_t tool = 0; tool < g_per_mm.size(); ++tool) {
    const swaps::MaterialBook::Cell cell = material.at(layer, tool);
    grams.part_g += cell.part_mm() * g_per_mm[tool];
    grams.purge_g += (cell.of(swaps::Use::purge) + cell.hidden_mm) * g_per_mm[tool];
    grams.start_up_g += cell.of(swaps::Use::start_up) * g_per_mm[tool];
    grams.drawn_g += cell.of(swaps::Use::none) * g_per_mm[tool];
  }
  return grams;
}

void LayerLedger::add(const interpreter::Record& record, const timeline::Swap& swap) {
  if (layers_.size() <= record.layer)
    layers_.resize(record.layer + 1U);
  LayerRow& row = layers_[record.layer];
  row.swaps += swap.selection == timeline::Selection::swap;
  if (record.kind != interpreter::RecordKind::move || record.tool < 0)
    return;
  row.deepest.take(record.move.e_mm, record.line);
  deepest_[static_cast<std::size_t>(record.tool)].take(record.move.e_mm, record.line);
  if (interpreter::lays_material(record) && (row.order.empty() || row.order.back() != record.tool))
    append_once(row.order, record.tool);
}

}  // namespace platetally::ledgers
