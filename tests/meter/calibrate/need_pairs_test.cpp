// Purge that was found by trial: how its lines are read, what is refused, and what is fitted.
#include <gtest/gtest.h>

#include <fmt/format.h>

#include <algorithm>
#include <ostream>

#include "material/swaps/pair_need.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

Machine coloured() {
  Machine machine = load_machine("switcher-4").machine();
  machine.tools[0].colour = "black";
  machine.tools[1].colour = "white";
  machine.tools[2].colour = "red";
  machine.tools[3].colour = "";
  return machine;
}

/// What this model needs for a change, in mm3.
double needed(const Machine& machine, const char* from, const char* to) {
  return swaps::need_mm3(*swaps::parse_colour(from), *swaps::parse_colour(to),
                         swaps::need_model_of(machine));
}

std::string trials(const Machine& truth) {
  std::string text = "from,to,mm3\n";
  for (const auto& [from, to] :
       {std::pair("black", "white"), {"white", "black"}, {"red", "white"}, {"black", "yellow"}})
    text += fmt::format("{},{},{:.6f}\n", from, to, needed(truth, from, to));
  return text;
}

TEST(NeedPairs, OfAMachineThatIsKnownGiveItsFiguresAgain) {
  Machine truth = coloured();
  truth.need.washout_mm3 = 81.0;
  truth.need.dead_mm3 = 200.0;
  const NeedCalibration report = calibrate_need(coloured(), trials(truth), "pairs.csv");
  EXPECT_NEAR(report.machine.need.washout_mm3, 81.0, 0.01);
  EXPECT_NEAR(report.machine.need.dead_mm3, 200.0, 0.01);
  EXPECT_EQ(report.before, coloured().need);
  ASSERT_EQ(report.pairs.size(), 4U);
  for (const MeasuredPair& pair : report.pairs) {
    EXPECT_NEAR(pair.after_mm3, pair.measured_mm3, 0.01) << pair.from << ' ' << pair.to;
    EXPECT_NEAR(pair.before_mm3, needed(coloured(), pair.from.c_str(), pair.to.c_str()), 1e-9);
  }
  EXPECT_TRUE(report.notes.empty());
  // Nothing but the need changes.
  Machine changed = report.machine;
  changed.need = coloured().need;
  EXPECT_EQ(changed, coloured());
}

TEST(NeedPairs, TheOrderOfTheLinesDoesNotMatter) {
  Machine truth = coloured();
  truth.need.washout_mm3 = 70.0;
  std::string text = trials(truth) + "red,black,150\n";
  const Need once = calibrate_need(coloured(), text, "p").machine.need;
  const Need again =
      calibrate_need(coloured(), "red,black,150\n" + trials(truth), "p").machine.need;
  EXPECT_NEAR(once.washout_mm3, again.washout_mm3, 1e-9);
  EXPECT_NEAR(once.dead_mm3, again.dead_mm3, 1e-9);
}

TEST(NeedPairs, ToolsStandForTheirColours) {
  Machine truth = coloured();
  truth.need.washout_mm3 = 90.0;
  const std::string by_name = trials(truth);
  std::string by_tool = by_name;
  for (const auto& [name, tool] : {std::pair("black", "T0"), {"white", "1"}, {"red", "T2"}})
    for (std::size_t at = by_tool.find(name); at != std::string::npos; at = by_tool.find(name))
      by_tool.replace(at, std::string(name).size(), tool);
  const NeedCalibration report = calibrate_need(coloured(), by_tool, "p");
  EXPECT_NEAR(report.machine.need.washout_mm3, 90.0, 0.01);
  EXPECT_EQ(report.pairs[0].from, "T0") << "as it was given";
}

TEST(NeedPairs, CommentsHeadingsBlanksAndSemicolonsAreUnderstood) {
  const std::string text =
      "# found by trial\r\n#\r\n\r\nfrom;to;mm3\r\n  black ; white ;  560 \r\n"
      "white;#1e1e20;190.5\r\n";
  const NeedCalibration report = calibrate_need(coloured(), text, "p");
  ASSERT_EQ(report.pairs.size(), 2U);
  EXPECT_EQ(report.pairs[0].measured_mm3, 560.0);
  EXPECT_EQ(report.pairs[1].to, "#1e1e20");
  EXPECT_EQ(report.pairs[1].measured_mm3, 190.5);
}

TEST(NeedPairs, AColourAtTheBeginningOfALineIsNoComment) {
  const NeedCalibration report =
      calibrate_need(coloured(), "#1e1e20,white,540\n# 1e1e20,white,1\nwhite,black,185\n", "p");
  ASSERT_EQ(report.pairs.size(), 2U);
  EXPECT_EQ(report.pairs[0].from, "#1e1e20");
}

TEST(NeedPairs, TwoAreMetExactlyWhichIsSaid) {
  const NeedCalibration report =
      calibrate_need(coloured(), "black,white,600\nwhite,black,200\n", "p");
  for (const MeasuredPair& pair : report.pairs)
    EXPECT_NEAR(pair.after_mm3, pair.measured_mm3, 1e-6);
  ASSERT_EQ(report.notes.size(), 1U);
  EXPECT_EQ(report.notes[0],
            "two pairs are met exactly, whatever they are off by; a third shows it");
}

TEST(NeedPairs, AHotEndOfHighFlowIsInWhatWasMeasured) {
  Machine machine = coloured();
  machine.need.high_flow = true;
  const NeedCalibration report = calibrate_need(machine, trials(coloured()), "p");
  EXPECT_FALSE(report.machine.need.high_flow);
  EXPECT_TRUE(report.before.high_flow);
  EXPECT_EQ(report.notes.at(0), "high_flow is off now: what was measured holds it already");
}

TEST(NeedPairs, SayWhatTheyWereMadeFrom) {
  const NeedCalibration report = calibrate_need(coloured(), trials(coloured()), "p");
  ASSERT_EQ(report.made_from.machines.size(), 1U);
  EXPECT_EQ(report.made_from.machines[0], used(coloured()));
  const NeedCalibration other = calibrate_need(coloured(), trials(coloured()) + "\n", "p");
  EXPECT_NE(report.made_from.options.at(0), other.made_from.options.at(0));
  EXPECT_EQ(report.made_from.options[0].first, "pairs");
}

TEST(NeedPairs, TheMachineFileKeepsThePairsInItsComments) {
  const NeedCalibration report = calibrate_need(coloured(), "black,white,600\nwhite,T0,200\n", "p");
  const std::string toml = to_toml(report, "2026-05-04");
  EXPECT_TRUE(
      toml.starts_with("# Need fitted on 2026-05-04 to changes that were judged clean:\n"
                       "#   black to white: measured 600 mm3, fitted 600 mm3\n"
                       "#   white to T0: measured 200 mm3, fitted 200 mm3\n"))
      << toml.substr(0, 300);
  const MachineLoad load = parse_machine(toml, "mine.toml");
  ASSERT_TRUE(load.ok());
  EXPECT_EQ(load.machine(), report.machine);
}

struct Fault {
  const char* name;
  const char* text;
  const char* says;
  friend void PrintTo(const Fault& one, std::ostream* out) { *out << one.name; }
};

class FaultyPairs : public testing::TestWithParam<Fault> {};

TEST_P(FaultyPairs, AreRefusedWithTheirLine) {
  try {
    calibrate_need(coloured(), GetParam().text, "pairs.csv");
    FAIL() << GetParam().text;
  } catch (const UnreadablePlate& error) {
    const std::string said = error.what();
    EXPECT_TRUE(said.starts_with("pairs.csv:")) << said;
    EXPECT_NE(said.find(GetParam().says), std::string::npos) << said;
    EXPECT_EQ(said.find('\n'), std::string::npos) << said;
  }
}

INSTANTIATE_TEST_SUITE_P(
    Of, FaultyPairs,
    testing::Values(
        Fault{"two_cells", "# trials\nblack,white\n",
              ":2: found 'black,white'; expected from,to,mm3, such as black,white,560"},
        Fault{"no_number", "black,white,much\n",
              ":1: found 'much'; expected mm3, above 0 and up to 100000"},
        Fault{"nothing_purged", "black,white,0\n", ":1: found '0'; expected mm3"},
        Fault{"less_than_nothing", "black,white,-5\n", ":1: found '-5'; expected mm3"},
        Fault{"no_end_of_purge", "black,white,inf\n", ":1: found 'inf'; expected mm3"},
        Fault{"not_a_number", "black,white,nan\n", ":1: found 'nan'; expected mm3"},
        Fault{"a_bucket", "black,white,100001\n", ":1: found '100001'"},
        Fault{"a_unit", "black,white,560mm3\n", ":1: found '560mm3'"},
        Fault{"an_empty_volume", "black,white,\n", ":1: found ''; expected mm3"},
        Fault{"another_cell", "black,white,560,clean\n", ":1: found '560,clean'"},
        Fault{"an_unknown_colour", "\nblakc,white,560\n", ":2: "},
        Fault{"a_tool_beyond_the_last", "T4,white,560\n",
              ":1: machine 'switcher-4' has no tool 4; its last is 3"},
        Fault{"a_tool_without_a_colour", "T3,white,560\n",
              ":1: the machine file gives tool 3 no colour; expected a colour"},
        Fault{"a_tool_without_a_number", "T,white,560\n", ", or a tool number"},
        Fault{"more_than_dilution", "black,white,600\nwhite,black,90\n",
              "pairs.csv: the measured volumes differ by more than dilution explains"},
        Fault{"one_direction", "black,white,600\nblack,white,580\n",
              "pairs.csv: the measured pairs need nearly the same dilution; measure one dark to "
              "light and one light to dark"},
        Fault{"nothing", "", "pairs.csv: "}, Fault{"one_pair", "black,white,560\n", "pairs.csv: "}),
    [](const auto& fault) { return std::string(fault.param.name); });

}  // namespace
}  // namespace platetally
