// plate-maker: sliced plates with known truth. See the usage text below.
#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <map>

#include "shapes.hpp"

namespace {

using plate_maker::Comments;
using plate_maker::Options;
using plate_maker::Order;
using plate_maker::Purge;

constexpr const char* kUsage =
    "usage: plate-maker KIND -o FILE [--truth FILE] [options]\n"
    "KIND: labels, lantern, block, ring\n"
    "numbers: --copies --layers --colours --layer-mm --x-mm --y-mm --size-mm --purge-mm3 --hop-mm\n"
    "         --retract-mm\n"
    "choices: --purge none|tower|chute|line  --order ascending|carry-over  --comments none|words\n"
    "switches: --absolute-e --spiral --waves --sequential --tower-ahead --firmware-retract\n"
    "          --select-twice --park-at-end --crlf --relative-hops\n";

[[noreturn]] void give_up(const std::string& message) {
  fmt::print(stderr, "plate-maker: {}\n{}", message, kUsage);
  std::exit(2);
}

double number(const std::string& text) {
  char* end = nullptr;
  const double value = std::strtod(text.c_str(), &end);
  if (text.empty() || *end != '\0')
    give_up("no number: " + text);
  return value;
}

template <typename T>
T choice(const std::map<std::string, T>& choices, const std::string& text) {
  const auto found = choices.find(text);
  if (found == choices.end())
    give_up("no such choice: " + text);
  return found->second;
}

struct Arguments {
  Options options;
  std::string out, truth;
};

Arguments parse(int count, char** words) {
  Arguments arguments;
  Options& o = arguments.options;
  if (count < 2)
    give_up("no kind");
  o.kind = words[1];
  if (o.kind != "labels" && o.kind != "lantern" && o.kind != "block" && o.kind != "ring")
    give_up("no such kind: " + o.kind);
  const std::map<std::string, std::function<void(const std::string&)>> valued = {
      {"-o", [&](const std::string& v) { arguments.out = v; }},
      {"--truth", [&](const std::string& v) { arguments.truth = v; }},
      {"--copies", [&](const std::string& v) { o.copies = static_cast<int>(number(v)); }},
      {"--layers", [&](const std::string& v) { o.layers = static_cast<int>(number(v)); }},
      {"--colours",
       [&](const std::string& v) {
         o.colours = std::min(plate_maker::kMostTools, static_cast<int>(number(v)));
       }},
      {"--layer-mm", [&](const std::string& v) { o.layer_mm = number(v); }},
      {"--x-mm", [&](const std::string& v) { o.origin_x_mm = number(v); }},
      {"--y-mm", [&](const std::string& v) { o.origin_y_mm = number(v); }},
      {"--size-mm", [&](const std::string& v) { o.size_mm = number(v); }},
      {"--purge-mm3", [&](const std::string& v) { o.purge_mm3 = number(v); }},
      {"--hop-mm", [&](const std::string& v) { o.hop_mm = number(v); }},
      {"--retract-mm", [&](const std::string& v) { o.retract_mm = number(v); }},
      {"--purge",
       [&](const std::string& v) {
         o.purge = choice<Purge>({{"none", Purge::none},
                                  {"tower", Purge::tower},
                                  {"chute", Purge::chute},
                                  {"line", Purge::line}},
                                 v);
       }},
      {"--order",
       [&](const std::string& v) {
         o.order =
             choice<Order>({{"ascending", Order::ascending}, {"carry-over", Order::carry_over}}, v);
       }},
      {"--comments", [&](const std::string& v) {
         o.comments = choice<Comments>({{"none", Comments::none}, {"words", Comments::words}}, v);
       }}};
  const std::map<std::string, bool*> switches = {{"--spiral", &o.spiral},
                                                 {"--waves", &o.waves},
                                                 {"--sequential", &o.sequential},
                                                 {"--tower-ahead", &o.tower_ahead},
                                                 {"--firmware-retract", &o.firmware_retract},
                                                 {"--select-twice", &o.select_twice},
                                                 {"--park-at-end", &o.park_at_end},
                                                 {"--crlf", &o.crlf},
                                                 {"--relative-hops", &o.relative_hops}};
  for (int i = 2; i < count; ++i) {
    const std::string word = words[i];
    if (const auto found = switches.find(word); found != switches.end()) {
      *found->second = true;
    } else if (word == "--absolute-e") {
      o.relative_e = false;
    } else if (const auto taker = valued.find(word); taker != valued.end() && i + 1 < count) {
      taker->second(words[++i]);
    } else {
      give_up("what is " + word + "?");
    }
  }
  if (arguments.out.empty())
    give_up("no -o FILE");
  return arguments;
}

void write_file(const std::string& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  if (!file.flush())
    give_up("cannot write " + path);
}

}  // namespace

int main(int count, char** words) {
  const Arguments arguments = parse(count, words);
  plate_maker::Writer writer(arguments.options);
  plate_maker::make_plate(arguments.options, writer);
  write_file(arguments.out, writer.text());
  if (!arguments.truth.empty())
    write_file(arguments.truth, plate_maker::to_json(writer.truth()));
  return 0;
}
