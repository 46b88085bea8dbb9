// Queue files: what is read, and one clear line for each fault.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "platetally/plan.hpp"

namespace platetally {
namespace {

const std::string kHead = "start = \"2026-05-04 08:00\"\n";
const std::string kMachine =
    "[[machines]]\nname = \"changer\"\nmachine = \"changer-5\"\n"
    "attended = [\"mon-fri 08:00-16:30\"]\n";
const std::string kJob = "[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode.gz\"\n";

QueueLoad read(const std::string& text) {
  return parse_queue(text, "queue.toml", std::string(PLATETALLY_TESTDATA) + "/demo");
}

/// The only fault, as "line: message".
std::string fault_of(const std::string& text) {
  const QueueLoad load = read(text);
  EXPECT_EQ(load.diagnostics.size(), 1U) << text;
  if (load.diagnostics.empty())
    return "";
  return std::to_string(load.diagnostics.front().line) + ": " + load.diagnostics.front().message;
}

TEST(QueueFile, TheDemoWeek) {
  const QueueLoad load = load_queue(std::string(PLATETALLY_TESTDATA) + "/demo/week.toml");
  ASSERT_TRUE(load.usable);
  EXPECT_TRUE(load.diagnostics.empty());
  const Queue& queue = load.queue;
  ASSERT_EQ(queue.machines.size(), 2U);
  EXPECT_EQ(queue.machines[1].count, 2);
  EXPECT_EQ(queue.machines[1].machine.tools.size(), 4U);
  EXPECT_DOUBLE_EQ(queue.machines[0].spool_change_s, 240.0);
  EXPECT_EQ(queue.machines[0].attended.size(), 5U);
  ASSERT_EQ(queue.jobs.size(), 5U);
  EXPECT_EQ(queue.jobs[0].machines, (std::vector<std::size_t>{0, 1}));
  EXPECT_EQ(queue.jobs[4].machines, (std::vector<std::size_t>{1}));
  EXPECT_EQ(queue.jobs[4].sliced_for, 1U);
  EXPECT_EQ(moment_text(*queue.jobs[0].due_s), "2026-05-05 12:00");
  ASSERT_TRUE(queue.prices.has_value());
  EXPECT_EQ(queue.prices->currency, "EUR");
}

TEST(QueueFile, WhatIsWrongWithAJobLeavesThatJobOut) {
  const struct {
    const char* job;
    const char* says;
  } cases[] = {{"[[jobs]]\nname = \"x\"\nplate = \"none.gcode\"\n",
                "9: job 'x': there is no plate 'none.gcode'; the job is left out"},
               {"[[jobs]]\nname = \"tags\"\nplate = \"tags.gcode.gz\"\n",
                "9: two jobs are called 'tags'; the second is left out"},
               {"[[jobs]]\nname = \"x\"\nplate = \"tags.gcode.gz\"\nmachines = [\"chnger\"]\n",
                "9: job 'x': no machine is called 'chnger'; expected one like 'changer'; the job "
                "is left out"},
               {"[[jobs]]\nname = \"x\"\nplate = \"tags.gcode.gz\"\ncopies = 0\n",
                "12: jobs.copies: found 0; expected 1 to 10000"},
               {"[[jobs]]\nname = \"x\"\nplate = \"tags.gcode.gz\"\ncopys = 2\n",
                "12: jobs.copys: no such key; expected one like 'copies'"},
               {"[[jobs]]\nname = \"x\"\nplate = \"tags.gcode.gz\"\ndue = \"friday\"\n",
                "12: jobs.due: found \"friday\"; expected a moment such as \"2026-05-04 07:30\""},
               {"[[jobs]]\nname = \"x\"\nplate = \"tags.gcode.gz\"\nparts = 4\nmost_parts = 2\n",
                "9: job 'x': most_parts is 2, but the plate as it is holds 4; the job is left out"},
               {"[[jobs]]\nname = \"x\"\n", "9: jobs.plate is missing; expected a sliced plate"}};
  for (const auto& one : cases) {
    const std::string text = kHead + kMachine + kJob + one.job;
    EXPECT_EQ(fault_of(text), one.says);
    const QueueLoad load = read(text);
    EXPECT_TRUE(load.usable);
    ASSERT_EQ(load.queue.jobs.size(), 1U);
    EXPECT_EQ(load.queue.jobs.front().name, "tags");
  }
}

TEST(QueueFile, ADateInThePastIsSaidAndPlanned) {
  const QueueLoad load = read(kHead + kMachine + kJob + "due = \"2026-05-01 12:00\"\n");
  ASSERT_EQ(load.diagnostics.size(), 1U);
  EXPECT_EQ(load.diagnostics.front().severity, Severity::warning);
  EXPECT_EQ(
      load.diagnostics.front().message,
      "job 'tags': it was due 2026-05-01 12:00, before the plan begins (2026-05-04 08:00); it "
      "is planned, and late");
  EXPECT_EQ(load.queue.jobs.size(), 1U);
}

TEST(QueueFile, WhatIsWrongWithTheRestLeavesNothingToPlan) {
  const struct {
    std::string text;
    const char* says;
  } cases[] = {
      {kMachine + kJob, "1: start is missing; expected the moment at which the plan begins"},
      {kHead + "late_per_hour = 2\n" + kMachine + kJob,
       "2: late_per_hour: no such key; expected one like 'late_per_h'"},
      {kHead + "[[machines]]\nname = \"a\"\nmachine = \"changer-5\"\n" + kJob,
       "2: machines.attended is missing; expected hours in which somebody is there: [\"mon-fri "
       "07:30-17:00\"]"},
      {kHead + "[[machines]]\nname = \"a\"\nmachine = \"changer-5\"\nattended = []\n" + kJob,
       "5: machines.attended: no hours: nobody is there to start a plate"},
      {kHead + "[[machines]]\nname = \"a\"\nmachine = \"changer-5\"\nattended = [\"monday\"]\n" +
           kJob,
       "5: machines.attended: found \"monday\"; expected \"mon-fri 07:30-17:00\", one day, or "
       "\"always\""},
      {kHead + kMachine + "loaded = [\"a\", \"b\", \"c\", \"d\", \"e\", \"f\"]\n" + kJob,
       "2: machine 'changer': loaded names 6 filaments; it holds 5"},
      {kHead + kMachine + kMachine + kJob, "6: two machines are called 'changer'"},
      {kHead + "prices = \"none.toml\"\n" + kMachine + kJob, nullptr},
      {kHead + kMachine, "1: jobs is missing; expected tables in double brackets"},
      {kHead + kJob, "1: machines is missing; expected tables in double brackets"}};
  for (const auto& one : cases) {
    const QueueLoad load = read(one.text);
    EXPECT_FALSE(load.usable) << one.text;
    if (one.says != nullptr) {
      EXPECT_EQ(fault_of(one.text), one.says);
    }
  }
}

}  // namespace
}  // namespace platetally
