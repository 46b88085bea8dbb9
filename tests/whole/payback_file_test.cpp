// Payback files whose plates are folders.
#include "platetally/payback.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>

#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

class PaybackFile : public testing::Test {
 protected:
  void SetUp() override {
    fs::create_directories(folder_ / "plates/deep");
    fs::copy(test::testdata("plates/tower.gcode.gz"), folder_ / "plates/a.gcode.gz");
    fs::copy(test::testdata("plates/chute.gcode.gz"), folder_ / "plates/deep/b.gcode.gz");
  }

  PaybackInput read(const std::string& plates) const {
    const std::string file = (folder_ / "year.toml").string();
    std::ofstream(file) << "[first]\nmachine = \"switcher-4\"\nprice = 900\n[second]\n"
                           "machine = \"changer-5\"\nprice = 2000\n"
                        << plates;
    return read_payback(file);
  }
  static std::string plate(const std::string& path, double weekly) {
    return fmt::format("[[plates]]\npath = \"{}\"\nweekly = {}\n", path, weekly);
  }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
};

TEST_F(PaybackFile, AFolderIsItsPlatesEachAsOften) {
  const PaybackReport whole = plan_payback(read(plate("plates", 10)));
  const PaybackReport parts =
      plan_payback(read(plate("plates/a.gcode.gz", 5) + plate("plates/deep/b.gcode.gz", 5)));
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_GT(whole.year[i].hours_needed, 0.0);
    EXPECT_NEAR(whole.year[i].hours_needed, parts.year[i].hours_needed, 1e-9);
    EXPECT_NEAR(whole.year[i].waste_kg, parts.year[i].waste_kg, 1e-12);
    EXPECT_NEAR(whole.year[i].energy_kwh, parts.year[i].energy_kwh, 1e-9);
  }
}

TEST_F(PaybackFile, ABadPlateOfAFolderIsSaidAndLeftOut) {
  std::ofstream(folder_ / "plates/c.gcode") << "";
  const PaybackInput input = read(plate("plates", 10));
  EXPECT_EQ(input.plates[0].name, "plates (2 plates, each as often)");
  ASSERT_FALSE(input.notes.empty());
  EXPECT_NE(input.notes.back().find("c.gcode: the file is empty"), std::string::npos);
  fs::create_directories(folder_ / "none");
  EXPECT_THROW(read(plate("none", 1)), std::invalid_argument);
}

}  // namespace
}  // namespace platetally
