#include "plate.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include <fmt/format.h>

#include "pen.hpp"
#include "purge.hpp"
#include "shapes.hpp"

namespace plate_maker {

namespace {

void put_in_order(std::vector<int>& tools, const Options& options, std::size_t layer, int in_hand) {
  if (!options.layer_orders.empty()) {
    const std::vector<int>& order = options.layer_orders[layer % options.layer_orders.size()];
    std::stable_sort(tools.begin(), tools.end(), [&order](int a, int b) {
      return std::find(order.begin(), order.end(), a) < std::find(order.begin(), order.end(), b);
    });
    return;
  }
  if (options.order == Order::descending)
    std::reverse(tools.begin(), tools.end());
  const auto held = std::find(tools.begin(), tools.end(), in_hand);
  if (options.order == Order::carry_over && held != tools.end())
    std::rotate(tools.begin(), held, held + 1);
}

int first_tool(const Options& options) {
  std::vector<int> tools = tools_of_layer(options, 0);
  put_in_order(tools, options, 0, tools.front());
  return tools.front();
}

std::string_view title(Kind kind) {
  switch (kind) {
    case Kind::labels:
      return "plant labels for the botanical garden's sale";
    case Kind::lantern:
      return "a lantern for the botanical garden's sale";
    case Kind::ring:
      return "rings for hanging pots";
    case Kind::figures:
      return "figures for the children's corner of the sale";
    case Kind::pillars:
      return "sticks for seedlings";
    case Kind::logo:
      return "tags with the garden's sign";
    case Kind::lithophane:
      return "a picture of the glasshouse to hang before a lamp";
    case Kind::blocks:
      break;
  }
  return "seed-tray tags";
}

class Plate {
 public:
  Plate(const Options& options, LineWriter& writer, Truth& truth)
      : options_(options),
        pen_(options, writer, truth),
        plan_(plan_tower()),
        purge_(options, pen_, plan_) {}

  void make() {
    start();
    if (options_.layers == 0)
      return;
    if (options_.start_line)
      purge_.lay_start_line(layer_at(0));
    lay_all();
    finish();
  }

 private:
  TowerPlan plan_tower() const;
  Layer layer_at(std::size_t index) const;
  void start();
  void heat_up();
  void lay_all();
  void lay_layer(std::size_t index, int first_copy, int end_copy);
  void lay_copies(const Strokes& strokes, int tool, int first_copy, int end_copy);
  void change_tool(int tool, const Layer& layer);
  void announce(const Layer& layer);
  void finish();
  int copies() const { return options_.columns * options_.rows; }
  Size origin_of(int copy) const;

  const Options& options_;
  Pen pen_;
  TowerPlan plan_;
  PurgePlace purge_;
  int in_hand_ = 0;
};

TowerPlan Plate::plan_tower() const {
  TowerPlan plan;
  int in_hand = first_tool(options_);
  for (std::size_t index = 0; index < static_cast<std::size_t>(options_.layers); ++index) {
    std::vector<int> tools = tools_of_layer(options_, index);
    put_in_order(tools, options_, index, in_hand);
    std::size_t swaps = 0;
    for (const int tool : tools) {
      swaps += tool != in_hand ? 1 : 0;
      in_hand = tool;
    }
    plan.slots = std::max(plan.slots, swaps);
    plan.swaps.push_back(swaps);
    if (swaps > 0)
      plan.last_swap_layer = index;
  }
  if (options_.megabytes > 0)
    plan.last_swap_layer = SIZE_MAX;
  return plan;
}

Layer Plate::layer_at(std::size_t index) const {
  Layer layer{index, z_of(options_, index), height_of(options_, index),
              tools_of_layer(options_, index)};
  put_in_order(layer.tools, options_, index, in_hand_);
  return layer;
}

void Plate::start() {
  pen_.comment(title(options_.kind));
  heat_up();
  pen_.command(options_.inches ? "G20" : "G21");
  pen_.command("G90");
  pen_.state_e_mode();
  pen_.command("M107");
  if (options_.accelerations)
    pen_.command("M204 P3000 R2000 T5000");
  in_hand_ = first_tool(options_);
  pen_.select(options_.tool_number(in_hand_));
  pen_.move_to_height(5.0);
}

void Plate::heat_up() {
  pen_.command(fmt::format("M140 S{}", std::lround(options_.bed_c)));
  for (int tool = 0; tool < options_.tools; ++tool)
    pen_.command(
        fmt::format("M104 T{} S{}", options_.tool_number(tool), std::lround(options_.head_c)));
  pen_.command("G28");
  pen_.command(fmt::format("M190 S{}", std::lround(options_.bed_c)));
  for (int tool = 0; tool < options_.tools; ++tool)
    pen_.command(
        fmt::format("M109 T{} S{}", options_.tool_number(tool), std::lround(options_.head_c)));
}

void Plate::lay_all() {
  const auto layers = static_cast<std::size_t>(options_.layers);
  if (options_.sequential) {
    for (int copy = 0; copy < copies(); ++copy) {
      for (std::size_t index = 0; index < layers; ++index)
        lay_layer(index, copy, copy + 1);
      pen_.retract();
      pen_.move_to_height(z_of(options_, layers - 1) + 5.0);  // clear of what stands
    }
    return;
  }
  const auto least_bytes = static_cast<std::uint64_t>(options_.megabytes) * 1000000;
  for (std::size_t index = 0;
       least_bytes > 0 ? pen_.writer().bytes() < least_bytes : index < layers; ++index)
    lay_layer(index, 0, copies());
}

void Plate::lay_layer(std::size_t index, int first_copy, int end_copy) {
  const Layer layer = layer_at(index);
  announce(layer);
  const Strokes strokes(options_, pen_, layer);
  constexpr std::size_t level_layers = 2;  // under a spiral, and under waves
  if (options_.spiral && index >= level_layers) {
    lay_spiral_turn(strokes, origin_of(0));
    return;
  }
  pen_.set_level(layer.z_mm);
  pen_.set_height(layer.height_mm);
  purge_.begin_layer(layer, in_hand_);
  for (const int tool : layer.tools) {
    if (tool != in_hand_) {
      change_tool(tool, layer);
      purge_.take_swap(layer, tool);
    }
    pen_.set_waves(options_.nonplanar_mm > 0.0 && index >= level_layers);
    lay_copies(strokes, tool, first_copy, end_copy);
    pen_.set_waves(false);
  }
  purge_.end_layer(layer);
  if (options_.spiral && index + 1 == level_layers)
    pen_.travel(
        {origin_of(0).x + options_.width_mm / 2.0, origin_of(0).y + options_.width_mm / 2.0});
}

void Plate::lay_copies(const Strokes& strokes, int tool, int first_copy, int end_copy) {
  for (int copy = first_copy; copy < end_copy; ++copy)
    lay_shape(strokes, tool, origin_of(copy), copy);
}

void Plate::change_tool(int tool, const Layer& layer) {
  if (options_.one_nozzle) {
    purge_.leave(layer);
    pen_.draw_out();
  } else {
    pen_.retract();
  }
  const int from = options_.tool_number(in_hand_);
  const int to = options_.tool_number(tool);
  if (options_.standby_c > 0.0) {
    pen_.command(fmt::format("M104 T{} S{}", from, std::lround(options_.standby_c)));
    pen_.command(fmt::format("M109 T{} S{}", to, std::lround(options_.head_c)));
  }
  pen_.select(to);
  if (options_.one_nozzle)
    pen_.load();
  in_hand_ = tool;
}

void Plate::announce(const Layer& layer) {
  pen_.enter_layer(layer.index, layer.z_mm);
  if (layer.index == 1)
    pen_.command("M106 S255");
  switch (options_.comments) {
    case Comments::none:
      break;
    case Comments::trade:
      pen_.comment(fmt::format("layer {}", layer.index + 1));
      break;
    case Comments::notes:
      pen_.comment(fmt::format("level {:.3f} mm begins, number {}", layer.z_mm, layer.index + 1));
      break;
    case Comments::parentheses:
      pen_.comment(fmt::format("level {:.3f} mm (number {} (of {}))", layer.z_mm, layer.index + 1,
                               options_.layers));
      break;
  }
}

Size Plate::origin_of(int copy) const {
  const int column = copy % options_.columns;
  const int row = copy / options_.columns;
  return {options_.origin_mm.x + column * (options_.size_mm.x + options_.gap_mm),
          options_.origin_mm.y + row * (options_.size_mm.y + options_.gap_mm)};
}

void Plate::finish() {
  pen_.retract();
  pen_.command("M107");
  for (int tool = 0; tool < options_.tools; ++tool)
    pen_.command(fmt::format("M104 T{} S0", options_.tool_number(tool)));
  pen_.command("M140 S0");
  if (options_.park)
    pen_.select(-1);
  pen_.command("M84");
}

}  // namespace

void make_plate(const Options& options, LineWriter& writer, Truth& truth) {
  Plate(options, writer, truth).make();
  writer.flush();
}

}  // namespace plate_maker
