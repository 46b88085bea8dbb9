// The table below is one row a key; its length is its reason.
#include "machine/description/keys.hpp"

#include <algorithm>

namespace platetally::machine {

namespace {

template <typename Get>
Key number(const char* table, const char* name, const char* unit, double low, double high,
           const char* meaning, Get get) {
  return {table, name, unit, low, high, meaning, NumberAt{get}};
}

template <typename Get>
Key integer(const char* table, const char* name, double low, double high, const char* meaning,
            Get get) {
  return {table, name, "", low, high, meaning, IntegerAt{get}};
}

template <typename Get>
Key flag(const char* table, const char* name, const char* meaning, Get get) {
  return {table, name, "", 0, 1, meaning, FlagAt{get}};
}

template <typename Get>
Key text(const char* table, const char* name, const char* meaning, Get get) {
  return {table, name, "", 0, 0, meaning, TextAt{get}};
}

template <typename Get>
Key range(const char* table, const char* name, const char* unit, double low, double high,
          const char* meaning, Get get) {
  return {table, name, unit, low, high, meaning, RangeAt{get}};
}

template <typename Get>
Key choice(const char* table, const char* name, Names names, const char* meaning, Get get) {
  using Enum = std::remove_reference_t<decltype(get(std::declval<Machine&>()))>;
  return {
      table,
      name,
      "",
      0,
      static_cast<double>(names.size() - 1),
      meaning,
      ChoiceAt{[get](const Machine& m) { return static_cast<int>(get(const_cast<Machine&>(m))); },
               [get](Machine& m, int value) { get(m) = static_cast<Enum>(value); },
               std::move(names)}};
}

// NOLINTBEGIN(bugprone-macro-parentheses): the name of a member stands in none
#define AT(member)           \
  [](Machine & m) -> auto& { \
    return m.member;         \
  }
// NOLINTEND(bugprone-macro-parentheses)

void add_area_and_motion(std::vector<Key>& keys) {
  keys.insert(keys.end(),
              {text("", "name", "what the machine is called in reports", AT(name)),
               text("", "description", "one line about it", AT(description)),
               number("", "room_c", "degC", -20, 50, "temperature of the room", AT(room_c)),
               number("area", "x_min_mm", "mm", -5000, 5000, "where the nozzle can lay material",
                      AT(area.x_min_mm)),
               number("area", "x_max_mm", "mm", -5000, 5000, "", AT(area.x_max_mm)),
               number("area", "y_min_mm", "mm", -5000, 5000, "", AT(area.y_min_mm)),
               number("area", "y_max_mm", "mm", -5000, 5000, "", AT(area.y_max_mm)),
               number("area", "z_max_mm", "mm", 1, 10000, "", AT(area.z_max_mm))});
  constexpr const char* kAxes[] = {"x", "y", "z", "e"};
  for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
    const std::string name = kAxes[axis];
    keys.push_back({"motion", name + "_speed_mm_s", "mm/s", 0.01, 5000, "highest speed of the axis",
                    NumberAt{[axis](Machine& m) -> double& { return m.motion.speed_mm_s[axis]; }}});
    keys.push_back({"motion", name + "_acceleration_mm_s2", "mm/s2", 0.1, 1e6,
                    "highest acceleration of the axis", NumberAt{[axis](Machine& m) -> double& {
                      return m.motion.acceleration_mm_s2[axis];
                    }}});
    keys.push_back(
        {"motion", name + "_corner_step_mm_s", "mm/s", 0, 1000,
         axis == 3 ? "speed jump of the filament allowed at a corner (corner_model = "
                     "\"speed_step\" or \"corner_speed\")"
                   : "speed jump allowed at a corner (corner_model = \"speed_step\")",
         NumberAt{[axis](Machine& m) -> double& { return m.motion.corner_step_mm_s[axis]; }}});
  }
  keys.insert(
      keys.end(),
      {number("motion", "print_acceleration_mm_s2", "mm/s2", 0.1, 1e6, "moves that lay material",
              AT(motion.print_acceleration_mm_s2)),
       number("motion", "travel_acceleration_mm_s2", "mm/s2", 0.1, 1e6, "moves that lay nothing",
              AT(motion.travel_acceleration_mm_s2)),
       number("motion", "retract_acceleration_mm_s2", "mm/s2", 0.1, 1e6, "moves of E alone",
              AT(motion.retract_acceleration_mm_s2)),
       choice("motion", "corner_model", {"junction_deviation", "speed_step", "corner_speed"},
              "how the speed at a corner is limited", AT(motion.corner_model)),
       number("motion", "junction_deviation_mm", "mm", 1e-6, 2,
              "virtual rounding of a corner that the controller assumes (junction deviation)",
              AT(motion.junction_deviation_mm)),
       number("motion", "corner_speed_mm_s", "mm/s", 0, 1000,
              "speed at a right angle, whatever the acceleration (corner_model = "
              "\"corner_speed\")",
              AT(motion.corner_speed_mm_s)),
       number("motion", "least_cruise_share", "", 0, 0.999,
              "of a short move between slow corners that is gone at one speed; 0: off",
              AT(motion.least_cruise_share)),
       number("motion", "arc_chord_mm", "mm", 0, 100,
              "the controller cuts arcs into chords of this length; 0: it does not",
              AT(motion.arc_chord_mm)),
       number("motion", "minimum_print_feed_mm_s", "mm/s", 0, 100, "",
              AT(motion.minimum_print_feed_mm_s)),
       number("motion", "minimum_travel_feed_mm_s", "mm/s", 0, 100, "",
              AT(motion.minimum_travel_feed_mm_s)),
       number("motion", "minimum_segment_time_s", "s", 0, 0.1,
              "shorter moves are slowed down to it", AT(motion.minimum_segment_time_s)),
       number("motion", "initial_feed_mm_s", "mm/s", 0.01, 5000, "before the first F word",
              AT(motion.initial_feed_mm_s)),
       integer("motion", "look_ahead_moves", 0, 1e6, "moves that the controller sees; 0: all",
               AT(motion.look_ahead_moves)),
       flag("motion", "honours_speed_words", "follows M203", AT(motion.honours_speed_words)),
       flag("motion", "honours_acceleration_words", "follows M201 and M204",
            AT(motion.honours_acceleration_words)),
       flag("motion", "honours_corner_words", "follows M205", AT(motion.honours_corner_words)),
       flag("motion", "honours_factor_words", "follows M220 and M221",
            AT(motion.honours_factor_words))});
}

void add_bed(std::vector<Key>& keys) {
  keys.insert(keys.end(),
              {integer("bed", "rows", 1, 8, "tiles in y; rows x columns at most 64", AT(bed.rows)),
               integer("bed", "columns", 1, 8, "tiles in x", AT(bed.columns)),
               number("bed", "width_mm", "mm", 20, 5000, "heated width", AT(bed.width_mm)),
               number("bed", "depth_mm", "mm", 20, 5000, "heated depth", AT(bed.depth_mm)),
               number("bed", "x_min_mm", "mm", -5000, 5000, "where the heated plate begins",
                      AT(bed.x_min_mm)),
               number("bed", "y_min_mm", "mm", -5000, 5000, "", AT(bed.y_min_mm)),
               number("bed", "tile_power_w", "W", 0.1, 5000,
                      "one tile's heater at full, at 20 degC", AT(bed.tile_power_w)),
               number("bed", "duty_limit", "", 0.01, 1,
                      "share of the time that the heater may be on", AT(bed.duty_limit)),
               number("bed", "resistance_rise_per_k", "1/K", 0, 0.01,
                      "of the heater; copper 0.0039, a mat for the mains about 0",
                      AT(bed.resistance_rise_per_k)),
               number("bed", "sensor_lag_s", "s", 0, 120, "time constant of the bed's sensor",
                      AT(bed.sensor_lag_s)),
               choice("bed", "supply", {"dc", "ac"},
                      "through the DC supply or straight from the mains", AT(bed.supply)),
               number("bed", "areal_heat_capacity_j_m2k", "J/m2K", 500, 2e5,
                      "heater plate and surface together", AT(bed.areal_heat_capacity_j_m2k)),
               number("bed", "underside_loss_w_m2k", "W/m2K", 0, 100,
                      "through the insulation below", AT(bed.underside_loss_w_m2k)),
               number("bed", "edge_loss_w_k", "W/K", 0, 10, "for each outer edge of a tile",
                      AT(bed.edge_loss_w_k)),
               number("bed", "emissivity", "", 0, 1, "of the surface", AT(bed.emissivity)),
               number("bed", "convection_factor", "", 0, 10,
                      "on the film coefficient of a free plate", AT(bed.convection_factor)),
               number("bed", "fan_loss_w_k", "W/K", 0, 10,
                      "extra for each active tile at full part fan", AT(bed.fan_loss_w_k)),
               number("bed", "lateral_conductance_w_k", "W/K", 0, 100, "between neighbouring tiles",
                      AT(bed.lateral_conductance_w_k)),
               integer("bed", "depth_nodes", 1, 2,
                       "1, or 2: heater plate below, surface and frame above", AT(bed.depth_nodes)),
               number("bed", "surface_heat_share", "", 0.05, 0.95,
                      "of the heat capacity, in the upper node", AT(bed.surface_heat_share)),
               number("bed", "depth_conductance_w_m2k", "W/m2K", 1, 1e5, "between the two nodes",
                      AT(bed.depth_conductance_w_m2k)),
               number("bed", "maximum_c", "degC", 30, 300, "highest set point", AT(bed.maximum_c)),
               number("bed", "band_k", "K", 0.05, 20, "a wait ends this close to the target",
                      AT(bed.band_k)),
               number("bed", "residency_s", "s", 0, 600, "and after this long inside the band",
                      AT(bed.residency_s)),
               choice("bed", "zone_policy", {"whole_bed", "footprint"}, "which tiles are heated",
                      AT(bed.zone_policy)),
               number("bed", "neighbour_fraction", "", 0, 1,
                      "tiles beside active ones are held at room + f (target - room)",
                      AT(bed.neighbour_fraction)),
               integer("bed", "neighbour_count", 0, 8, "0, 4 or 8 tiles around an active one",
                       AT(bed.neighbour_count)),
               flag("bed", "follow_layers", "a tile goes off after the last layer that needs it",
                    AT(bed.follow_layers))});
}

// A table: longer than other functions, one row a key.
void add_rest(std::vector<Key>& keys) {
  keys.insert(
      keys.end(),
      {flag("enclosure", "present", "", AT(enclosure.present)),
       number("enclosure", "heat_capacity_j_k", "J/K", 10, 1e6, "air and lining",
              AT(enclosure.heat_capacity_j_k)),
       number("enclosure", "loss_closed_w_k", "W/K", 0.01, 1000, "door and lid closed",
              AT(enclosure.loss_closed_w_k)),
       number("enclosure", "loss_open_w_k", "W/K", 0.01, 1000, "open", AT(enclosure.loss_open_w_k)),
       flag("enclosure", "door_open", "", AT(enclosure.door_open)),
       number("enclosure", "heater_w", "W", 0, 10000, "0: not heated actively",
              AT(enclosure.heater_w)),
       choice("enclosure", "supply", {"dc", "ac"}, "", AT(enclosure.supply)),
       number("enclosure", "maximum_c", "degC", 20, 200, "highest set point",
              AT(enclosure.maximum_c)),
       number("enclosure", "band_k", "K", 0.05, 20, "", AT(enclosure.band_k)),
       number("enclosure", "waste_heat_share", "", 0, 1,
              "of motors, fans and electronics, that ends up inside",
              AT(enclosure.waste_heat_share)),
       number("supply", "idle_w", "W", 0, 1000, "electronics, always", AT(supply.idle_w)),
       number("supply", "loss_share", "", 0, 1, "a DC draw P costs P (1 + share + per_w P)",
              AT(supply.loss_share)),
       number("supply", "loss_per_w", "1/W", 0, 0.01, "", AT(supply.loss_per_w)),
       number("supply", "ac_efficiency", "", 0.5, 1, "of the switch before AC heaters",
              AT(supply.ac_efficiency)),
       number("supply", "dc_limit_w", "W", 0, 1e5, "shared by all DC heaters; 0: none",
              AT(supply.dc_limit_w)),
       flag("supply", "heads_before_bed", "who is served first under dc_limit_w",
            AT(supply.heads_before_bed)),
       number("supply", "motors_moving_w", "W", 0, 1000, "", AT(supply.motors_moving_w)),
       number("supply", "motors_holding_w", "W", 0, 1000, "enabled and still",
              AT(supply.motors_holding_w)),
       number("supply", "part_fan_w", "W", 0, 1000, "at full", AT(supply.part_fan_w)),
       number("supply", "auxiliary_fans_w", "W", 0, 1000, "while motors are enabled",
              AT(supply.auxiliary_fans_w)),
       number("supply", "energy_spread", "", 0, 1,
              "half the band of the energy, as a share of it; calibrate writes what it found",
              AT(supply.energy_spread)),
       range("swap", "head_change_s", "s", 0, 3600, "another nozzle is picked up",
             AT(swap.head_change_s)),
       range("swap", "filament_change_s", "s", 0, 3600,
             "one nozzle gets another filament: unloading, loading, wiping, and purge that the "
             "machine "
             "runs itself (hidden_purge_mm3), but no purge that the plate holds as moves",
             AT(swap.filament_change_s)),
       flag("swap", "filament_change_by_hand",
            "a person changes the filament: the last tool stands for as many filaments as a plate "
            "asks for, and every change waits for somebody",
            AT(swap.filament_change_by_hand)),
       number("swap", "long_swap_probability", "", 0, 1,
              "share of swaps that stop and go on, by themselves or after a person has cleared the "
              "fault",
              AT(swap.long_swap_probability)),
       number("swap", "long_swap_extra_s", "s", 0, 3600, "what such a stop adds",
              AT(swap.long_swap_extra_s)),
       number("swap", "first_pick_s", "s", 0, 3600, "taking the first tool", AT(swap.first_pick_s)),
       number("swap", "hidden_purge_mm3", "mm3", 0, 1e5,
              "purged by the machine at each swap, not in the file", AT(swap.hidden_purge_mm3)),
       number("swap", "purge_mm3_s", "mm3/s", 0.1, 200,
              "how fast it purges, where a plate of another machine is re-planned for it",
              AT(swap.purge_mm3_s)),
       number("swap", "purge_each_mm3", "mm3", 0, 1e5,
              "the same: a filament change whose need is not known", AT(swap.purge_each_mm3)),
       number("swap", "tower_each_mm3", "mm3", 0, 1e5,
              "the same: laid on a prime tower at a head change", AT(swap.tower_each_mm3)),
       number("need", "washout_mm3", "mm3", 0.1, 1e4, "thins the old colour to 1/e",
              AT(need.washout_mm3)),
       number("need", "dead_mm3", "mm3", 0, 1e4, "has to leave before the new colour arrives",
              AT(need.dead_mm3)),
       number("need", "margin", "", 1, 10, "on both", AT(need.margin)),
       number("need", "tolerance_de00", "", 0.1, 50,
              "CIEDE2000 difference from the clean colour that is accepted",
              AT(need.tolerance_de00)),
       flag("need", "high_flow", "the hot end is one of high flow: both volumes 1.65 times",
            AT(need.high_flow)),
       number("need", "darkest", "", 0, 0.5, "of light that the darkest filament throws back",
              AT(need.darkest)),
       number("need", "brightest", "", 0.5, 1, "of light that the brightest filament throws back",
              AT(need.brightest)),
       range("procedures", "homing_s", "s", 0, 3600, "each", AT(procedures.homing_s)),
       range("procedures", "probing_s", "s", 0, 3600, "each", AT(procedures.probing_s)),
       range("procedures", "start_s", "s", 0, 36000, "before the first line",
             AT(procedures.start_s)),
       range("procedures", "end_s", "s", 0, 36000, "after the last line", AT(procedures.end_s)),
       number("procedures", "unknown_word_most_s", "s", 0, 60,
              "may a command word take that nothing is known of",
              AT(procedures.unknown_word_most_s)),
       range("procedures", "pause_s", "s", 0, 360000, "until a person has come, each pause",
             AT(procedures.pause_s)),
       number("procedures", "retract_mm", "mm", 0, 100, "G10", AT(procedures.retract_mm)),
       number("procedures", "retract_speed_mm_s", "mm/s", 0.01, 500, "",
              AT(procedures.retract_speed_mm_s)),
       number("procedures", "return_extra_mm", "mm", -10, 10, "G11 feeds this much more",
              AT(procedures.return_extra_mm)),
       number("procedures", "return_speed_mm_s", "mm/s", 0.01, 500, "",
              AT(procedures.return_speed_mm_s)),
       number("procedures", "retract_lift_mm", "mm", 0, 10, "lift with G10",
              AT(procedures.retract_lift_mm)),
       choice("dialect", "distance_words_set_e", {"false", "true", "detect"},
              "G90 and G91 also set the E mode; detect: by the size of the E words",
              AT(dialect.distance_words_set_e)),
       flag("dialect", "dwell_p_is_milliseconds", "G4 P; false: seconds",
            AT(dialect.dwell_p_is_milliseconds)),
       flag("dialect", "rapid_moves_use_feed", "G0 takes F; false: the axis limits alone",
            AT(dialect.rapid_moves_use_feed)),
       choice("dialect", "initial_extrusion", {"absolute", "relative", "detect"},
              "before M82 or M83", AT(dialect.initial_extrusion)),
       flag("dialect", "volumetric_e", "E counts mm3 from the start", AT(dialect.volumetric_e)),
       flag("dialect", "use_trade_words",
            "\"prime tower\", \"purge\" in comments mark purge, \"object\" an object",
            AT(dialect.use_trade_words)),
       flag("dialect", "limits_by_key",
            "KEY=VALUE of unknown words is read by the plain English in the keys",
            AT(dialect.limits_by_key))});
}

#undef AT

/// Where members of an entry of one of the machine's lists are.
template <typename Entry>
struct InEntry {
  std::vector<Entry> Machine::*list;
  std::size_t index;

  template <typename Member>
  auto operator()(Member Entry::*member) const {
    return [entry = *this, member](Machine& m) -> Member& {
      return (m.*entry.list)[entry.index].*member;
    };
  }
};

}  // namespace

std::vector<Key> machine_keys() {
  std::vector<Key> keys;
  add_area_and_motion(keys);
  add_bed(keys);
  add_rest(keys);
  return keys;
}

std::vector<Key> head_keys(std::size_t index) {
  const InEntry<Head> at{&Machine::heads, index};
  return {
      number("heads", "power_w", "W", 0.1, 500, "heater at full, at 20 degC", at(&Head::power_w)),
      number("heads", "duty_limit", "", 0.01, 1, "share of the time that the heater may be on",
             at(&Head::duty_limit)),
      number("heads", "resistance_rise_per_k", "1/K", 0, 0.01, "of the heater",
             at(&Head::resistance_rise_per_k)),
      number("heads", "heat_capacity_j_k", "J/K", 0.5, 1000, "", at(&Head::heat_capacity_j_k)),
      number("heads", "still_loss_w_k", "W/K", 0, 5, "conduction and still air",
             at(&Head::still_loss_w_k)),
      number("heads", "fan_loss_w_k", "W/K", 0, 5, "added by fans, times 1 + part_fan_factor duty",
             at(&Head::fan_loss_w_k)),
      number("heads", "part_fan_factor", "", 0, 10, "", at(&Head::part_fan_factor)),
      number("heads", "emissivity", "", 0, 1, "", at(&Head::emissivity)),
      number("heads", "radiating_area_cm2", "cm2", 0, 500, "", at(&Head::radiating_area_cm2)),
      number("heads", "maximum_c", "degC", 50, 600, "highest set point", at(&Head::maximum_c)),
      number("heads", "band_k", "K", 0.05, 20, "a wait ends this close to the target",
             at(&Head::band_k)),
      number("heads", "residency_s", "s", 0, 600, "", at(&Head::residency_s)),
      number("heads", "standby_c", "degC", 0, 600, "while another head works; 0: stays hot",
             at(&Head::standby_c)),
      number("heads", "nozzle_diameter_mm", "mm", 0.05, 5, "", at(&Head::nozzle_diameter_mm)),
      number("heads", "fan_w", "W", 0, 100, "the head's own fan", at(&Head::fan_w))};
}

std::vector<Key> tool_keys(std::size_t index) {
  const InEntry<Tool> at{&Machine::tools, index};
  return {
      integer("tools", "head", 0, 15, "which of the heads", at(&Tool::head)),
      integer("tools", "feed", 0, 1000, "which spool", at(&Tool::feed)),
      text("tools", "material", "name of a material", at(&Tool::material)),
      number("tools", "filament_diameter_mm", "mm", 0.5, 10, "", at(&Tool::filament_diameter_mm)),
      text("tools", "colour", "\"#rrggbb\" or a plain name", at(&Tool::colour))};
}

std::vector<Key> waste_area_keys(std::size_t index) {
  const InEntry<WasteArea> at{&Machine::waste_areas, index};
  return {text("waste_areas", "name", "", at(&WasteArea::name)),
          number("waste_areas", "x_min_mm", "mm", -5000, 5000, "what is laid here is purge",
                 at(&WasteArea::x_min_mm)),
          number("waste_areas", "x_max_mm", "mm", -5000, 5000, "", at(&WasteArea::x_max_mm)),
          number("waste_areas", "y_min_mm", "mm", -5000, 5000, "", at(&WasteArea::y_min_mm)),
          number("waste_areas", "y_max_mm", "mm", -5000, 5000, "", at(&WasteArea::y_max_mm))};
}

std::vector<Key> swap_pair_keys(std::size_t index) {
  const InEntry<SwapPair> at{&Machine::swap_pairs, index};
  return {
      integer("swap_pairs", "from", 0, 31, "T number", at(&SwapPair::from)),
      integer("swap_pairs", "to", 0, 31, "", at(&SwapPair::to)),
      range("swap_pairs", "seconds", "s", 0, 3600, "of the change; all 0: as its kind takes",
            at(&SwapPair::seconds)),
      number("swap_pairs", "needed_mm3", "mm3", 0, 1e5,
             "measured purge that the pair needs; 0: by the colours", at(&SwapPair::needed_mm3))};
}

const std::vector<std::string>& table_order() {
  static const std::vector<std::string> order{"",       "area", "motion", "bed",        "enclosure",
                                              "supply", "swap", "need",   "procedures", "dialect"};
  return order;
}

}  // namespace platetally::machine
