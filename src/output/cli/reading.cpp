#include "output/cli/reading.hpp"

#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

namespace platetally::cli {

namespace {

std::optional<double> number(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t' || text.front() == '+'))
    text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r'))
    text.remove_suffix(1);
  double value = 0.0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (text.empty() || read.ec != std::errc{} || read.ptr != end || !std::isfinite(value))
    return std::nullopt;
  return value;
}

}  // namespace

std::optional<double> read_payload(std::string_view text, const std::string& pointer) {
  if (pointer.empty())
    return number(text);
  const nlohmann::json message = nlohmann::json::parse(text, nullptr, false);
  try {
    const nlohmann::json& found = message.at(nlohmann::json::json_pointer(pointer));
    if (found.is_number())
      return found.get<double>();
    return found.is_string() ? number(found.get<std::string>()) : std::nullopt;
  } catch (const nlohmann::json::exception&) {
    return std::nullopt;
  }
}

}  // namespace platetally::cli
