// The C interface: what it says of a plate, and that every way to misuse it ends in a sentence.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <fstream>
#include <iterator>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"
#include "platetally/compare.hpp"
#include "platetally/order.hpp"
#include "platetally/platetally.h"
#include "platetally/report.hpp"

namespace {

const std::string kLabels = std::string(PLATETALLY_TESTDATA) + "/demo/labels.gcode.gz";

struct Freed {
  void operator()(char* text) const { platetally_free_text(text); }
  void operator()(platetally_account* account) const { platetally_free_account(account); }
};
using Text = std::unique_ptr<char, Freed>;
using Account = std::unique_ptr<platetally_account, Freed>;

Account labels(const char* machine = "changer-5", const platetally_options* options = nullptr) {
  char* why = nullptr;
  Account account(platetally_tally(kLabels.c_str(), machine, options, &why));
  EXPECT_EQ(why, nullptr) << why;
  platetally_free_text(why);
  return account;
}

std::string refusal(const char* path, const char* machine, const platetally_options* options) {
  char* why = nullptr;
  const Account account(platetally_tally(path, machine, options, &why));
  const Text reason(why);
  EXPECT_EQ(account, nullptr);
  return reason ? reason.get() : "";
}

TEST(CInterface, SaysWhatTheLibrarySays) {
  const Account account = labels();
  ASSERT_NE(account, nullptr);
  const platetally::Account wanted =
      platetally::analyze_file(kLabels, platetally::load_machine("changer-5").machine());
  EXPECT_EQ(Text(platetally_json(account.get())).get(), platetally::to_json(wanted));
  EXPECT_EQ(Text(platetally_text(account.get())).get(), platetally::to_text(wanted));
  double energy_wh = 0.0;
  ASSERT_EQ(platetally_number(account.get(), "totals.energy_wh", &energy_wh), 1);
  EXPECT_EQ(energy_wh, wanted.totals.energy_wh);
  EXPECT_STREQ(Text(platetally_value(account.get(), "machine.name")).get(), "changer-5");
  ASSERT_EQ(platetally_rows(account.get(), "layers"), wanted.layers.size());
  std::vector<double> purge_g(wanted.layers.size());
  ASSERT_EQ(platetally_column(account.get(), "layers.purge_g", purge_g.data(), purge_g.size()),
            purge_g.size());
  for (std::size_t i = 0; i < purge_g.size(); ++i)
    EXPECT_EQ(purge_g[i], wanted.layers[i].purge_g);
}

TEST(CInterface, ColumnsKeepWithinTheRoomAndSayWhatIsNotKnown) {
  const Account account = labels();
  double two[3] = {-1.0, -1.0, -1.0};
  EXPECT_GT(platetally_column(account.get(), "layers.index", two, 2), 2U);
  EXPECT_EQ(two[1], 1.0);
  EXPECT_EQ(two[2], -1.0);
  double needed_g = 0.0;
  const Account uncoloured = labels("switcher-4");
  ASSERT_GT(platetally_column(uncoloured.get(), "swap_pairs.needed_g", &needed_g, 1), 0U);
  EXPECT_TRUE(std::isnan(needed_g));
  for (const char* key : {"layers.order", "layers.nothing", "layers", "totals.energy_wh", "", "."})
    EXPECT_EQ(platetally_column(account.get(), key, two, 2), 0U) << key;
  EXPECT_EQ(platetally_rows(account.get(), "no such section"), 0U);
}

TEST(CInterface, ValuesThatAreNotThere) {
  const Account account = labels();
  double number = 7.0;
  for (const char* key : {"totals.energy", "tools.99.part_g", "machine.name", "totals.cost", ""})
    EXPECT_EQ(platetally_number(account.get(), key, &number), 0) << key;
  EXPECT_EQ(number, 7.0);
  EXPECT_EQ(platetally_value(account.get(), "tools.99.part_g"), nullptr);
}

TEST(CInterface, Options) {
  const std::string prices = std::string(PLATETALLY_TESTDATA) + "/demo/prices.toml";
  const char* const colours[] = {"white", nullptr, "black"};
  platetally_options options{};
  options.size = sizeof(options);
  options.prices = prices.c_str();
  options.colours = colours;
  options.colour_count = 3;
  options.copies = 2;
  options.threads = 1;
  const Account account = labels("changer-5", &options);
  double cost = 0.0, per_part = 0.0;
  ASSERT_EQ(platetally_number(account.get(), "totals.cost", &cost), 1);
  ASSERT_EQ(platetally_number(account.get(), "totals.cost_per_good_part", &per_part), 1);
  EXPECT_EQ(cost, 2.0 * per_part);
  EXPECT_STREQ(Text(platetally_value(account.get(), "tools.0.colour")).get(), "white");
}

TEST(CInterface, EveryFaultIsASentence) {
  platetally_options options{};
  EXPECT_NE(refusal(kLabels.c_str(), "changer-5", &options).find("sizeof"), std::string::npos);
  options.size = sizeof(options);
  EXPECT_NE(refusal(nullptr, "changer-5", nullptr).find("no plate"), std::string::npos);
  EXPECT_NE(refusal(kLabels.c_str(), nullptr, nullptr).find("no machine"), std::string::npos);
  EXPECT_NE(refusal(kLabels.c_str(), "no-such", nullptr).find("changer-5"), std::string::npos);
  EXPECT_EQ(refusal("/nowhere", "changer-5", nullptr).rfind("/nowhere: ", 0), 0U);
  options.prices = "/nowhere.toml";
  EXPECT_NE(refusal(kLabels.c_str(), "changer-5", &options).find("/nowhere.toml"),
            std::string::npos);
  options.prices = nullptr;
  options.member = "tray.gcode";
  EXPECT_NE(refusal(kLabels.c_str(), "changer-5", &options).find("tray.gcode"), std::string::npos);
  EXPECT_EQ(platetally_tally(nullptr, nullptr, nullptr, nullptr), nullptr);
  char* why = nullptr;
  EXPECT_EQ(platetally_tally_bytes(nullptr, 5, "changer-5", nullptr, &why), nullptr);
  EXPECT_STREQ(Text(why).get(), "no bytes were given");
  EXPECT_EQ(platetally_tally_bytes("", 0, "changer-5", nullptr, &why), nullptr);
  EXPECT_STREQ(Text(why).get(), "the file is empty");
  EXPECT_EQ(platetally_history("/nowhere.sqlite", "2026-01-01", &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("no such history"), std::string::npos);
  EXPECT_EQ(platetally_history("/nowhere.sqlite", "soon", &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("is no date"), std::string::npos);
}

TEST(CInterface, NullForWhatIsNeededIsRefusedInEveryPlace) {
  const Account account = labels();
  const char* const path = kLabels.c_str();
  const char* const machine = "changer-5";
  EXPECT_EQ(platetally_json(nullptr), nullptr);
  EXPECT_EQ(platetally_text(nullptr), nullptr);
  EXPECT_EQ(platetally_value(nullptr, "totals.swaps"), nullptr);
  EXPECT_EQ(platetally_value(account.get(), nullptr), nullptr);
  double number = 7.0;
  EXPECT_EQ(platetally_number(nullptr, "totals.swaps", &number), 0);
  EXPECT_EQ(platetally_number(account.get(), nullptr, &number), 0);
  EXPECT_EQ(platetally_number(account.get(), "totals.swaps", nullptr), 0);
  EXPECT_EQ(number, 7.0);
  EXPECT_EQ(platetally_rows(nullptr, "layers"), 0U);
  EXPECT_EQ(platetally_rows(account.get(), nullptr), 0U);
  EXPECT_EQ(platetally_column(nullptr, "layers.purge_g", &number, 1), 0U);
  EXPECT_EQ(platetally_column(account.get(), nullptr, &number, 1), 0U);
  EXPECT_EQ(platetally_column(account.get(), "layers.purge_g", nullptr, 1), 0U);
  EXPECT_GT(platetally_column(account.get(), "layers.purge_g", nullptr, 0), 0U);
  platetally_free_account(nullptr);
  platetally_free_text(nullptr);
  platetally_drop(nullptr);

  // Each call that can fail: nothing comes back, and a sentence says why.
  const auto refused = [](const auto& call) {
    char* why = nullptr;
    EXPECT_FALSE(call(&why));
    EXPECT_FALSE(call(nullptr));
    const Text reason(why);
    return std::string(reason ? reason.get() : "");
  };
  const char* const nothing[] = {nullptr};
  const char* const plates[] = {path};
  const char* const machines[] = {machine};
  const char* const keys[] = {"purge_g"};
  const double highest[] = {1.0};
  const std::vector<std::string> reasons{
      refused([&](char** e) { return platetally_tally(nullptr, machine, nullptr, e); }),
      refused([&](char** e) { return platetally_tally(path, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_tally_bytes(nullptr, 5, machine, nullptr, e); }),
      refused([&](char** e) { return platetally_tally_bytes("G1", 2, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_begin(nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_push(nullptr, "G1", 2, e); }),
      refused([&](char** e) { return platetally_finish(nullptr, e); }),
      refused([&](char** e) { return platetally_limits(nullptr, keys, highest, 1, e); }),
      refused([&](char** e) { return platetally_limits(account.get(), nullptr, highest, 1, e); }),
      refused([&](char** e) { return platetally_limits(account.get(), nothing, highest, 1, e); }),
      refused([&](char** e) { return platetally_limits(account.get(), keys, nullptr, 1, e); }),
      refused([&](char** e) { return platetally_order(nullptr, machine, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_order(path, nullptr, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(nullptr, 1, machines, 1, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(nothing, 1, machines, 1, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(plates, 0, machines, 1, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(plates, 1, nullptr, 1, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(plates, 1, nothing, 1, nullptr, e); }),
      refused([&](char** e) { return platetally_compare(plates, 1, machines, 0, nullptr, e); }),
      refused([&](char** e) { return platetally_audit(nullptr, 1, machine, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_audit(nothing, 1, machine, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_audit(plates, 1, nullptr, nullptr, nullptr, e); }),
      refused([&](char** e) { return platetally_history(nullptr, "2026-01-01", e); }),
      refused([&](char** e) { return platetally_history("kept.sqlite", nullptr, e); })};
  for (std::size_t i = 0; i < reasons.size(); ++i)
    EXPECT_EQ(reasons[i].rfind("no ", 0), 0U) << i << ": " << reasons[i];

  const Text feedless([&] {
    char* why = nullptr;
    platetally_feed* const feed = platetally_begin(machine, nullptr, &why);
    EXPECT_EQ(platetally_push(feed, nullptr, 3, &why), 0);
    platetally_drop(feed);
    return why;
  }());
  EXPECT_STREQ(feedless.get(), "no bytes were given");
}

TEST(CInterface, OptionsWithNullForListsAreRefused) {
  const char* const plates[] = {kLabels.c_str()};
  platetally_options options{};
  options.size = sizeof(options);
  options.colour_count = 2;
  EXPECT_EQ(refusal(kLabels.c_str(), "changer-5", &options),
            "no colours, though their count is not 0");
  const auto refuses = [&](const auto& set, const char* expected) {
    platetally_audit_options audit{};
    audit.size = sizeof(audit);
    set(audit);
    char* why = nullptr;
    EXPECT_EQ(platetally_audit(plates, 1, "changer-5", nullptr, &audit, &why), nullptr);
    const Text reason(why);
    EXPECT_NE(std::string(reason.get()).find(expected), std::string::npos) << reason.get();
  };
  static const char* const kKeys[] = {"purge_g"};
  static const char* const kWrong[] = {"purge_grams"};
  static const double kHighest[] = {1.0};
  refuses([](auto& audit) { audit.include_count = 1; }, "no pattern to include");
  refuses([](auto& audit) { audit.exclude_count = 1; }, "no pattern to exclude");
  refuses([](auto& audit) { audit.limit_count = 1; }, "no highest values");
  refuses([](auto& audit) { audit.limits = kKeys, audit.limit_count = 1; }, "no highest values");
  refuses([](auto& audit) { audit.highest = kHighest, audit.limit_count = 1; }, "no limit's key");
  refuses(
      [](auto& audit) { audit.limits = kWrong, audit.highest = kHighest, audit.limit_count = 1; },
      "purge_g");
  refuses([](auto& audit) { audit.history = "kept.sqlite"; }, "now_s");
  refuses([](auto& audit) { audit.size = 8; }, "sizeof(platetally_audit_options)");
  platetally_order_options order{};
  order.size = sizeof(order);
  order.before_count = 1;
  char* why = nullptr;
  EXPECT_EQ(platetally_order(plates[0], "changer-5", nullptr, &order, &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("no pairs of tools"), std::string::npos);
}

TEST(CInterface, BytesInPiecesAreTheSamePlate) {
  std::ifstream file(kLabels, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  const Account whole(
      platetally_tally_bytes(bytes.data(), bytes.size(), "changer-5", nullptr, nullptr));
  ASSERT_NE(whole, nullptr);
  auto wanted = nlohmann::json::parse(Text(platetally_json(whole.get())).get());
  for (const std::size_t piece : {std::size_t{1}, std::size_t{4097}, bytes.size()}) {
    platetally_feed* const feed = platetally_begin("changer-5", nullptr, nullptr);
    ASSERT_NE(feed, nullptr);
    for (std::size_t at = 0; at < bytes.size(); at += piece)
      ASSERT_EQ(
          platetally_push(feed, bytes.data() + at, std::min(piece, bytes.size() - at), nullptr), 1);
    char* why = nullptr;
    const Account account(platetally_finish(feed, &why));
    ASSERT_NE(account, nullptr) << why;
    auto said = nlohmann::json::parse(Text(platetally_json(account.get())).get());
    EXPECT_EQ(said["made_from"]["plates"][0]["hash"], wanted["made_from"]["plates"][0]["hash"]);
    for (auto* json : {&said, &wanted})
      for (const char* key : {"job", "made_from"})
        json->erase(key);
    EXPECT_EQ(said, wanted) << piece;
    wanted = nlohmann::json::parse(Text(platetally_json(whole.get())).get());
  }
}

TEST(CInterface, WhatIsNoPlateEndsTheFeedWithItsReason) {
  platetally_feed* const feed = platetally_begin("changer-5", nullptr, nullptr);
  const std::string broken = std::string("\x1f\x8b\x08\x00", 4) + std::string(300, 'x');
  const std::string more(1 << 20, 'x');
  bool goes_on = platetally_push(feed, broken.data(), broken.size(), nullptr) == 1;
  for (int i = 0; i < 100 && goes_on; ++i)
    goes_on = platetally_push(feed, more.data(), more.size(), nullptr) == 1;
  EXPECT_FALSE(goes_on) << "100 MiB were taken behind what is no container";
  char* why = nullptr;
  EXPECT_EQ(platetally_finish(feed, &why), nullptr);
  EXPECT_NE(Text(why), nullptr);
}

TEST(CInterface, ProgressIsToldAndCancels) {
  platetally_options options{};
  options.size = sizeof(options);
  unsigned long long most = 0;
  options.progress_user = &most;
  options.progress = [](void* user, unsigned long long bytes) {
    auto& highest = *static_cast<unsigned long long*>(user);
    highest = std::max(highest, bytes);
    return 0;
  };
  for (const int threads : {1, 2}) {
    options.threads = threads;
    most = 0;
    const Account account = labels("changer-5", &options);
    double bytes = 0.0;
    ASSERT_EQ(platetally_number(account.get(), "job.bytes", &bytes), 1);
    EXPECT_EQ(static_cast<double>(most), bytes);
  }
  options.progress = [](void*, unsigned long long) { return 1; };
  for (const int threads : {1, 2}) {
    options.threads = threads;
    EXPECT_NE(refusal(kLabels.c_str(), "changer-5", &options).find("cancelled"), std::string::npos);
  }
  const char* const plates[] = {kLabels.c_str()};
  const char* const machines[] = {"changer-5", "switcher-4"};
  char* why = nullptr;
  EXPECT_EQ(platetally_order(plates[0], "changer-5", &options, nullptr, &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("cancelled"), std::string::npos);
  EXPECT_EQ(platetally_compare(plates, 1, machines, 2, &options, &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("cancelled"), std::string::npos);
  EXPECT_EQ(platetally_audit(plates, 1, "changer-5", &options, nullptr, &why), nullptr);
  EXPECT_NE(std::string(Text(why).get()).find("cancelled"), std::string::npos);
}

TEST(CInterface, OptionsOfAnOlderCallerAreTaken) {
  platetally_options options{};
  options.size = offsetof(platetally_options, progress);
  options.progress = [](void*, unsigned long long) {
    return 1;
  };  // what lies behind is not looked at
  options.threads = 1;
  EXPECT_NE(labels("changer-5", &options), nullptr);
}

TEST(CInterface, LimitsSayWhatIsOverAndWhatCannotBeChecked) {
  const Account account = labels();
  const char* const keys[] = {"purge_g", "cost", "swaps"};
  const double highest[] = {0.1, 5.0, 100.0};
  const auto json = nlohmann::json::parse(
      Text(platetally_limits(account.get(), keys, highest, 3, nullptr)).get());
  EXPECT_EQ(json["passes"], false);
  ASSERT_EQ(json["over"].size(), 1U);
  EXPECT_EQ(json["over"][0]["key"], "purge_g");
  EXPECT_EQ(json["over"][0]["limit"], 0.1);
  EXPECT_EQ(json["not_checked"].size(), 1U);
  EXPECT_EQ(nlohmann::json::parse(
                Text(platetally_limits(account.get(), keys + 2, highest + 2, 1, nullptr))
                    .get())["passes"],
            true);
}

TEST(CInterface, ReportsAreThoseOfTheLibrary) {
  const std::string lantern = std::string(PLATETALLY_TESTDATA) + "/demo/lantern.gcode.gz";
  const platetally::Machine changer = platetally::load_machine("changer-5").machine();
  const platetally::Machine switcher = platetally::load_machine("switcher-4").machine();
  platetally::AnalyzeOptions plain;
  plain.findings = false;
  EXPECT_EQ(Text(platetally_order(kLabels.c_str(), "switcher-4", nullptr, nullptr, nullptr)).get(),
            platetally::to_json(platetally::plan_usual_order(
                platetally::analyze_file(kLabels, switcher, plain), switcher)));
  platetally_order_options order{};
  order.size = sizeof(order);
  order.by = "seconds";
  const int first = 1;
  order.first = &first;
  platetally::OrderOptions asked;
  asked.objective = platetally::OrderObjective::seconds;
  asked.first = 1;
  EXPECT_EQ(Text(platetally_order(kLabels.c_str(), "switcher-4", nullptr, &order, nullptr)).get(),
            platetally::to_json(platetally::plan_order(
                platetally::analyze_file(kLabels, switcher, plain), switcher, asked)));
  const char* const plates[] = {kLabels.c_str(), lantern.c_str()};
  const char* const machines[] = {"changer-5", "switcher-4"};
  EXPECT_EQ(
      Text(platetally_compare(plates, 2, machines, 2, nullptr, nullptr)).get(),
      platetally::to_json(platetally::compare_plates({kLabels, lantern}, {changer, switcher}, {})));
  const char* const limits[] = {"purge_g"};
  const double highest[] = {5.0};
  platetally_audit_options options{};
  options.size = sizeof(options);
  options.limits = limits;
  options.highest = highest;
  options.limit_count = 1;
  platetally::AuditOptions wanted;
  wanted.limits = {{"purge_g", 5.0}};
  wanted.version = platetally::kVersion;
  EXPECT_EQ(Text(platetally_audit(plates, 2, "changer-5", nullptr, &options, nullptr)).get(),
            platetally::to_json(platetally::audit({kLabels, lantern}, changer, wanted)));
}

TEST(CInterface, TheVersionIsThatOfTheBuild) {
  EXPECT_STREQ(platetally_version(), PLATETALLY_VERSION_OF_BUILD);
  EXPECT_STREQ(PLATETALLY_VERSION, PLATETALLY_VERSION_OF_BUILD);
  EXPECT_EQ(std::to_string(PLATETALLY_VERSION_MAJOR) + "." +
                std::to_string(PLATETALLY_VERSION_MINOR) + "." +
                std::to_string(PLATETALLY_VERSION_PATCH),
            PLATETALLY_VERSION);
  EXPECT_EQ(platetally::kVersion, PLATETALLY_VERSION);
}

TEST(CInterface, ListsAreJson) {
  const auto fields = nlohmann::json::parse(Text(platetally_fields()).get());
  EXPECT_EQ(fields.size(), platetally::list_fields().size());
  const auto machines = nlohmann::json::parse(Text(platetally_machines()).get());
  EXPECT_NE(std::find(machines.begin(), machines.end(), "switcher-4"), machines.end());
  EXPECT_EQ(nlohmann::json::parse(Text(platetally_schema()).get())["title"], "platetally.tally/1");
}

}  // namespace
