// Ten hours of print through the heat model: the machine with most nodes (16 zones, five heads), a
// swap a minute, flow in spans of a second. Figures belong into docs/performance.md.
#include <benchmark/benchmark.h>

#include "heat/simulate.hpp"

namespace {

using namespace platetally;
using timeline::HeatEvent;
using timeline::HeatEventKind;

timeline::HeatLog ten_hours(const Machine& machine) {
  timeline::HeatLog log;
  const auto set = [&](interpreter::Heater heater, int tool, double value, HeatEventKind kind) {
    HeatEvent event;
    event.kind = kind;
    event.heater = heater;
    event.tool = static_cast<std::int16_t>(tool);
    event.value = value;
    log.events.push_back(event);
  };
  const auto tools = static_cast<int>(machine.tools.size());
  set(interpreter::Heater::bed, -1, 60.0, HeatEventKind::set_heater);
  for (int tool = 0; tool < tools; ++tool)
    set(interpreter::Heater::head, tool, 215.0, HeatEventKind::set_heater);
  set(interpreter::Heater::bed, -1, 0.0, HeatEventKind::wait_heater);
  set(interpreter::Heater::bed, 0, 1.0, HeatEventKind::motors);
  for (int second = 0; second < 36000; ++second) {
    const int tool = second / 60 % tools;
    if (second % 60 == 0)
      set(interpreter::Heater::head, tool, 0.0, HeatEventKind::take_tool);
    HeatEvent span;
    span.tool = static_cast<std::int16_t>(tool);
    span.layer = static_cast<std::uint32_t>(1 + second / 300);
    span.duration_s = 1.0;
    span.moving_s = 0.9;
    span.volume_mm3 = 4.0 + second % 7;
    log.events.push_back(span);
  }
  log.footprint_by_layer.assign(122, 0x0660);
  return log;
}

void print_ten_hours(benchmark::State& state) {
  const Machine machine = load_machine("changer-5").machine();
  const std::vector<Material> materials(machine.tools.size(), *find_embedded_material("PLA"));
  const timeline::HeatLog log = ten_hours(machine);
  for (auto step : state)
    benchmark::DoNotOptimize(heat::run_heat(machine, materials, log).energy.bed_wh);
}
BENCHMARK(print_ten_hours)->Unit(benchmark::kMillisecond);

}  // namespace
