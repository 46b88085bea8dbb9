// The embedded machines. They are nobody's: sizes, counts and heaters' watts are round figures of
// our own. docs/methods-heat.md says of every default whether it is evidence, textbook or assumed;
// speeds, accelerations and seconds without a remark are assumed, ordinary for their kind of
// machine.
#include "machine/description/embedded.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "platetally/machine.hpp"

namespace platetally {

namespace machine {

namespace {

constexpr std::string_view kChanger = R"(
name = "changer-5"
description = "tool changer with five heads and a bed heated in 4 x 3 zones, open frame"

[area]
x_max_mm = 400
y_max_mm = 300
z_max_mm = 320

[motion]
x_speed_mm_s = 400
y_speed_mm_s = 400
z_speed_mm_s = 16
e_speed_mm_s = 80
x_acceleration_mm_s2 = 7000
y_acceleration_mm_s2 = 7000
z_acceleration_mm_s2 = 300
e_acceleration_mm_s2 = 8000
print_acceleration_mm_s2 = 4000
travel_acceleration_mm_s2 = 6000
retract_acceleration_mm_s2 = 4000
junction_deviation_mm = 0.02
look_ahead_moves = 100

[bed]
rows = 3
columns = 4
width_mm = 400
depth_mm = 300
tile_power_w = 40
supply = "dc"
resistance_rise_per_k = 0.0039   # textbook: copper
sensor_lag_s = 5                 # evidence
areal_heat_capacity_j_m2k = 13000   # textbook: 4.5 mm of aluminium, 0.6 mm of steel
underside_loss_w_m2k = 4.5       # evidence: insulated
emissivity = 0.9
convection_factor = 1.25
lateral_conductance_w_k = 0.09
depth_nodes = 2
surface_heat_share = 0.5         # assumed
depth_conductance_w_m2k = 150    # assumed: a sheet, an adhesive layer and a spring plate
maximum_c = 120
zone_policy = "footprint"
neighbour_fraction = 0.4         # assumed
neighbour_count = 8

[supply]
idle_w = 15                      # assumed
loss_share = 0.08
loss_per_w = 1.2e-4
motors_moving_w = 15             # assumed
motors_holding_w = 9             # assumed
part_fan_w = 3

[swap]
head_change_s = [6, 8, 12]       # assumed
filament_change_s = [60, 90, 150]
long_swap_probability = 0.01     # assumed
long_swap_extra_s = 30           # assumed: the head is picked up once more
first_pick_s = 5

[procedures]
homing_s = [15, 20, 30]
probing_s = [30, 60, 180]

[[heads]]
count = 5
power_w = 50
heat_capacity_j_k = 14
still_loss_w_k = 0.018           # evidence, as the next two
fan_loss_w_k = 0.013
part_fan_factor = 2.0
radiating_area_cm2 = 16
maximum_c = 290
fan_w = 1.5

[[tools]]
head = 0
feed = 0
[[tools]]
head = 1
feed = 1
[[tools]]
head = 2
feed = 2
[[tools]]
head = 3
feed = 3
[[tools]]
head = 4
feed = 4
)";

constexpr std::string_view kSwitcher = R"(
name = "switcher-4"
description = "one nozzle with four feeds, changes filament and purges at every colour change, enclosed"

[area]
x_max_mm = 300
y_max_mm = 300
z_max_mm = 300

[motion]
x_speed_mm_s = 500
y_speed_mm_s = 500
z_speed_mm_s = 20
e_speed_mm_s = 60
x_acceleration_mm_s2 = 20000
y_acceleration_mm_s2 = 20000
z_acceleration_mm_s2 = 500
e_acceleration_mm_s2 = 5000
print_acceleration_mm_s2 = 10000
travel_acceleration_mm_s2 = 10000
retract_acceleration_mm_s2 = 5000
corner_model = "corner_speed"
corner_speed_mm_s = 5            # at a right angle; common practice, no source
e_corner_step_mm_s = 1           # common practice, no source
look_ahead_moves = 64

[bed]
width_mm = 300
depth_mm = 300
tile_power_w = 600
supply = "ac"
sensor_lag_s = 5                 # evidence
areal_heat_capacity_j_m2k = 13000   # textbook, as above
underside_loss_w_m2k = 5         # evidence: insulated
emissivity = 0.9
convection_factor = 1.5          # assumed: fans stir the enclosure
depth_nodes = 2
surface_heat_share = 0.5         # assumed
depth_conductance_w_m2k = 150    # assumed
maximum_c = 120

[enclosure]
present = true
heat_capacity_j_k = 20000        # evidence, as the next: air, frame and panels
loss_closed_w_k = 4.5
loss_open_w_k = 20
maximum_c = 60

[supply]
idle_w = 12                      # assumed
loss_share = 0.08
loss_per_w = 1.2e-4
motors_moving_w = 22             # assumed
motors_holding_w = 15            # assumed
part_fan_w = 3
auxiliary_fans_w = 10            # assumed

[swap]
head_change_s = [60, 90, 130]
# Counters of 61 machines that others published: 41 s in the median where little is done around
# unloading and loading, 69 s where purging or parking is part of it; a tenth of all take 30 s or
# less, three quarters 67 s or less. The purge of this machine is in the plate.
filament_change_s = [30, 41, 67]
long_swap_probability = 0.05     # the same counters, machines with a thousand changes or more
long_swap_extra_s = 200

[procedures]
homing_s = [20, 30, 45]
probing_s = [60, 120, 300]

[[heads]]
power_w = 80
heat_capacity_j_k = 16.5
still_loss_w_k = 0.024           # evidence, scaled up with the heater
fan_loss_w_k = 0.017
part_fan_factor = 2.0
radiating_area_cm2 = 20
maximum_c = 320
fan_w = 2

[[tools]]
feed = 0
[[tools]]
feed = 1
[[tools]]
feed = 2
[[tools]]
feed = 3
)";

constexpr std::string_view kSingle = R"(
name = "single-1"
description = "one head, one bed zone, open frame"

[area]
x_max_mm = 240
y_max_mm = 240
z_max_mm = 240

[motion]
x_speed_mm_s = 250
y_speed_mm_s = 250
z_speed_mm_s = 10
e_speed_mm_s = 50
x_acceleration_mm_s2 = 2500
y_acceleration_mm_s2 = 2500
z_acceleration_mm_s2 = 200
e_acceleration_mm_s2 = 5000
print_acceleration_mm_s2 = 1500
travel_acceleration_mm_s2 = 1500
retract_acceleration_mm_s2 = 2500
corner_model = "speed_step"
look_ahead_moves = 16

[bed]
width_mm = 240
depth_mm = 240
tile_power_w = 250
supply = "dc"
resistance_rise_per_k = 0.0039   # textbook: copper
sensor_lag_s = 5                 # evidence
areal_heat_capacity_j_m2k = 13000   # textbook, as above
underside_loss_w_m2k = 14        # evidence: bare
convection_factor = 1.0
fan_loss_w_k = 0.1               # evidence: fan and motion stir the air
depth_nodes = 2
surface_heat_share = 0.5         # assumed
depth_conductance_w_m2k = 150    # assumed
maximum_c = 110

[supply]
idle_w = 8
motors_moving_w = 12             # evidence
motors_holding_w = 9
part_fan_w = 2

[swap]
filament_change_s = [120, 240, 600]  # assumed
filament_change_by_hand = true

[procedures]
homing_s = [15, 20, 30]
probing_s = [60, 90, 240]

[[heads]]
power_w = 40
still_loss_w_k = 0.018           # evidence, as the next two
fan_loss_w_k = 0.013
part_fan_factor = 2.0
maximum_c = 260

[[tools]]
head = 0
)";

constexpr std::array<std::pair<std::string_view, std::string_view>, 3> kEmbedded = {
    {{"changer-5", kChanger}, {"switcher-4", kSwitcher}, {"single-1", kSingle}}};

}  // namespace

std::optional<std::string_view> embedded_toml(std::string_view name) {
  for (const auto& [known, text] : kEmbedded)
    if (known == name)
      return text;
  return std::nullopt;
}

const std::vector<std::string>& action_names() {
  static const std::vector<std::string> names{"ignore",
                                              "takes_seconds",
                                              "set_limits",
                                              "set_temperature",
                                              "wait_temperature",
                                              "begin_purge",
                                              "end_purge",
                                              "begin_condition",
                                              "else_condition",
                                              "end_condition",
                                              "tool_change",
                                              "home",
                                              "probe",
                                              "pause"};
  return names;
}

std::vector<std::string> key_meanings(DialectAction action) {
  switch (action) {
    case DialectAction::takes_seconds:
      return {"seconds"};
    case DialectAction::set_limits:
      return {"print_speed_mm_s",          "acceleration_mm_s2",         "print_acceleration_mm_s2",
              "travel_acceleration_mm_s2", "retract_acceleration_mm_s2", "junction_deviation_mm",
              "corner_step_mm_s",          "corner_speed_mm_s",          "least_cruise_share",
              "braking_acceleration_mm_s2"};
    case DialectAction::set_temperature:
    case DialectAction::wait_temperature:
      return {"bed_c", "head_c", "enclosure_c", "tool"};
    case DialectAction::tool_change:
      return {"tool"};
    default:
      return {};
  }
}

const std::vector<std::string>& comment_meaning_names() {
  static const std::vector<std::string> names{"layer", "begin_purge", "end_purge", "begin_object",
                                              "end_object"};
  return names;
}

}  // namespace machine

std::vector<std::string> embedded_machine_names() {
  std::vector<std::string> names;
  names.reserve(std::size(machine::kEmbedded));
  for (const auto& [name, text] : machine::kEmbedded)
    names.emplace_back(name);
  return names;
}

std::vector<std::string> machines_that_fit(const BuildArea& needed, int tools, double bed_c,
                                           double nozzle_c) {
  std::vector<std::string> fitting;
  for (const std::string& name : embedded_machine_names()) {
    const Machine candidate = load_machine(name).machine();
    const BuildArea& area = candidate.area;
    const bool room = needed.x_min_mm >= area.x_min_mm && needed.x_max_mm <= area.x_max_mm &&
                      needed.y_min_mm >= area.y_min_mm && needed.y_max_mm <= area.y_max_mm &&
                      needed.z_max_mm <= area.z_max_mm;
    const bool hot = std::any_of(candidate.heads.begin(), candidate.heads.end(),
                                 [&](const Head& head) { return head.maximum_c >= nozzle_c; });
    if (room && hot && candidate.bed.maximum_c >= bed_c &&
        static_cast<int>(candidate.tools.size()) >= tools)
      fitting.push_back(name);
  }
  return fitting;
}

}  // namespace platetally
