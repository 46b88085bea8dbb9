#include "heat/awaited.hpp"

#include <algorithm>

namespace platetally::heat {

using Which = interpreter::Heater;

namespace {

constexpr double kNoneAwaited_k = -1e9;

}  // namespace

Awaited::Awaited(const Machine& machine, const ThermalMachine& thermal, const Stepper& stepper,
                 const timeline::HeatEvent& event, std::uint64_t active)
    : stepper_(stepper), cools_too_(event.wait_cooling) {
  switch (event.heater) {
    case Which::bed:
      for (std::size_t tile = 0; tile < thermal.tiles(); ++tile)
        if (((active >> tile) & 1U) != 0)
          heaters_.push_back(tile);
      band_k_ = machine.bed.band_k;
      residency_s_ = machine.bed.residency_s;
      name_ = "bed";
      break;
    case Which::head: {
      const auto head =
          static_cast<std::size_t>(machine.tools[static_cast<std::size_t>(event.tool)].head);
      heaters_.push_back(thermal.head_heater(head));
      band_k_ = machine.heads[head].band_k;
      residency_s_ = machine.heads[head].residency_s;
      name_ = "nozzle";
      break;
    }
    case Which::enclosure:
      heaters_.push_back(thermal.enclosure_heater());
      band_k_ = machine.enclosure.band_k;
      name_ = "enclosure";
      break;
  }
}

double Awaited::outside_k(double sensor_c, double target_c) const {
  const double below_k = target_c - band_k_ - sensor_c;
  return cools_too_ ? std::max(below_k, sensor_c - target_c - band_k_) : below_k;
}

double Awaited::distance_k() const {
  double farthest_k = kNoneAwaited_k;
  for (const std::size_t i : heaters_) {
    const Heater& heater = stepper_.heaters()[i];
    farthest_k = std::max(farthest_k, outside_k(heater.sensor_c, heater.target_c));
  }
  return farthest_k;
}

double Awaited::next_distance_k() const {
  double farthest_k = kNoneAwaited_k;
  for (const std::size_t i : heaters_)
    farthest_k =
        std::max(farthest_k, outside_k(stepper_.sensor_next_c(i), stepper_.heaters()[i].target_c));
  return farthest_k;
}

}  // namespace platetally::heat
