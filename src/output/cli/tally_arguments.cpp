#include "output/cli/tally_arguments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "output/cli/commands.hpp"
#include "platetally/colour.hpp"

namespace platetally::cli {

namespace {

/// All of `text` as a number.
template <typename Number>
bool read_number(std::string_view text, Number& number) {
  const char* end = text.data() + text.size();
  const auto result = std::from_chars(text.data(), end, number);
  return !text.empty() && result.ec == std::errc{} && result.ptr == end;
}

}  // namespace

std::vector<std::string> parse_colours(const std::string& text, const Machine& machine) {
  std::vector<std::string> colours;
  std::string_view rest = text;
  while (!rest.empty()) {
    const std::string_view entry = rest.substr(0, rest.find(','));
    rest.remove_prefix(std::min(entry.size() + 1, rest.size()));
    const std::size_t equals = std::min(entry.find('='), entry.size());
    std::size_t tool = 0;
    if (!read_number(entry.substr(0, equals), tool) || equals + 1 >= entry.size())
      throw UsageError(
          fmt::format("--colours: '{}' is not TOOL=COLOUR, such as 0=black or 1=#f0c814", entry));
    const std::size_t tools = filaments_by_hand(machine).tools.size();
    if (tool >= tools)
      throw UsageError(fmt::format("--colours: machine '{}' has no tool {}; its last is {}",
                                   machine.name, tool, tools - 1));
    if (const auto fault = fault_of_colour(entry.substr(equals + 1)))
      throw UsageError(fmt::format("--colours: {}", *fault));
    colours.resize(std::max(colours.size(), tool + 1));
    if (!colours[tool].empty())
      throw UsageError(fmt::format("--colours: tool {} is given twice", tool));
    colours[tool] = entry.substr(equals + 1);
  }
  return colours;
}

namespace {

[[noreturn]] void refuse(const std::string& path, const Diagnostic& fault) {
  throw RunError(fault.line == 0
                     ? fault.message
                     : fmt::format("{}:{}:{}: {}", path, fault.line, fault.column, fault.message));
}

}  // namespace

std::vector<Material> load_materials_argument(const std::string& path) {
  if (path.empty())
    return {};
  MaterialsLoad load = load_materials(path);
  if (!load.ok())
    refuse(path, load.diagnostics.front());
  return std::move(load.materials);
}

std::optional<Prices> load_prices_argument(const std::string& path) {
  if (path.empty())
    return std::nullopt;
  const PricesLoad load = load_prices(path);
  if (!load.ok())
    refuse(path, load.diagnostics.front());
  return load.prices;
}

double parse_reserve(const std::string& text) {
  constexpr double kPercent = 0.01;
  const bool in_percent = text.ends_with('%');
  double share = 0.0;
  const bool reads =
      read_number(std::string_view(text).substr(0, text.size() - (in_percent ? 1 : 0)), share);
  share *= in_percent ? kPercent : 1.0;
  if (!reads || !(share >= 0.0 && share <= 1.0))
    throw UsageError(fmt::format("--reserve: '{}' is no share such as 5% or 0.05", text));
  return share;
}

std::pair<std::string, double> parse_limit(const std::string& text) {
  const std::size_t equals = text.rfind('=');
  double limit = 0.0;
  if (equals == std::string::npos || equals == 0 ||
      !read_number(std::string_view(text).substr(equals + 1), limit) || !std::isfinite(limit))
    throw UsageError(fmt::format("--limit: '{}' is not KEY=VALUE, such as purge_g=50", text));
  const std::string key = text.substr(0, equals);
  if (const auto fault = fault_of_limit(key))
    throw UsageError(fmt::format("--limit: {}", *fault));
  return {key, limit};
}

std::optional<Aim> parse_value(const std::string& word, bool has_prices) {
  if (word == "money" && !has_prices)
    throw UsageError("--value money needs --prices");
  return aim_named(word);
}

void require_key(const std::string& key) {
  if (const auto fault = fault_of_key(key))
    throw UsageError(fmt::format("--get: {}", *fault));
}

}  // namespace platetally::cli
