// The audit: the same whatever the threads, shares and history; nothing lost on the way from an
// account to a row.
#include "platetally/audit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <thread>

#include "platetally/account.hpp"
#include "platetally/watch.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

class Audit : public testing::Test {
 protected:
  void SetUp() override {
    options_.version = "test";
    options_.now_s = [this] { return now_s_; };
  }

  /// A plate in the folder that run() audits.
  void put(const std::string& name, const std::string& text) const {
    fs::create_directories((folder_ / "plates" / name).parent_path());
    std::ofstream(plate(name), std::ios::binary) << text;
  }
  std::string plate(const std::string& name) const { return place("plates/" + name); }
  std::string place(const std::string& name) const { return (folder_ / name).string(); }
  AuditReport run() { return audit({place("plates")}, machine_, options_); }
  std::string lines_of(AuditOptions options, const std::string& file) const {
    std::string lines;
    options.on_record = [&](std::string_view line) { lines += std::string(line) + '\n'; };
    audit({test::testdata("plates"), test::testdata("demo")}, machine_, options);
    if (!file.empty())
      std::ofstream(file) << lines;
    return lines;
  }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
  Machine machine_ = test::embedded("changer-5");
  AuditOptions options_;
  std::int64_t now_s_ = 1'800'000'000;
};

const std::string kPlate =
    "G90\nM83\nM104 S200\nG1 Z0.2 F600\nG1 X10 E1 F1200\nT1\nG1 X20 E2\nG1 Z0.4\nT0\nG1 X10 E1\n";

double total(const std::vector<double>& totals, std::string_view key) {
  const auto& keys = audit_keys();
  return totals[static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin())];
}

TEST_F(Audit, RowsHoldWhatTheAccountsHold) {
  const std::string path = test::testdata("demo/lantern.gcode.gz");
  const AuditReport report = audit({path}, machine_, options_);
  const Account account = analyze_file(path, machine_);
  ASSERT_EQ(report.rows.size(), 1U);
  const AuditRow& row = report.rows[0];
  for (std::size_t i = 0; i < audit_keys().size(); ++i) {
    const std::string text = *get_field(account, audit_keys()[i]);
    if (text == "null")
      EXPECT_TRUE(std::isnan(row.totals[i])) << audit_keys()[i];
    else
      EXPECT_EQ(row.totals[i], std::stod(text)) << audit_keys()[i];
  }
  double strip_g = 0.0;
  for (const double purge_g : row.purge_strip_g)
    strip_g += purge_g;
  EXPECT_NEAR(strip_g, account.totals.purge_g, 1e-9);
  EXPECT_EQ(row.findings.size(), account.findings.size());
}

TEST_F(Audit, TheSameLinesWhateverTheThreads) {
  options_.threads = 1;
  const std::string one = lines_of(options_, "");
  options_.threads = 4;
  EXPECT_EQ(one, lines_of(options_, ""));
  EXPECT_GT(std::ranges::count(one, '\n'), 30);
}

TEST_F(Audit, SharesMergeToTheBytesOfOneRun) {
  options_.limits = {{"purge_g", 1.0}, {"tools.1.part_g", 0.2}};
  const std::string whole = lines_of(options_, place("whole.jsonl"));
  std::vector<std::string> files;
  options_.shards = 3;
  for (options_.shard = 1; options_.shard <= 3; ++options_.shard) {
    files.push_back(place(fmt::format("share{}.jsonl", options_.shard)));
    lines_of(options_, files.back());
  }
  AuditOptions merging;
  std::string merged;
  merging.on_record = [&](std::string_view line) { merged += std::string(line) + '\n'; };
  const AuditReport report = merge_audits({files[2], files[0], files[1]}, merging);
  EXPECT_EQ(merged, whole);
  EXPECT_GT(report.exceeded, 0U);
  options_.shard = options_.shards = 1;
  const AuditReport single =
      audit({test::testdata("plates"), test::testdata("demo")}, machine_, options_);
  EXPECT_EQ(to_text(report), to_text(single));
  EXPECT_EQ(to_json(report), to_json(single));
  EXPECT_EQ(to_csv(report), to_csv(single));
  EXPECT_EQ(to_html(report), to_html(single));
}

TEST_F(Audit, MergingRefusesSharesThatAreMissingCutOffOrStrange) {
  const auto refusal = [](const std::vector<std::string>& files) {
    try {
      merge_audits(files, {});
    } catch (const std::runtime_error& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  options_.shards = 2;
  const std::string first = lines_of(options_, place("1.jsonl"));
  options_.shard = 2;
  lines_of(options_, place("2.jsonl"));
  EXPECT_NE(refusal({place("1.jsonl")}).find("missing: 2"), std::string::npos);
  EXPECT_NE(refusal({place("1.jsonl"), place("1.jsonl")}).find("earlier file"), std::string::npos);
  std::ofstream(place("cut.jsonl")) << first.substr(0, first.rfind("{\"type\": \"end\""));
  EXPECT_NE(refusal({place("cut.jsonl")}).find("run that share again"), std::string::npos);
  std::ofstream(place("odd.jsonl")) << "{\"type\": \"begin\"}\n";
  EXPECT_NE(refusal({place("odd.jsonl")}).find("odd.jsonl:1:"), std::string::npos);
  options_.version = "another";
  lines_of(options_, place("other.jsonl"));
  EXPECT_NE(refusal({place("1.jsonl"), place("other.jsonl")}).find("another machine"),
            std::string::npos);
  EXPECT_NE(refusal({place("none.jsonl")}).find("cannot be read"), std::string::npos);
}

TEST_F(Audit, ABadFileIsARowAndStopsNothing) {
  put("a.gcode", kPlate);
  put("b.gcode", "");
  put("c.gcode", std::string("\0\1\2", 3));
  put("sub/line\nend\xff.gcode", kPlate);
  const AuditReport report = run();
  EXPECT_EQ(report.plates, 2U);
  EXPECT_EQ(report.failed, 2U);
  ASSERT_EQ(report.rows.size(), 4U);
  EXPECT_FALSE(report.rows[2].error.empty());
  EXPECT_EQ(to_text(report).find("line\nend"), std::string::npos);
  EXPECT_NE(to_html(report).find("line end"), std::string::npos);
}

TEST_F(Audit, AFileThatGrowsWhileItIsReadIsAnError) {
  std::string text = kPlate;
  for (int i = 0; i < 100'000; ++i)
    text += fmt::format("G1 X{} E0.1\n", i % 2 == 0 ? 10 : 20);
  put("a.gcode", text);
  std::atomic<bool> stop = false;
  std::thread writer([&] {
    std::ofstream file(plate("a.gcode"), std::ios::app);
    while (!stop)
      file << "G4 P1\n" << std::flush;
  });
  const AuditReport report = run();
  stop = true;
  writer.join();
  ASSERT_EQ(report.rows.size(), 1U);
  EXPECT_NE(report.rows[0].error.find("changed while"), std::string::npos) << report.rows[0].error;
}

TEST_F(Audit, SortsByAnyKeyAndSums) {
  put("few.gcode", kPlate);
  put("many.gcode", kPlate + "T1\nG1 X20 E3\nT0\nG1 X0 E3\n");
  options_.sort = "tools.1.part_g";
  const AuditReport report = run();
  ASSERT_EQ(report.rows.size(), 2U);
  EXPECT_TRUE(report.rows[0].path.ends_with("many.gcode"));
  EXPECT_GT(*report.rows[0].sort_value, *report.rows[1].sort_value);
  EXPECT_NEAR(total(report.totals, "part_g"),
              total(report.rows[0].totals, "part_g") + total(report.rows[1].totals, "part_g"),
              1e-12);
  EXPECT_TRUE(std::isnan(total(report.totals, "mean_power_w")));
}

TEST_F(Audit, LimitsTakeAnyKeyLayersToo) {
  put("a.gcode", kPlate);
  const Account account = analyze_file(plate("a.gcode"), machine_);
  const double layer_g = account.layers.back().part_g;
  ASSERT_GT(layer_g, 0.0);
  const std::string key = fmt::format("layers.{}.part_g", account.layers.back().index);
  options_.limits = {{key, layer_g / 2.0}, {"swaps", 2.0}, {"swap_pairs.0.1.count", 0.0}};
  const AuditReport report = run();
  ASSERT_EQ(report.rows[0].breaches.size(), 2U);
  EXPECT_EQ(report.rows[0].breaches[0].key, key);
  EXPECT_EQ(report.rows[0].breaches[0].value, layer_g);
  EXPECT_EQ(report.exceeded, 1U);
}

TEST_F(Audit, TheHistorySparesReadingWhatHasNotChanged) {
  put("a.gcode", kPlate);
  put("b.gcode", kPlate + "G4 S10\n");
  options_.history = place("h.sqlite");
  const std::string first = to_json(run());
  AuditReport again = run();
  EXPECT_EQ(again.from_history, 2U);
  EXPECT_EQ(to_json(again), first);

  put("b.gcode", kPlate + "G4 S20\n");
  again = run();
  EXPECT_EQ(again.from_history, 1U);
  EXPECT_NE(to_json(again), first);

  fs::rename(plate("a.gcode"), plate("moved.gcode"));
  EXPECT_EQ(run().from_history, 2U) << "the content is known, wherever it lies";

  options_.version = "another";
  EXPECT_EQ(run().from_history, 0U);
  options_.version = "test";
  machine_.room_c += 1.0;
  EXPECT_EQ(run().from_history, 0U);
  machine_.room_c -= 1.0;
  EXPECT_EQ(run().from_history, 2U);
  Prices prices;
  prices.filament_per_kg = 20.0;
  options_.prices = prices;
  EXPECT_EQ(run().from_history, 0U);
}

TEST_F(Audit, ALimitOnALayerReadsAgainWhatTheHistoryLacks) {
  put("a.gcode", kPlate);
  options_.history = place("h.sqlite");
  run();
  options_.limits = {{"layers.1.part_g", 0.0}};
  AuditReport report = run();
  EXPECT_EQ(report.from_history, 0U);
  EXPECT_EQ(report.exceeded, 1U);
  report = run();
  EXPECT_EQ(report.from_history, 1U);
  EXPECT_EQ(report.exceeded, 1U);
}

TEST_F(Audit, TheHistoryTellsWeeks) {
  options_.history = place("h.sqlite");
  now_s_ = *parse_utc("2026-11-15T23:59:59");  // a Sunday
  put("a.gcode", kPlate);
  run();
  now_s_ = *parse_utc("2026-11-16");  // a Monday
  put("b.gcode", kPlate + "G4 S10\n");
  put("sub/c.gcode", kPlate + "G4 S20\n");
  run();
  HistoryReport report = read_history(options_.history, 0, {}, {});
  ASSERT_EQ(report.weeks.size(), 2U);
  EXPECT_EQ(report.weeks[0].monday, "2026-11-09");
  EXPECT_EQ(report.weeks[0].plates, 1U);
  EXPECT_EQ(report.weeks[1].monday, "2026-11-16");
  EXPECT_EQ(report.weeks[1].plates, 2U);
  EXPECT_EQ(report.weeks[1].swaps, 4U);
  EXPECT_EQ(read_history(options_.history, *parse_utc("2026-11-16"), {}, {}).audit.plates, 2U);
  EXPECT_EQ(read_history(options_.history, 0, {plate("sub")}, {}).audit.plates, 1U);
}

TEST(ParseUtc, TakesDatesAndRefusesOthers) {
  EXPECT_EQ(parse_utc("1970-01-02"), 86400);
  EXPECT_EQ(parse_utc("2026-11-25T15:17:12"), 1795619832);  // date -u -d ... +%s
  EXPECT_EQ(parse_utc("2026-11-25T15:17:12Z"), 1795619832);
  for (const char* text : {"", "2026-13-01", "2026-02-30", "2026-1-1", "2026-11-25T", "20261125",
                           "2026-11-25T24:00:00", "2026-11-25 15:17:12", "2026-11-25T15:17:12Zx"})
    EXPECT_FALSE(parse_utc(text)) << text;
}

TEST_F(Audit, AWatchGivesWhatIsCompleteOnceAndWhatChangesAgain) {
  FolderWatch watch({place("plates")}, {}, {}, 5.0);
  put("a.gcode", "G2");
  EXPECT_TRUE(watch.poll(0.0).empty());
  EXPECT_TRUE(watch.poll(4.0).empty());
  put("a.gcode", kPlate);  // still being written
  EXPECT_TRUE(watch.poll(6.0).empty());
  EXPECT_EQ(watch.poll(11.0), std::vector<std::string>{plate("a.gcode")});
  EXPECT_TRUE(watch.poll(20.0).empty());
  fs::rename(plate("a.gcode"), plate("b.gcode"));
  EXPECT_TRUE(watch.poll(21.0).empty());
  EXPECT_EQ(watch.poll(26.0), std::vector<std::string>{plate("b.gcode")});
  fs::remove(plate("b.gcode"));
  EXPECT_TRUE(watch.poll(40.0).empty());
  put("b.gcode", kPlate);
  EXPECT_TRUE(watch.poll(41.0).empty());
  EXPECT_EQ(watch.poll(46.0).size(), 1U);
}

}  // namespace
}  // namespace platetally
