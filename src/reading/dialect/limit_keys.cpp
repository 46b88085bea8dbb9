#include "reading/dialect/limit_keys.hpp"

#include <initializer_list>

#include "reading/dialect/parameters.hpp"
#include "reading/dialect/text.hpp"

namespace platetally::dialect {

namespace {

/// Calls `see` with each run of letters.
template <typename See>
void for_each_part(std::string_view text, See see) {
  while (!text.empty()) {
    std::size_t length = 0;
    while (length < text.size() && is_letter(text[length]))
      ++length;
    if (length > 0)
      see(text.substr(0, length));
    text.remove_prefix(length < text.size() ? length + 1 : length);
  }
}

bool has_part(std::string_view text, std::initializer_list<std::string_view> words) {
  bool found = false;
  for_each_part(text, [&](std::string_view part) {
    for (const std::string_view word : words)
      found = found || equal_without_case(part, word);
  });
  return found;
}

/// Says that what it names is none of the path.
bool is_of_something_else(std::string_view text) {
  return has_part(text, {"FAN", "FANS", "RETRACT", "RETRACTION", "UNRETRACT", "UNRETRACTION"});
}

struct Bounds {
  double low, high;
};
constexpr Bounds kAcceleration{10.0, 1e6};
constexpr Bounds kCornerSpeed{0.0, 200.0};
constexpr Bounds kShare{0.0, 0.999};
constexpr Bounds kSpeed{5.0, 5000.0};

using Member = std::optional<double> LimitsByKey::*;

struct Meant {
  Member member = nullptr;
  Bounds bounds{};
};

Meant meaning_of(std::string_view key) {
  const bool accelerates = has_part(key, {"ACCEL", "ACCELERATION"});
  const bool is_speed = has_part(key, {"VELOCITY", "SPEED"});
  if (accelerates && has_part(key, {"DECEL", "DECELERATION"}))
    return {&LimitsByKey::braking_acceleration_mm_s2, kAcceleration};
  if (accelerates)
    return {&LimitsByKey::acceleration_mm_s2, kAcceleration};
  if (is_speed && has_part(key, {"CORNER"}))
    return {&LimitsByKey::corner_speed_mm_s, kCornerSpeed};
  if (has_part(key, {"CRUISE"}) && has_part(key, {"RATIO", "SHARE"}))
    return {&LimitsByKey::cruise_share, kShare};
  if (is_speed)
    return {&LimitsByKey::speed_mm_s, kSpeed};
  return {};
}

}  // namespace

std::optional<LimitsByKey> read_limits_by_key(const gcode::Command& command) {
  if (command.kind != gcode::CommandKind::named || is_of_something_else(command.name))
    return std::nullopt;
  LimitsByKey limits;
  bool any = false, all = true;
  for_each_argument(command.text, [&](std::string_view key, const Parameter& found) {
    const Meant meant = meaning_of(key);
    const bool is_limit = meant.member != nullptr && !is_of_something_else(key) &&
                          found.is_number && found.value >= meant.bounds.low &&
                          found.value <= meant.bounds.high;
    if (is_limit)
      limits.*meant.member = found.value;
    any = true;
    all = all && is_limit;
  });
  if (!all || !any)
    return std::nullopt;
  return limits;
}

}  // namespace platetally::dialect
