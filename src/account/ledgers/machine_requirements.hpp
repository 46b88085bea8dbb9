// What a plate demands of a machine: room, temperatures.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>

#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

/// Extents of laid material in mm (min > max while nothing is laid) and highest set points in degC.
struct Demand {
  double x_min_mm = std::numeric_limits<double>::infinity();
  double x_max_mm = -std::numeric_limits<double>::infinity();
  double y_min_mm = std::numeric_limits<double>::infinity();
  double y_max_mm = -std::numeric_limits<double>::infinity();
  double z_max_mm = 0.0;
  double bed_c = 0.0;
  double head_c = 0.0;
  double enclosure_c = 0.0;

  bool lays_anything() const { return x_min_mm <= x_max_mm; }
};

class MachineRequirements {
 public:
  /// `is_part`: the record lays material of the part (waste may lie outside the area by design).
  void add(const interpreter::Record& record, bool is_part) {
    if (record.kind == interpreter::RecordKind::set_heater)
      add_set_point(record.event);
    if (!is_part || record.kind != interpreter::RecordKind::move)
      return;
    include(record.move.from_mm);
    include(record.move.to_mm);
  }

  /// Material of the part lies at these points and between them.
  void add_points(const std::array<double, 3>& low_mm, const std::array<double, 3>& high_mm) {
    include(low_mm);
    include(high_mm);
  }

  const Demand& demand() const { return demand_; }

 private:
  void include(const std::array<double, 3>& point_mm) {
    demand_.x_min_mm = std::min(demand_.x_min_mm, point_mm[0]);
    demand_.x_max_mm = std::max(demand_.x_max_mm, point_mm[0]);
    demand_.y_min_mm = std::min(demand_.y_min_mm, point_mm[1]);
    demand_.y_max_mm = std::max(demand_.y_max_mm, point_mm[1]);
    demand_.z_max_mm = std::max(demand_.z_max_mm, point_mm[2]);
  }

  void add_set_point(const interpreter::Event& event) {
    double& highest_c = event.heater == interpreter::Heater::bed    ? demand_.bed_c
                        : event.heater == interpreter::Heater::head ? demand_.head_c
                                                                    : demand_.enclosure_c;
    highest_c = std::max(highest_c, event.value);
  }

  Demand demand_;
};

}  // namespace platetally::ledgers
