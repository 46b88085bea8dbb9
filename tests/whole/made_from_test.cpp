// What reports say that they were made from.
#include "platetally/made_from.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>

#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"
#include "platetally/clock.hpp"
#include "platetally/compare.hpp"
#include "platetally/feed.hpp"
#include "platetally/order.hpp"
#include "platetally/payback.hpp"
#include "platetally/prices.hpp"
#include "platetally/report.hpp"

namespace platetally {
namespace {

const std::string kDemo = std::string(PLATETALLY_TESTDATA) + "/demo/";
const std::string kLabels = kDemo + "labels.gcode.gz";

AnalyzeOptions plain() {
  AnalyzeOptions options;
  options.findings = false;
  return options;
}

Machine changer() {
  return load_machine("changer-5").machine();
}

std::map<std::string, std::string> options_of(const MadeFrom& made) {
  return {made.options.begin(), made.options.end()};
}

TEST(MadeFrom, ATallyNamesPlateAndMachineByTheirHashes) {
  const MadeFrom made = analyze_file(kLabels, changer(), plain()).made_from;
  ASSERT_EQ(made.plates.size(), 1U);
  EXPECT_EQ(made.plates[0], (PlateUsed{kLabels, content_hash(kLabels).value()}));
  EXPECT_EQ(made.machines, (std::vector{MachineUsed{"changer-5", machine_hash(changer())}}));
  EXPECT_TRUE(made.options.empty());
  for (const int threads : {1, 2}) {
    AnalyzeOptions options = plain();
    options.threads = threads;
    EXPECT_EQ(analyze_file(kLabels, changer(), options).made_from, made);
  }
  std::ifstream file(kLabels, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  EXPECT_EQ(analyze_bytes(bytes, changer(), plain()).made_from.plates[0].hash, made.plates[0].hash);
}

TEST(MadeFrom, WhateverChangesFiguresIsThere) {
  const MadeFrom as_it_is = analyze_file(kLabels, changer(), plain()).made_from;
  const auto with = [&](const auto& change) {
    AnalyzeOptions options = plain();
    change(options);
    Machine machine = changer();
    const MadeFrom made = analyze_file(kLabels, machine, options).made_from;
    EXPECT_EQ(made.machines, as_it_is.machines) << "a variant is no other machine";
    return options_of(made);
  };
  using Options = std::map<std::string, std::string>;
  EXPECT_EQ(with([](auto& o) {
              o.tool_colours = {"black", "", "#f0c814"};
            }),
            (Options{{"colours", "0=black,2=#f0c814"}}));
  EXPECT_EQ(with([](auto& o) { o.start_bed_c = 41.5; }), (Options{{"start_bed_c", "41.5"}}));
  EXPECT_EQ(with([](auto& o) { o.partial = true; }), (Options{{"partial", "yes"}}));
  EXPECT_EQ(with([](auto& o) { o.variant.room_c = 18.25; }),
            (Options{{"variant", "room_c 18.25"}}));
  EXPECT_NE(with([](auto& o) { o.variant.shift_x_mm = 5.01; }),
            with([](auto& o) { o.variant.shift_x_mm = 5.02; }))
      << "describe() rounds both to 5.0";
  Material other = embedded_materials().front();
  other.density_g_cm3 += 0.01;
  const Options materials = with([&](auto& o) { o.materials = {other}; });
  EXPECT_EQ(materials.size(), 1U);
  other.source = "a scale";
  EXPECT_EQ(with([&](auto& o) { o.materials = {other}; }), materials);
  other.density_g_cm3 += 0.01;
  EXPECT_NE(with([&](auto& o) { o.materials = {other}; }), materials);
}

TEST(MadeFrom, PricesCopiesAndStart) {
  Account account = analyze_file(kLabels, changer(), plain());
  Prices prices = load_prices(kDemo + "prices.toml").prices;
  add_clock(account, parse_wall_time("2026-12-01T18:30").value(), nullptr);
  add_prices(account, prices, 3);
  const auto options = options_of(account.made_from);
  EXPECT_EQ(options.at("prices"), prices_hash(prices));
  EXPECT_EQ(options.at("copies"), "3");
  EXPECT_EQ(options.at("start"), "2026-12-01 18:30");
  const std::string hash = prices_hash(prices);
  prices.failure_per_h += 1e-9;
  EXPECT_NE(prices_hash(prices), hash);
  prices.failure_per_h -= 1e-9;
  prices.attended = AttendedHours{8.0, 18.0};
  EXPECT_NE(prices_hash(prices), hash);
}

TEST(MadeFrom, ReportsOfSeveralPlatesHoldAll) {
  const std::string lantern = kDemo + "lantern.gcode.gz";
  const Machine switcher = load_machine("switcher-4").machine();
  const std::vector<PlateUsed> plates{{kLabels, content_hash(kLabels).value()},
                                      {lantern, content_hash(lantern).value()}};
  const std::vector<MachineUsed> machines{used(changer()), used(switcher)};
  CompareOptions options;
  options.sliced_for = switcher;
  const MadeFrom compared =
      compare_plates({kLabels, lantern}, {changer(), switcher}, options).made_from;
  EXPECT_EQ(compared.plates, plates);
  EXPECT_EQ(compared.machines, machines);
  EXPECT_EQ(options_of(compared).at("sliced_for"), machine_hash(switcher));
  const MadeFrom payback = read_payback(kDemo + "payback.toml").made_from;
  EXPECT_EQ(payback.machines.size(), 2U);
  EXPECT_GE(payback.plates.size(), 2U);
  EXPECT_EQ(options_of(payback).at("payback_file"), content_hash(kDemo + "payback.toml"));
  OrderOptions order;
  order.objective = OrderObjective::swaps;
  order.precedence = {{0, 1}};
  const MadeFrom ordered =
      plan_order(analyze_file(kLabels, changer(), plain()), changer(), order).made_from;
  EXPECT_EQ(ordered.plates, std::vector{plates[0]});
  EXPECT_EQ(options_of(ordered).at("precedence"), "0<1");

  AuditOptions audited;
  audited.copies = 2;
  audited.prices = load_prices(kDemo + "prices.toml").prices;
  const auto json = nlohmann::json::parse(to_json(audit({kLabels, lantern}, changer(), audited)));
  const auto& made = json.at("made_from");
  EXPECT_TRUE(made.at("plates").empty()) << "the rows say it";
  std::map<std::string, std::string> hashes;
  for (const auto& row : json.at("rows"))
    hashes[row.at("path")] = row.at("content_hash");
  for (const PlateUsed& plate : plates)
    EXPECT_EQ(hashes[plate.path], plate.hash);
  EXPECT_EQ(made.at("options").at("prices"), prices_hash(*audited.prices));
}

TEST(PlateFeed, GivesTheAccountOfTheWholeAndPassesOnWhatProgressThrows) {
  const std::string text = [] {
    std::string lines = "G28\nM83\n";
    for (int i = 0; i < 20000; ++i)
      lines += "G1 X" + std::to_string(50 + i % 90) + " Y" + std::to_string(60 + i % 7) +
               " E0.1 F3000\n";
    return lines;
  }();
  const Account whole = analyze_bytes(text, changer(), plain());
  PlateFeed feed(changer(), plain());
  for (const char c : text)
    ASSERT_TRUE(feed.push({&c, 1}));
  const Account account = feed.finish();
  EXPECT_EQ(account.totals.time.expected, whole.totals.time.expected);
  EXPECT_EQ(account.made_from, [&] {
    MadeFrom made = whole.made_from;
    made.plates[0].path = "(stream)";
    return made;
  }());
  EXPECT_THROW(feed.finish(), std::logic_error);
  EXPECT_THROW(feed.push("G28"), std::logic_error);

  struct Enough {};
  AnalyzeOptions cancelled = plain();
  cancelled.on_progress = [](std::uint64_t) { throw Enough{}; };
  for (const int threads : {1, 2}) {
    cancelled.threads = threads;
    EXPECT_THROW(analyze_bytes(text, changer(), cancelled), Enough);
    PlateFeed refused(changer(), cancelled);
    refused.push(text);
    EXPECT_THROW(refused.finish(), Enough);
  }
  {
    PlateFeed dropped(changer(), plain());
    dropped.push(text);
  }  // ends, without an account
  PlateFeed nothing(changer(), plain());
  EXPECT_THROW(nothing.finish(), UnreadablePlate);
}

TEST(Supply, WhatItThrowsIsPassedOnEvenThroughAContainer) {
  std::ifstream file(kLabels, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  struct Torn {};
  std::size_t given = 0;
  const auto torn = [&](char* room, std::size_t size) {
    if (given > bytes.size() / 2)
      throw Torn{};
    const std::size_t count = std::min({size, std::size_t{100}, bytes.size() - given});
    std::copy_n(bytes.data() + given, count, room);
    given += count;
    return count;
  };
  EXPECT_THROW(analyze_supply(torn, changer(), plain()), Torn);
  EXPECT_THROW(analyze_supply([](char*, std::size_t size) { return size + 1; }, changer(), plain()),
               std::length_error);
}

}  // namespace
}  // namespace platetally
