// Every key of a queue file: its default, its range, and where what it names is looked for.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <ostream>
#include <string>

#include "platetally/plan.hpp"
#include "support/temp_folder.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

class QueueKeys : public testing::Test {
 protected:
  QueueKeys() { put("tags.gcode", "G1 X1\n"); }
  void put(const std::string& name, const std::string& text) const {
    std::ofstream(folder_.path() / name) << text;
  }
  QueueLoad read(const std::string& machine_keys = "", const std::string& job_keys = "",
                 const std::string& keys = "") const {
    return parse_queue("start = \"2026-05-04 08:00\"\n" + keys +
                           "[[machines]]\nname = \"bench\"\nmachine = \"single-1\"\n"
                           "attended = [\"always\"]\n" +
                           machine_keys + "[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode\"\n" +
                           job_keys,
                       "week.toml", folder_.path().string());
  }
  static std::string first_fault(const QueueLoad& load) {
    return load.diagnostics.empty() ? "" : load.diagnostics.front().message;
  }

  test::TempFolder folder_;
};

TEST_F(QueueKeys, HaveTheirDefaults) {
  const QueueLoad load = read();
  ASSERT_TRUE(load.usable) << first_fault(load);
  const Queue& queue = load.queue;
  EXPECT_EQ(queue.path, "week.toml");
  EXPECT_EQ(moment_text(queue.start_s), "2026-05-04 08:00");
  EXPECT_FALSE(queue.power_limit_w);
  EXPECT_FALSE(queue.prices);
  EXPECT_FALSE(queue.late_per_h);
  EXPECT_EQ(queue.labour_per_h, 0.0);
  const QueueMachine& machine = queue.machines.at(0);
  EXPECT_EQ(machine.count, 1);
  EXPECT_TRUE(machine.unattended);
  EXPECT_TRUE(machine.loaded.empty());
  EXPECT_EQ(machine.spool_change_s, 300.0);
  EXPECT_EQ(machine.handling_s, 600.0);
  EXPECT_FALSE(machine.down_until_s);
  EXPECT_FALSE(machine.prices);
  EXPECT_EQ(machine.machine.name, "single-1");
  const QueueJob& job = queue.jobs.at(0);
  EXPECT_EQ(job.copies, 1);
  EXPECT_EQ(job.parts, 1);
  EXPECT_FALSE(job.due_s);
  EXPECT_EQ(job.machines, std::vector<std::size_t>{0});
  EXPECT_EQ(job.sliced_for, 0U);
  EXPECT_EQ(job.priority, 1.0);
  EXPECT_TRUE(job.colours.empty());
  EXPECT_EQ(job.most_parts, 0);
  EXPECT_EQ(job.path, (folder_.path() / "tags.gcode").string());
  EXPECT_EQ(job.line, 6U);
}

TEST_F(QueueKeys, AreTakenAsTheyStand) {
  const QueueLoad load = read(
      "count = 3\nunattended = false\nloaded = [\"green\"]\nspool_change_min = 2.5\n"
      "handling_min = 0\ndown_until = \"2026-05-05 10:00\"\n",
      "copies = 40\nparts = 4\ndue = \"2026-05-06T12:00\"\nsliced_for = \"bench\"\n"
      "priority = 2.5\ncolours = [\"green\", \"white\"]\nmost_parts = 20\n",
      "power_limit_w = 900\nlate_per_h = 2.5\nlabour_per_h = 20\n");
  ASSERT_TRUE(load.usable) << first_fault(load);
  EXPECT_TRUE(load.diagnostics.empty());
  EXPECT_EQ(load.queue.power_limit_w, 900.0);
  EXPECT_EQ(load.queue.late_per_h, 2.5);
  EXPECT_EQ(load.queue.labour_per_h, 20.0);
  const QueueMachine& machine = load.queue.machines.at(0);
  EXPECT_EQ(machine.count, 3);
  EXPECT_FALSE(machine.unattended);
  EXPECT_EQ(machine.loaded, std::vector<std::string>{"green"});
  EXPECT_EQ(machine.spool_change_s, 150.0);
  EXPECT_EQ(machine.handling_s, 0.0);
  EXPECT_EQ(moment_text(*machine.down_until_s), "2026-05-05 10:00");
  const QueueJob& job = load.queue.jobs.at(0);
  EXPECT_EQ(job.copies, 40);
  EXPECT_EQ(job.parts, 4);
  EXPECT_EQ(moment_text(*job.due_s), "2026-05-06 12:00");
  EXPECT_EQ(job.priority, 2.5);
  EXPECT_EQ(job.colours, (std::vector<std::string>{"green", "white"}));
  EXPECT_EQ(job.most_parts, 20);
}

struct Ranged {
  const char* name;
  char where;  ///< q: of the queue, m: of a machine, j: of a job
  const char* key;
  const char* good[2];
  const char* bad[2];
  friend void PrintTo(const Ranged& one, std::ostream* out) { *out << one.name; }
};

class QueueRanges : public QueueKeys, public testing::WithParamInterface<Ranged> {
 protected:
  QueueLoad with(const char* value) const {
    const std::string line = fmt::format("{} = {}\n", GetParam().key, value);
    return read(GetParam().where == 'm' ? line : "", GetParam().where == 'j' ? line : "",
                GetParam().where == 'q' ? line : "");
  }
};

TEST_P(QueueRanges, AreKeptAndNamedWhereTheyAreNot) {
  for (const char* good : GetParam().good)
    EXPECT_EQ(first_fault(with(good)), "") << good;
  for (const char* bad : GetParam().bad) {
    const QueueLoad load = with(bad);
    ASSERT_EQ(load.diagnostics.empty(), false) << bad;
    EXPECT_NE(first_fault(load).find(GetParam().key), std::string::npos) << first_fault(load);
    EXPECT_GT(load.diagnostics[0].line, 0U);
    EXPECT_FALSE(load.usable) << "the only job, or all of it";
  }
}

INSTANTIATE_TEST_SUITE_P(
    Of, QueueRanges,
    testing::Values(
        Ranged{"power_limit_w", 'q', "power_limit_w", {"1", "1000000"}, {"0.5", "1000001"}},
        Ranged{"late_per_h", 'q', "late_per_h", {"0", "1000000"}, {"-1", "1e7"}},
        Ranged{"labour_per_h", 'q', "labour_per_h", {"0", "1000000"}, {"-0.1", "\"5\""}},
        Ranged{"count", 'm', "count", {"1", "32"}, {"0", "33"}},
        Ranged{"whole_count", 'm', "count", {"2", "3"}, {"1.5", "\"2\""}},
        Ranged{"spool_change_min", 'm', "spool_change_min", {"0", "600"}, {"-1", "601"}},
        Ranged{"handling_min", 'm', "handling_min", {"0", "600"}, {"-1", "600.5"}},
        Ranged{"unattended", 'm', "unattended", {"true", "false"}, {"1", "\"no\""}},
        Ranged{"loaded", 'm', "loaded", {"[]", "[\"red\"]"}, {"\"red\"", "[1]"}},
        Ranged{"down_until",
               'm',
               "down_until",
               {"\"2026-05-05 10:00\"", "\"2020-01-01 00:00\""},
               {"\"tomorrow\"", "5"}},
        Ranged{"copies", 'j', "copies", {"1", "10000"}, {"0", "10001"}},
        Ranged{"parts", 'j', "parts", {"1", "10000"}, {"0", "-3"}},
        Ranged{"most_parts", 'j', "most_parts", {"1", "10000"}, {"0", "10001"}},
        Ranged{"priority", 'j', "priority", {"0.01", "100"}, {"0", "101"}},
        Ranged{"colours", 'j', "colours", {"[]", "[\"red\"]"}, {"\"red\"", "[true]"}},
        Ranged{"due",
               'j',
               "due",
               {"\"2026-05-05 10:00\"", "\"2027-05-05 10:00\""},
               {"\"soon\"", "2026"}}),
    [](const auto& one) { return std::string(one.param.name); });

TEST_F(QueueKeys, MachinesMayBeFilesBesideTheQueue) {
  put("mine.toml", machine_to_toml(load_machine("switcher-4").machine()));
  const auto with = [&](const char* machine) {
    return parse_queue(fmt::format("start = \"2026-05-04 08:00\"\n[[machines]]\nname = \"mine\"\n"
                                   "machine = \"{}\"\nattended = [\"always\"]\n"
                                   "[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode\"\n",
                                   machine),
                       "week.toml", folder_.path().string());
  };
  const QueueLoad load = with("mine.toml");
  ASSERT_TRUE(load.usable) << first_fault(load);
  EXPECT_EQ(load.queue.machines.at(0).machine.tools.size(), 4U);
  EXPECT_EQ(load.queue.machines[0].source, "mine.toml");
  EXPECT_TRUE(first_fault(with("none.toml")).starts_with("machine 'none.toml': "));
  EXPECT_TRUE(first_fault(with("switcher-5")).starts_with("machine 'switcher-5': "));
}

TEST_F(QueueKeys, PricesAreOfTheQueueOrOfAMachine) {
  put("prices.toml", "currency = \"EUR\"\nenergy_per_kwh = 0.3\n");
  put("own.toml", "currency = \"EUR\"\nenergy_per_kwh = 0.5\n");
  const QueueLoad load = read("prices = \"own.toml\"\n", "", "prices = \"prices.toml\"\n");
  ASSERT_TRUE(load.usable) << first_fault(load);
  EXPECT_EQ(load.queue.prices.value().energy_per_kwh, 0.3);
  EXPECT_EQ(load.queue.machines[0].prices.value().energy_per_kwh, 0.5);
}

TEST_F(QueueKeys, AFaultInAPricesFileIsSaidWithItsOwnLine) {
  put("prices.toml", "currency = \"EUR\"\nenergy_per_kwh = \"dear\"\n");
  const QueueLoad load = read("", "", "prices = \"prices.toml\"\n");
  EXPECT_FALSE(load.usable);
  ASSERT_FALSE(load.diagnostics.empty());
  EXPECT_EQ(load.diagnostics[0].code, "prices-file");
  EXPECT_TRUE(first_fault(load).starts_with("prices.toml:2: ")) << first_fault(load);
}

TEST_F(QueueKeys, MachinesOfAJobAreEachOnceAndInTheirOrder) {
  const QueueLoad load = parse_queue(
      "start = \"2026-05-04 08:00\"\n"
      "[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode\"\n"
      "machines = [\"b\", \"a\", \"b\"]\nsliced_for = \"b\"\n"
      "[[jobs]]\nname = \"more\"\nplate = \"tags.gcode\"\nmachines = [\"c\"]\n"
      "[[machines]]\nname = \"a\"\nmachine = \"single-1\"\nattended = [\"always\"]\n"
      "[[machines]]\nname = \"b\"\nmachine = \"single-1\"\nattended = [\"always\"]\n"
      "[[machines]]\nname = \"c\"\nmachine = \"single-1\"\nattended = [\"always\"]\n",
      "week.toml", folder_.path().string());
  ASSERT_TRUE(load.usable) << first_fault(load);
  EXPECT_EQ(load.queue.jobs[0].machines, (std::vector<std::size_t>{0, 1}));
  EXPECT_EQ(load.queue.jobs[0].sliced_for, 1U);
  EXPECT_EQ(load.queue.jobs[1].sliced_for, 2U) << "the first that may print it";
}

TEST_F(QueueKeys, ASliceForAMachineThatNobodyKnowsLeavesTheJobOut) {
  const QueueLoad load = read("", "sliced_for = \"bank\"\n");
  EXPECT_FALSE(load.usable);
  EXPECT_EQ(load.diagnostics.at(0).message,
            "job 'tags': no machine is called 'bank'; expected one like 'bench'; the job is left "
            "out");
  EXPECT_EQ(load.diagnostics.back().message, "no job can be planned");
}

TEST_F(QueueKeys, HoursMayBeSeveralAndEachIsJudged) {
  const QueueLoad load = parse_queue(
      "start = \"2026-05-04 08:00\"\n[[machines]]\nname = \"a\"\nmachine = \"single-1\"\n"
      "attended = [\"mon-fri 08:00-12:00\", \"noon\", \"sat 09:00-10:00\", 5]\n"
      "[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode\"\n",
      "week.toml", folder_.path().string());
  EXPECT_EQ(load.queue.machines.at(0).attended.size(), 6U);
  ASSERT_EQ(load.diagnostics.size(), 2U);
  EXPECT_EQ(load.diagnostics[0].code, "key-hours");
  EXPECT_FALSE(load.usable);
}

TEST_F(QueueKeys, JobsBeyondTwoThousandAreLeftOutAndSaidOnce) {
  std::string jobs;
  for (int i = 1; i < 2005; ++i)
    jobs += fmt::format("[[jobs]]\nname = \"job {}\"\nplate = \"tags.gcode\"\n", i);
  const QueueLoad load = read("", jobs);
  EXPECT_EQ(load.queue.jobs.size(), 2000U);
  ASSERT_EQ(load.diagnostics.size(), 1U);
  EXPECT_EQ(first_fault(load), "more than 2000 jobs; this one and those behind it are left out");
  EXPECT_TRUE(load.usable);
}

TEST_F(QueueKeys, AFileThatIsNoTomlOrNotThereIsSaid) {
  const QueueLoad gone = load_queue((folder_.path() / "none.toml").string());
  EXPECT_FALSE(gone.usable);
  ASSERT_EQ(gone.diagnostics.size(), 1U);
  const QueueLoad broken = parse_queue("start = \n", "week.toml", folder_.path().string());
  EXPECT_FALSE(broken.usable);
  ASSERT_EQ(broken.diagnostics.size(), 1U);
  EXPECT_EQ(broken.diagnostics[0].line, 1U);
  for (const char* text : {"", "\xff\xfe", "[[jobs]]", "jobs = 5\nmachines = 6\n"})
    EXPECT_FALSE(parse_queue(text, "week.toml", folder_.path().string()).usable) << text;
}

TEST_F(QueueKeys, PathsAreRelativeToTheFile) {
  put("week.toml",
      "start = \"2026-05-04 08:00\"\n[[machines]]\nname = \"a\"\nmachine = \"single-1\"\n"
      "attended = [\"always\"]\n[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode\"\n");
  const QueueLoad load = load_queue((folder_.path() / "week.toml").string());
  ASSERT_TRUE(load.usable) << first_fault(load);
  EXPECT_EQ(load.queue.jobs[0].path, (folder_.path() / "tags.gcode").string());
  EXPECT_EQ(load.queue.jobs[0].plate, "tags.gcode");
}

}  // namespace
}  // namespace platetally
