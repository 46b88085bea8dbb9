#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "machine/description/keys.hpp"
#include "platetally/colour.hpp"

namespace platetally {

namespace {

using machine::Key;

void complain(std::vector<Diagnostic>& faults, const char* code, std::string message) {
  Diagnostic fault;
  fault.code = code;
  fault.severity = Severity::error;
  fault.message = std::move(message);
  faults.push_back(std::move(fault));
}

void check_number(const std::string& path, const Key& key, double value,
                  std::vector<Diagnostic>& faults) {
  if (std::isfinite(value) && value >= key.low && value <= key.high)
    return;
  complain(faults, "key-range",
           fmt::format("{}: found {}; expected {} to {}{}{}", path, value, key.low, key.high,
                       key.unit.empty() ? "" : " ", key.unit));
}

void check(const Key& key, Machine& machine, const std::string& path,
           std::vector<Diagnostic>& faults) {
  if (const auto* number = std::get_if<machine::NumberAt>(&key.value)) {
    check_number(path, key, number->at(machine), faults);
  } else if (const auto* integer = std::get_if<machine::IntegerAt>(&key.value)) {
    check_number(path, key, integer->at(machine), faults);
  } else if (const auto* range = std::get_if<machine::RangeAt>(&key.value)) {
    const Range& band = range->at(machine);
    check_number(path, key, band.low, faults);
    check_number(path, key, band.high, faults);
    if (!(band.low <= band.expected && band.expected <= band.high))
      complain(faults, "key-order",
               fmt::format("{}: found [{}, {}, {}]; expected low <= expected <= high", path,
                           band.low, band.expected, band.high));
  }
}

void check_all(const std::vector<Key>& keys, Machine& machine, const std::string& suffix,
               std::vector<Diagnostic>& faults) {
  for (const Key& key : keys)
    check(key, machine, (key.table.empty() ? "" : key.table + suffix + ".") + key.name, faults);
}

void check_together(const Machine& machine, std::vector<Diagnostic>& faults) {
  const BuildArea& area = machine.area;
  if (area.x_min_mm >= area.x_max_mm || area.y_min_mm >= area.y_max_mm)
    complain(faults, "area-empty",
             fmt::format("area: found x {} to {}, y {} to {}; expected the first below the second",
                         area.x_min_mm, area.x_max_mm, area.y_min_mm, area.y_max_mm));
  for (std::size_t i = 0; i < machine.waste_areas.size(); ++i)
    if (const WasteArea& waste = machine.waste_areas[i];
        waste.x_min_mm >= waste.x_max_mm || waste.y_min_mm >= waste.y_max_mm)
      complain(faults, "area-empty",
               fmt::format("waste_areas[{}]: found '{}' with x {} to {}, y {} to {}; expected the "
                           "first below the second",
                           i, waste.name, waste.x_min_mm, waste.x_max_mm, waste.y_min_mm,
                           waste.y_max_mm));
  if (machine.bed.neighbour_count != 0 && machine.bed.neighbour_count != 4 &&
      machine.bed.neighbour_count != 8)
    complain(faults, "key-range",
             fmt::format("bed.neighbour_count: found {}; expected 0, 4 or 8",
                         machine.bed.neighbour_count));
  if (machine.motion.look_ahead_moves > 0 && machine.motion.least_cruise_share > 0.0)
    complain(
        faults, "cruise-and-window",
        fmt::format("motion: found look_ahead_moves {} and least_cruise_share {}; expected one "
                    "of them 0: a controller that sees only so many moves ends its rises and "
                    "falls behind them, where the share knows no end",
                    machine.motion.look_ahead_moves, machine.motion.least_cruise_share));
  if (machine.heads.empty() || machine.heads.size() > 16)
    complain(faults, "heads-count",
             fmt::format("heads: found {}; expected 1 to 16", machine.heads.size()));
  if (machine.tools.empty() || machine.tools.size() > 32)
    complain(faults, "tools-count",
             fmt::format("tools: found {}; expected 1 to 32", machine.tools.size()));
  for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
    if (machine.tools[tool].head < 0 ||
        static_cast<std::size_t>(machine.tools[tool].head) >= machine.heads.size())
      complain(faults, "tool-head",
               fmt::format("tools[{}].head: found {}; expected 0 to {}", tool,
                           machine.tools[tool].head, static_cast<int>(machine.heads.size()) - 1));
  for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
    if (const std::string& colour = machine.tools[tool].colour; !colour.empty())
      if (const auto fault = fault_of_colour(colour))
        complain(faults, "key-choice", fmt::format("tools[{}].colour: {}", tool, *fault));
  for (const DialectRow& row : machine.dialect.rows)
    if (!(row.seconds >= 0.0 && row.seconds <= kMostOwnSeconds))
      complain(faults, "key-range",
               fmt::format("dialect.rows: word \"{}\", seconds: found {}; expected 0 to {} s",
                           row.word, row.seconds, kMostOwnSeconds));
  for (const CommentPattern& pattern : machine.dialect.comments)
    if (pattern.starts_with.find_first_not_of(" \t") == std::string::npos)
      complain(faults, "dialect-comment",
               "dialect.comments: found an empty starts_with, which every comment begins with; "
               "expected the words that such a comment begins with");
  for (std::size_t i = 0; i < machine.swap_pairs.size(); ++i) {
    const SwapPair& pair = machine.swap_pairs[i];
    const auto tools = static_cast<int>(machine.tools.size());
    if (pair.from == pair.to || pair.from >= tools || pair.to >= tools)
      complain(faults, "swap-pair",
               fmt::format("swap_pairs[{}]: found from {} to {}; expected two different tools of 0 "
                           "to {}",
                           i, pair.from, pair.to, tools - 1));
    // Whoever asks would find one figure or the other.
    const bool is_said_before = std::any_of(
        machine.swap_pairs.begin(), machine.swap_pairs.begin() + static_cast<std::ptrdiff_t>(i),
        [&pair](const SwapPair& other) {
          return other.from == pair.from && other.to == pair.to &&
                 ((other.seconds.high > 0.0 && pair.seconds.high > 0.0) ||
                  (other.needed_mm3 > 0.0 && pair.needed_mm3 > 0.0));
        });
    if (is_said_before)
      complain(faults, "swap-pair",
               fmt::format("swap_pairs[{}]: found from {} to {} again with the same key; expected "
                           "each figure of a pair once",
                           i, pair.from, pair.to));
  }
}

}  // namespace

std::vector<Diagnostic> validate(const Machine& machine) {
  std::vector<Diagnostic> faults;
  Machine copy = machine;
  check_all(machine::machine_keys(), copy, "", faults);
  for (std::size_t i = 0; i < copy.heads.size(); ++i)
    check_all(machine::head_keys(i), copy, fmt::format("[{}]", i), faults);
  for (std::size_t i = 0; i < copy.tools.size(); ++i)
    check_all(machine::tool_keys(i), copy, fmt::format("[{}]", i), faults);
  for (std::size_t i = 0; i < copy.waste_areas.size(); ++i)
    check_all(machine::waste_area_keys(i), copy, fmt::format("[{}]", i), faults);
  for (std::size_t i = 0; i < copy.swap_pairs.size(); ++i)
    check_all(machine::swap_pair_keys(i), copy, fmt::format("[{}]", i), faults);
  check_together(machine, faults);
  return faults;
}

}  // namespace platetally
