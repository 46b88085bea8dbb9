#include "output/report/labels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "output/report/fields.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

using Pair = std::pair<std::string_view, std::string_view>;

constexpr std::array kEntries{
    Pair{"supply.idle_w", "power at rest"},
    Pair{"supply.part_fan_w", "part fan at full"},
    Pair{"supply.motors_holding_w", "motors that hold still"},
    Pair{"supply.motors_moving_w", "motors that move"},
    Pair{"supply.auxiliary_fans_w", "other fans"},
    Pair{"bed.tile_power_w", "heater of a bed zone"},
    Pair{"bed.resistance_rise_per_k", "rise of the bed's resistance"},
    Pair{"bed.areal_heat_capacity_j_m2k", "heat that the bed holds"},
    Pair{"bed.sensor_lag_s", "lag of the bed's sensor"},
    Pair{"bed.surface_heat_share", "share of the bed's heat in its surface"},
    Pair{"bed.depth_conductance_w_m2k", "heat through the bed's thickness"},
    Pair{"bed.convection_factor", "loss to the air above the bed"},
    Pair{"bed.underside_loss_w_m2k", "loss of the bed's underside"},
    Pair{"bed.fan_loss_w_k", "loss of the bed to the part fan"},
    Pair{"heads.power_w", "heater of a hot end"},
    Pair{"heads.heat_capacity_j_k", "heat that a hot end holds"},
    Pair{"heads.still_loss_w_k", "loss of a hot end in still air"},
    Pair{"heads.part_fan_factor", "loss of a hot end to the part fan"},
    Pair{"heads.fan_w", "fan of a hot end"},
    Pair{"enclosure.heat_capacity_j_k", "heat that the enclosure holds"},
    Pair{"enclosure.loss_closed_w_k", "loss of the closed enclosure"},
    Pair{"enclosure.loss_open_w_k", "loss of the open enclosure"},
    Pair{"motion.print_acceleration_mm_s2", "acceleration while printing"},
    Pair{"motion.travel_acceleration_mm_s2", "acceleration of travel"},
    Pair{"motion.retract_acceleration_mm_s2", "acceleration of retraction"},
    Pair{"motion.corner_speed_mm_s", "speed through a square corner"},
    Pair{"motion.junction_deviation_mm", "junction deviation"},
    Pair{"motion.least_cruise_share", "least share of a move at full speed"},
    Pair{"motion.x_acceleration_mm_s2", "acceleration of X"},
    Pair{"motion.y_acceleration_mm_s2", "acceleration of Y"},
    Pair{"motion.z_acceleration_mm_s2", "acceleration of Z"},
    Pair{"motion.x_speed_mm_s", "highest speed of X"},
    Pair{"motion.y_speed_mm_s", "highest speed of Y"},
    Pair{"motion.z_speed_mm_s", "highest speed of Z"},
    Pair{"motion.e_speed_mm_s", "highest speed of E"},
    Pair{"motion.x_corner_step_mm_s", "step of speed in a corner, X"},
    Pair{"motion.y_corner_step_mm_s", "step of speed in a corner, Y"},
    Pair{"motion.e_corner_step_mm_s", "step of speed in a corner, E"},
    Pair{"procedures.start_s", "start of a print"},
    Pair{"procedures.end_s", "end of a print"},
    Pair{"swap.filament_change_s", "change of filament"},
    Pair{"swap.head_change_s", "change of head"},
    Pair{"swap.hidden_purge_mm3", "purge by the machine's own macros"},
    Pair{"need.washout_mm3", "purge that thins the old colour to 37 %"},
    Pair{"need.dead_mm3", "purge before a colour begins to change"},
};

constexpr std::array kCauses{
    Pair{"motion", "how well the machine keeps to its limits"},
    Pair{"swap", "the seconds of a change"},
    Pair{"long-swap", "changes that take long"},
    Pair{"homing", "homing"},
    Pair{"probing", "probing of the bed"},
    Pair{"start-and-end", "start and end of the print"},
    Pair{"pause", "pauses for a person"},
    Pair{"unknown-words", "commands that are not known"},
    Pair{"past-errors", "what past predictions were off by"},
};

template <std::size_t Size>
std::string_view found(const std::array<Pair, Size>& pairs, std::string_view key) {
  const auto pair = std::ranges::find(pairs, key, &Pair::first);
  return pair == pairs.end() ? std::string_view() : pair->second;
}

const Field* total(std::string_view key) {
  constexpr std::string_view kSection = "totals.";
  if (key.starts_with(kSection))
    key.remove_prefix(kSection.size());
  for (const Field& field : section("totals").fields)
    if (field.key == key)
      return &field;
  return nullptr;
}

std::string with_blanks(std::string_view key, char joint) {
  std::string text(key);
  std::ranges::replace(text, joint, ' ');
  return text;
}

}  // namespace

std::string label_of_total(std::string_view key) {
  const Field* field = total(key);
  return field != nullptr ? std::string(field->title) : with_blanks(key, '_');
}

std::string unit_of_total(std::string_view key) {
  const Field* field = total(key);
  return field != nullptr ? std::string(field->unit) : "";
}

std::string label_of_entry(std::string_view key) {
  if (const std::string_view words = found(kEntries, key); !words.empty())
    return std::string(words);
  // "heads.0.power_w", "bed.x": an entry of one of several.
  return std::string(key);
}

std::string label_of_cause(std::string_view cause) {
  const std::string_view words = found(kCauses, cause);
  return words.empty() ? with_blanks(cause, '-') : std::string(words);
}

std::string label_of_code(std::string_view code) {
  return with_blanks(code, '-');
}

std::string short_name(std::string_view path) {
  const std::size_t slash = path.find_last_of("/\\");
  return std::string(
      slash == std::string_view::npos || slash + 1 == path.size() ? path : path.substr(slash + 1));
}

std::string capital(std::string text) {
  const bool is_key = text.substr(0, text.find(' ')).find_first_of("._") != std::string::npos;
  if (!is_key && !text.empty() && text.front() >= 'a' && text.front() <= 'z')
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
  return text;
}

std::string words_of_shared_labour(const Account& account) {
  return account.objects.size() > 1 && account.cost && account.cost->labour > 0.0
             ? "labour per plate is shared by all objects: a quote for one counts on all of them "
               "being made"
             : "";
}

}  // namespace platetally::report
