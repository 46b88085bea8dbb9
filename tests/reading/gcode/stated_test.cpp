// What comments state of the plate: a comment, and a compact dump of what was understood.
#include "reading/gcode/stated.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gtest/gtest.h>

#include "support/test_names.hpp"

namespace platetally::gcode {
namespace {

std::string dump(std::string_view comment) {
  static constexpr const char* kNames[] = {"mm", "cm3", "g", "layers", "s"};
  std::string out;
  for (const Statement& statement : read_statements(comment)) {
    out += fmt::format("{}{} {:.6g}", out.empty() ? "" : "; ",
                       kNames[static_cast<std::size_t>(statement.quantity)],
                       fmt::join(statement.values, " "));
    if (statement.tool >= 0)
      out += fmt::format(" T{}", statement.tool);
    if (statement.is_total)
      out += " total";
  }
  return out;
}

struct Row {
  const char* comment;
  const char* says;
};

class Comments : public testing::TestWithParam<Row> {};

TEST_P(Comments, StateWhatTheyState) {
  EXPECT_EQ(dump(GetParam().comment), GetParam().says) << GetParam().comment;
}

std::string by_comment(const testing::TestParamInfo<Row>& info) {
  return platetally::test::numbered(info.index, info.param.comment);
}

INSTANTIATE_TEST_SUITE_P(
    Filament, Comments,
    testing::Values(Row{" filament length [mm] = 1234.5, 345.6", "mm 1234.5 345.6"},
                    Row{"filament used: 288.7 mm", "mm 288.7"},
                    Row{" Filament used: 3.78615m, 0.5m", "mm 3786.15 500"},
                    Row{" filament_weight_g=12.45", "g 12.45"},
                    Row{"total weight of filament [g] = 12,45", "g 12.45 total"},
                    Row{" filament used = 20486.5mm (61.6 g)", "mm 20486.5; g 61.6"},
                    Row{"FILAMENT USAGE: 2.97 cm3", "cm3 2.97"},
                    Row{"filament volume: 2970 mm^3", "cm3 2.97"},
                    Row{"Filament used 2.97cm\xC2\xB3", "cm3 2.97"},
                    Row{" total filament weight : 3.68", "g 3.68 total"},
                    Row{"filament length T1: 4 m", "mm 4000 T1"},
                    Row{"material used, tool 2: 0.1 kg", "g 100 T2"}, Row{"filament used", ""},
                    Row{"filament used: none", ""}, Row{"filament diameter = 1.75", ""},
                    Row{"filament cost: 1.2", ""}, Row{"filament used for purge: 12 mm", ""},
                    Row{"filament used: 12", ""}, Row{"filament change at layer 12", ""}),
    by_comment);

INSTANTIATE_TEST_SUITE_P(
    Layers, Comments,
    testing::Values(Row{"total layers: 88", "layers 88 total"},
                    Row{"COUNT_OF_LAYERS:240", "layers 240"},
                    Row{" total layer number: 193", "layers 193 total"},
                    Row{"number of layers = 16", "layers 16"}, Row{"layers: 5", "layers 5"},
                    Row{"layer count 7", "layers 7"}, Row{"LAYER:7", ""},
                    Row{"layer number: 5", ""}, Row{"layer height = 0.2", ""},
                    Row{"first layer height: 0.3", ""}, Row{"total layers: 12.5", ""},
                    Row{"top solid layers = 5", ""}, Row{"layer 12 of 88", ""}),
    by_comment);

INSTANTIATE_TEST_SUITE_P(
    Time, Comments,
    testing::Values(Row{"TIME:6903", "s 6903"}, Row{"estimated time: 53 min", "s 3180"},
                    Row{" estimated time of the print (by day) = 1d 2h 3m 4s", "s 93784"},
                    Row{"print time: 01:23:45", "s 5025"},
                    Row{"model printing time: 12m 3s; total estimated time: 18m 33s",
                        "s 723; s 1113 total"},
                    Row{"estimated build time 2.5 hours", "s 9000"}, Row{"TIME_ELAPSED:12.5", ""},
                    Row{"estimated first layer time: 3m", ""}, Row{"time", ""},
                    Row{"layer time: 12 s", ""}, Row{"remaining time: 5 min", ""}),
    by_comment);

INSTANTIATE_TEST_SUITE_P(Others, Comments,
                         testing::Values(Row{"", ""}, Row{"xxx used: 12 mm", ""},
                                         Row{"12345 67890", ""}, Row{"\xff\xfe filament", ""},
                                         Row{"filament used: 1e999 mm", ""}),
                         by_comment);

TEST(Comments, ManyValuesAreNoStatement) {
  std::string comment = "filament length [mm] = 1";
  for (int i = 0; i < 100; ++i)
    comment += ", 2";
  EXPECT_EQ(dump(comment), "");
}

}  // namespace
}  // namespace platetally::gcode
