#include "truth.hpp"

#include <numbers>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace plate_maker {

void Box::add(const Point3& point) {
  for (std::size_t axis = 0; axis < 3; ++axis) {
    low[axis] = std::min(low[axis], point[axis]);
    high[axis] = std::max(high[axis], point[axis]);
  }
}

void Box::add(const Box& other) {
  if (other.empty())
    return;
  add(other.low);
  add(other.high);
}

std::int64_t& Volumes::of(Purpose purpose) {
  switch (purpose) {
    case Purpose::purge:
      return purge;
    case Purpose::start_up:
      return start_up;
    case Purpose::part:
      break;
  }
  return part;
}

Truth::Truth(double mm_per_xyz, double mm_per_e, double filament_mm)
    : mm_per_xyz_(mm_per_xyz),
      mm_per_e_(mm_per_e),
      mm3_per_e_(mm_per_e * std::numbers::pi / 4.0 * filament_mm * filament_mm) {}

void Truth::enter_layer(std::size_t index, std::int64_t z) {
  if (index >= layers_.size())
    layers_.resize(index + 1);
  layer_ = &layers_[index];
  layer_->z = z;
}

void Truth::select(int tool) {
  tool_ = tool;
  if (tool < 0) {
    ++parkings_;
    return;
  }
  ++selects_;
  ++tool_truth(tool).selects;
  if (anything_laid_ && last_tool_ != tool) {
    ++swaps_;
    ++layer_->swaps;
    pair_ = {last_tool_, tool};
    ++pairs_[pair_].count;
  }
  last_tool_ = tool;
}

void Truth::repeat_select(int tool) {
  ++selects_;
  ++tool_truth(tool).selects;
}

void Truth::lay(Purpose purpose, std::int64_t e, const Box& box, std::uint64_t line) {
  ToolTruth& tool = tool_truth(tool_);
  tool.net += e;
  tool.laid.of(purpose) += e;
  laid_.of(purpose) += e;
  layer_->laid.of(purpose) += e;
  layer_->box.add(box);
  box_.add(box);
  if (purpose == Purpose::part)
    part_box_.add(box);
  if (!box.empty()) {
    anything_laid_ = true;
    if (layer_->tools.empty() || layer_->tools.back() != tool_)
      layer_->tools.push_back(tool_);
  }
  if (purpose != Purpose::purge)
    return;
  if (pair_.first >= 0)
    pairs_[pair_].purge += e;
  else
    purge_before_swaps_ += e;
  if (!purge_lines_.empty() && purge_lines_.back().second + 1 == line)
    purge_lines_.back().second = line;
  else
    purge_lines_.emplace_back(line, line);
}

std::string Truth::to_json(std::uint64_t bytes, std::uint64_t lines) const {
  std::string text = "{\n";
  text += fmt::format("\"bytes\": {}, \"lines\": {},\n", bytes, lines);
  text += fmt::format("\"layers\": {}, \"swaps\": {}, \"tool_selects\": {}, \"parkings\": {},\n",
                      layers_.size(), swaps_, selects_, parkings_);
  text += volumes_json(laid_) + ",\n";
  text += fmt::format("\"purge_before_first_swap_mm3\": {:.4f},\n", mm3(purge_before_swaps_));
  text += "\"laid_box_mm\": " + box_json(box_) + ",\n";
  text += "\"part_box_mm\": " + box_json(part_box_) + ",\n";
  text += fmt::format(
      "\"moves\": {{\"travel\": {}, \"height\": {}, \"lay\": {}, \"arc\": {}, \"at_rest\": {}, "
      "\"retract\": {}, \"return\": {}, \"wipe\": {}}},\n",
      moves.travel, moves.height, moves.lay, moves.arc, moves.at_rest, moves.retract,
      moves.give_back, moves.wipe);
  text += "\"tools\": [\n" + tools_json() + "],\n";
  text += "\"swap_pairs\": [\n" + pairs_json() + "],\n";
  text += "\"before_layers\": {" + volumes_json(before_layers_.laid) + "},\n";
  text += "\"by_layer\": [\n" + layers_json() + "],\n";
  text += "\"purge_lines\": " + lines_json() + "\n}\n";
  return text;
}

std::string Truth::tools_json() const {
  std::vector<std::string> rows;
  for (const auto& [number, tool] : tools_) {
    const std::int64_t laid = tool.laid.part + tool.laid.purge + tool.laid.start_up;
    rows.push_back(
        fmt::format("  {{\"tool\": {}, \"selects\": {}, \"filament_mm\": {:.7f}, {}, "
                    "\"left_drawn_back_mm\": {:.7f}}}",
                    number, tool.selects, static_cast<double>(tool.net) * mm_per_e_,
                    volumes_json(tool.laid), static_cast<double>(laid - tool.net) * mm_per_e_));
  }
  return fmt::format("{}{}", fmt::join(rows, ",\n"), rows.empty() ? "" : "\n");
}

std::string Truth::pairs_json() const {
  std::vector<std::string> rows;
  for (const auto& [tools, pair] : pairs_)
    rows.push_back(
        fmt::format("  {{\"from\": {}, \"to\": {}, \"count\": {}, \"purge_mm3\": {:.4f}}}",
                    tools.first, tools.second, pair.count, mm3(pair.purge)));
  return fmt::format("{}{}", fmt::join(rows, ",\n"), rows.empty() ? "" : "\n");
}

std::string Truth::layers_json() const {
  std::vector<std::string> rows;
  for (const LayerTruth& layer : layers_)
    rows.push_back(fmt::format(
        "  {{\"z_mm\": {:.5f}, \"tools\": [{}], \"swaps\": {}, {}, \"box_mm\": {}}}", mm(layer.z),
        fmt::join(layer.tools, ", "), layer.swaps, volumes_json(layer.laid), box_json(layer.box)));
  return fmt::format("{}{}", fmt::join(rows, ",\n"), rows.empty() ? "" : "\n");
}

std::string Truth::lines_json() const {
  std::vector<std::string> ranges;
  for (const auto& [first, last] : purge_lines_)
    ranges.push_back(fmt::format("[{}, {}]", first, last));
  return fmt::format("[{}]", fmt::join(ranges, ", "));
}

std::string Truth::volumes_json(const Volumes& laid) const {
  return fmt::format("\"part_mm3\": {:.4f}, \"purge_mm3\": {:.4f}, \"start_up_mm3\": {:.4f}",
                     mm3(laid.part), mm3(laid.purge), mm3(laid.start_up));
}

std::string Truth::box_json(const Box& box) const {
  if (box.empty())
    return "null";
  return fmt::format("[[{:.5f}, {:.5f}, {:.5f}], [{:.5f}, {:.5f}, {:.5f}]]", mm(box.low[0]),
                     mm(box.low[1]), mm(box.low[2]), mm(box.high[0]), mm(box.high[1]),
                     mm(box.high[2]));
}

}  // namespace plate_maker
