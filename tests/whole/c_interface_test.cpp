// The C interface: what it says of a plate, and that every way to misuse it ends in a sentence.
#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "platetally/analyze.hpp"
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
      platetally::analyze_file(kLabels, platetally::load_machine("changer-5").machine);
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

TEST(CInterface, ListsAreJson) {
  const auto fields = nlohmann::json::parse(Text(platetally_fields()).get());
  EXPECT_EQ(fields.size(), platetally::list_fields().size());
  const auto machines = nlohmann::json::parse(Text(platetally_machines()).get());
  EXPECT_NE(std::find(machines.begin(), machines.end(), "switcher-4"), machines.end());
  EXPECT_EQ(nlohmann::json::parse(Text(platetally_schema()).get())["title"], "platetally.tally/1");
}

}  // namespace
