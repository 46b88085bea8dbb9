// By the names of keys first (a part of the name in any case), by the size of numbers where a plate
// heats no nozzle: 35 to 120 degC is a bed, 150 to 350 a nozzle (common practice, no source).
#include "reading/interpreter/word_meaning.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "reading/dialect/text.hpp"

namespace platetally::interpreter {

namespace {

using Key = Unaccounted::Key;

bool has_part(std::string_view text, std::string_view part) {
  for (std::size_t at = 0; at + part.size() <= text.size(); ++at)
    if (dialect::starts_without_case(text.substr(at), part))
      return true;
  return false;
}

bool has_any(std::string_view text, std::initializer_list<std::string_view> parts) {
  return std::any_of(parts.begin(), parts.end(),
                     [text](std::string_view part) { return has_part(text, part); });
}

bool is_within(const Key& key, double low, double high) {
  return key.low >= low && key.high <= high;
}

/// What a row's key could mean; nullptr: nothing that is known.
const char* limit_of(const Key& key) {
  if (!(key.high > 0.0))
    return nullptr;
  if (has_part(key.name, "accel"))
    return "acceleration_mm_s2";
  if (has_part(key.name, "deviation"))
    return "junction_deviation_mm";
  if (has_any(key.name, {"corner", "jerk"}))
    return "corner_step_mm_s";
  return has_any(key.name, {"velocity", "speed", "feed"}) ? "print_speed_mm_s" : nullptr;
}

const char* temperature_of(const Key& key, bool by_size) {
  constexpr double kWarm_c = 35.0, kBed_c = 120.0, kMelts_c = 150.0, kHottest_c = 350.0;
  const bool is_warm = is_within(key, kWarm_c, kHottest_c);
  if (!is_warm)
    return nullptr;
  if (has_part(key.name, "bed"))
    return "bed_c";
  if (has_any(key.name, {"chamber", "enclosure"}))
    return "enclosure_c";
  if (has_any(key.name, {"nozzle", "hotend", "extruder", "head", "temp"}))
    return is_within(key, kWarm_c, kBed_c) ? "bed_c" : "head_c";
  if (!by_size)
    return nullptr;
  return is_within(key, kWarm_c, kBed_c)        ? "bed_c"
         : is_within(key, kMelts_c, kHottest_c) ? "head_c"
                                                : nullptr;
}

bool feeds(const Key& key) {
  return dialect::equal_without_case(key.name, "E") ||
         has_any(key.name, {"extrude", "purge", "filament", "retract"});
}

bool is_plain_key(std::string_view name) {
  return std::all_of(name.begin(), name.end(), [](char c) {
    return dialect::is_letter(c) || dialect::is_digit(c) || c == '_' || c == '-';
  });
}

std::string row_of(std::string_view word, std::string_view action,
                   const std::vector<std::pair<std::string, const char*>>& keys,
                   std::string_view more = "") {
  std::string row = fmt::format("[[dialect.rows]]\nword = \"{}\"\naction = \"{}\"\n", word, action);
  if (!keys.empty()) {
    std::vector<std::string> pairs;
    for (const auto& [key, means] : keys)
      pairs.push_back(fmt::format("{} = \"{}\"", key, means));
    row += fmt::format("keys = {{ {} }}\n", fmt::join(pairs, ", "));
  }
  return row + std::string(more);
}

std::string say(const Key& key) {
  return key.low == key.high ? fmt::format("{} of {:g}", key.name, key.low)
                             : fmt::format("{} of {:g} to {:g}", key.name, key.low, key.high);
}

/// The keys that `meaning_of` knows, each meaning once.
template <typename MeaningOf>
std::vector<std::pair<std::string, const char*>> keys_with(const std::vector<Key>& keys,
                                                           MeaningOf meaning_of,
                                                           std::vector<std::string>& said) {
  std::vector<std::pair<std::string, const char*>> found;
  for (const Key& key : keys) {
    const char* const meaning = is_plain_key(key.name) ? meaning_of(key) : nullptr;
    const bool is_new =
        meaning != nullptr && std::none_of(found.begin(), found.end(), [&](const auto& one) {
          return std::string_view(one.second) == meaning;
        });
    if (!is_new)
      continue;
    found.emplace_back(key.name, meaning);
    said.push_back(say(key));
  }
  return found;
}

}  // namespace

WordMeaning guess_meaning(std::string_view word, const Unaccounted::Evidence& evidence,
                          bool heats_nozzle) {
  std::vector<std::string> said;
  if (const auto keys = keys_with(evidence.keys, limit_of, said); !keys.empty())
    return {
        fmt::format("carries what looks like speeds or accelerations ({})", fmt::join(said, ", ")),
        row_of(word, "set_limits", keys)};
  const bool may_heat = !heats_nozzle && evidence.before_first_layer;
  const auto temperature = [may_heat](const Key& key) { return temperature_of(key, may_heat); };
  if (const auto keys = keys_with(evidence.keys, temperature, said); !keys.empty())
    return {fmt::format("carries what looks like temperatures ({}){}", fmt::join(said, ", "),
                        may_heat ? ", and no other word heats a nozzle" : ""),
            row_of(word, may_heat ? "wait_temperature" : "set_temperature", keys)};
  for (const Key& key : evidence.keys)
    if (feeds(key) && (key.low != 0.0 || key.high != 0.0))
      return {fmt::format("carries what looks like filament ({}): what it feeds is in no figure",
                          say(key)),
              row_of(word, "takes_seconds", {},
                     "seconds = 0  # how long it takes; filament: swap.hidden_purge_mm3\n")};
  const auto tool = [](const Key& key) {
    return dialect::equal_without_case(key.name, "tool") ? "tool" : nullptr;
  };
  if (const auto keys = keys_with(evidence.keys, tool, said); !keys.empty())
    return {fmt::format("names a tool ({}): it may change it", fmt::join(said, ", ")),
            row_of(word, "tool_change", keys)};
  const bool is_macro =
      word.size() > 2 && word.find_first_of("0123456789") == std::string_view::npos;
  if (may_heat && is_macro)
    return {"stands before the first layer, and no other word heats a nozzle: a start macro may",
            row_of(word, "takes_seconds", {},
                   "seconds = 300  # of heating and priming; it takes no temperatures\n")};
  return {};
}

}  // namespace platetally::interpreter
