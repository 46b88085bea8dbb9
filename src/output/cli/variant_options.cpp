#include "output/cli/variant_options.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <string_view>

#include "output/cli/commands.hpp"

namespace platetally::cli {

namespace {

constexpr const char* kGroup = "What if";

int tool_in(std::string_view text, const std::string& pair) {
  int tool = -1;
  const char* end = text.data() + text.size();
  const auto result = std::from_chars(text.data(), end, tool);
  if (text.empty() || result.ec != std::errc{} || result.ptr != end || tool < 0)
    throw UsageError(fmt::format("--merge: '{}' is not TOOL=TOOL, such as 2=1", pair));
  return tool;
}

std::pair<int, int> pair_in(const std::string& text) {
  const std::size_t equals = std::min(text.find('='), text.size());
  const std::string_view all = text;
  const int tool = tool_in(all.substr(0, equals), text);
  const int other = tool_in(all.substr(std::min(equals + 1, all.size())), text);
  if (tool == other)
    throw UsageError(fmt::format("--merge: '{}' names one tool twice", text));
  return {tool, other};
}

}  // namespace

void add_variant(Command command, VariantArguments& arguments, const char* merge) {
  command
      .option("--repeat", arguments.repeat,
              "the plate's parts so many times on it, with the swaps of one")
      .between(1, 1000)
      .takes("N")
      .in_group(kGroup);
  command
      .option(merge, arguments.merge,
              "2=1: what tool 2 prints is printed by tool 1; may be repeated")
      .takes("TOOL=TOOL")
      .one_value_each_time()
      .in_group(kGroup);
  command.flag("--drop-tower", arguments.drop_tower, "without its prime tower").in_group(kGroup);
  command.option("--standby", arguments.standby_c, "temperature of heads that wait")
      .between(0.0, 400.0)
      .takes("DEGC")
      .in_group(kGroup);
  command
      .option("--room-c", arguments.room_c,
              "temperature of the room, instead of the machine file's")
      .between(-20.0, 50.0)
      .takes("DEGC")
      .in_group(kGroup);
}

Variant variant_of(const VariantArguments& arguments) {
  Variant variant;
  variant.repeat = arguments.repeat;
  for (const std::string& pair : arguments.merge)
    variant.merge.push_back(pair_in(pair));
  variant.drop_tower = arguments.drop_tower;
  variant.standby_c = arguments.standby_c;
  variant.room_c = arguments.room_c;
  return variant;
}

}  // namespace platetally::cli
