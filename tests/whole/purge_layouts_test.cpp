// Purge found from motion alone, on 23 synthetic plates by another generator than ours, with known
// truth (testdata/checks/purge_layouts).
#include <cmath>

#include "platetally/account.hpp"
#include "support.hpp"

namespace platetally {
namespace {

constexpr double kPlaGPerMm3 = 1.24e-3;

Machine plain_machine() {
  Machine machine = test::embedded("changer-5");
  machine.area = {0, 256, 0, 256, 256};  // the plates lay lines at x = -12, outside of it
  return machine;
}

Account tally(const std::string& layout) {
  return analyze_file(test::testdata("checks/purge_layouts/" + layout + ".gcode.gz"),
                      plain_machine());
}

TEST(PurgeLayouts, VerdictAndVolume) {
  const auto layouts = test::read_json(test::testdata("checks/purge_layouts.json"))["layouts"];
  ASSERT_EQ(layouts.size(), 23U);
  double found_g = 0.0;
  double true_g = 0.0;
  for (const auto& [name, truth] : layouts.items()) {
    SCOPED_TRACE(name);
    const Account account = tally(name);
    EXPECT_EQ(account.totals.swaps, truth["swaps"].get<std::uint64_t>());
    const double truth_g = truth["true_purge_mm3"].get<double>() * kPlaGPerMm3;
    // Every tool keeps to a stripe of its own: this may be called a tower or left undecided.
    if (name != "tower_fixed_stripe") {
      EXPECT_EQ(account.tower.verdict == "tower", truth["tower"].get<bool>()) << account.tower.why;
    }
    // Priming below the bound of a cubic millimetre is the only thing that may differ.
    EXPECT_NEAR(account.totals.purge_g, truth_g, 0.01 * truth_g + 1e-9);
    found_g += account.totals.purge_g;
    true_g += truth_g;
  }
  EXPECT_GT(true_g, 100.0);
  EXPECT_NEAR(found_g, true_g, 0.01 * true_g);
}

TEST(PurgeLayouts, AWasteAreaSettlesWhatMotionCannot) {
  Machine machine = plain_machine();
  machine.waste_areas.push_back({"tower", 195, 245, 180, 245});
  const Account account =
      analyze_file(test::testdata("checks/purge_layouts/tower_fixed_stripe.gcode.gz"), machine);
  const auto truth =
      test::read_json(test::testdata("checks/purge_layouts.json"))["layouts"]["tower_fixed_stripe"];
  const double truth_g = truth["true_purge_mm3"].get<double>() * kPlaGPerMm3;
  EXPECT_NEAR(account.totals.purge_g, truth_g, 0.01 * truth_g);
}

}  // namespace
}  // namespace platetally
