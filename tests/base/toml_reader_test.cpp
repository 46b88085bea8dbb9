// What a reader of keys accepts, and what it says of everything else.
#include "base/toml_reader.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "support/temp_folder.hpp"

namespace platetally::base {
namespace {

struct Values {
  double grams = 1.0;
  std::optional<double> price;
  std::string name = "none";
  std::optional<std::int64_t> tool;
  std::optional<bool> on;
  std::optional<Range> seconds;
  std::optional<std::size_t> shape;
  std::size_t rows = 0;
};

std::vector<Diagnostic> read(std::string_view text, Values& values) {
  std::vector<Diagnostic> faults;
  const auto root = parse_toml(text, "a.toml", "test", faults);
  if (!root)
    return faults;
  TomlReader reader(faults);
  using Path = std::string;
  reader.keys(*root, "",
              {reader.number_key("grams", 0, 10, values.grams),
               reader.number_key("price", 0, 10, values.price),
               reader.text_key("name", values.name, "a text"),
               {"tool", [&](const toml::node& v,
                            const Path& p) { values.tool = reader.whole_number(v, p, 0, 31); }},
               {"on", [&](const toml::node& v, const Path& p) { values.on = reader.flag(v, p); }},
               {"seconds",
                [&](const toml::node& v, const Path& p) { values.seconds = reader.range(v, p); }},
               {"shape",
                [&](const toml::node& v, const Path& p) {
                  values.shape = reader.choice(v, p, {"round", "flat"});
                }},
               {"rows", [&](const toml::node& v, const Path& p) {
                  values.rows = reader.tables(v, p).size();
                }}});
  return faults;
}

TEST(TomlReader, ReadsEveryKindOfValue) {
  Values values;
  EXPECT_TRUE(read("grams = 2\nprice = 2.5\nname = \"x\"\ntool = 3\non = true\nseconds = [1, 2, "
                   "4.5]\nshape = \"flat\"\n"
                   "[[rows]]\n[[rows]]\n",
                   values)
                  .empty());
  EXPECT_EQ(values.grams, 2.0);
  EXPECT_EQ(values.price, 2.5);
  EXPECT_EQ(values.name, "x");
  EXPECT_EQ(values.tool, 3);
  EXPECT_EQ(values.on, true);
  EXPECT_EQ(values.seconds, (Range{1.0, 2.0, 4.5}));
  EXPECT_EQ(values.shape, 1U);
  EXPECT_EQ(values.rows, 2U);
  EXPECT_TRUE(read("name = \"x\"\nseconds = 3", values).empty());
  EXPECT_EQ(values.seconds, Range::exactly(3.0));
}

TEST(TomlReader, EveryFaultHasItsPlaceAndWhatWasExpected) {
  struct Row {
    const char* text;
    const char* code;
    std::uint64_t line, column;
    const char* message;
  };
  for (const Row& row : {
           Row{"grams = 11\nname = \"\"", "key-range", 1, 9, "grams: found 11; expected 0 to 10"},
           Row{"grams = nan\nname = \"\"", "key-range", 1, 9, "grams: found nan; expected 0 to 10"},
           Row{"name = \"\"\ngrams = \"2\"", "key-type", 2, 9,
               "grams: found a text; expected a number"},
           Row{"name = 2", "key-type", 1, 8, "name: found a number; expected a text in quotes"},
           Row{"grams = 2\nprice = 1", "key-missing", 1, 1, "name is missing; expected a text"},
           Row{"name = \"\"\nprise = 1", "key-unknown", 2, 1,
               "prise: no such key; expected one like 'price'"},
           Row{"name = \"\"\ntool = 2.0", "key-type", 2, 8,
               "tool: found a number; expected a whole number"},
           Row{"name = \"\"\ntool = 32", "key-range", 2, 8, "tool: found 32; expected 0 to 31"},
           Row{"name = \"\"\non = 1", "key-type", 2, 6,
               "on: found a number; expected true or false"},
           Row{"name = \"\"\nseconds = [1, 2]", "key-type", 2, 11,
               "seconds: found an array; expected a number or [low, expected, high]"},
           Row{"name = \"\"\nseconds = [1, 2, \"3\"]", "key-type", 2, 11,
               "seconds: found an array; expected a number or [low, expected, high]"},
           Row{"name = \"\"\nshape = \"oval\"", "key-choice", 2, 9,
               "shape: found \"oval\"; expected one of \"round\", \"flat\""},
           Row{"name = \"\"\nshape = 1979-05-27", "key-choice", 2, 9,
               "shape: found a date or time; expected one of \"round\", \"flat\""},
           Row{"name = \"\"\nrows = 1", "key-type", 2, 8,
               "rows: found a number; expected tables in double brackets"},
           Row{"name = \"\"\nrows = [1]", "key-type", 2, 9,
               "rows: found a number; expected tables in double brackets"},
       }) {
    SCOPED_TRACE(row.text);
    Values values;
    const std::vector<Diagnostic> faults = read(row.text, values);
    ASSERT_EQ(faults.size(), 1U);
    EXPECT_EQ(faults[0].code, row.code);
    EXPECT_EQ(faults[0].line, row.line);
    EXPECT_EQ(faults[0].column, row.column);
    EXPECT_EQ(faults[0].message, row.message);
    EXPECT_EQ(faults[0].severity, Severity::error);
  }
}

TEST(TomlReader, AFaultLeavesTheValueAsItWas) {
  Values values;
  read("grams = 11\nname = 3", values);
  EXPECT_EQ(values.grams, 1.0);
  EXPECT_EQ(values.name, "none");
}

TEST(TomlReader, FaultsComeInTheOrderOfTheFile) {
  Values values;
  const std::vector<Diagnostic> faults =
      read("tool = 99\nname = 3\ngrams = 99\nbogus = 1\n", values);
  ASSERT_EQ(faults.size(), 4U);
  for (std::size_t i = 0; i < 4; ++i)
    EXPECT_EQ(faults[i].line, i + 1);
}

TEST(TomlReader, HostileTextIsRefused) {
  Values values;
  for (const std::string& text : {std::string(2 << 20, ' '), "a = " + std::string(100'000, '['),
                                  "a = " + std::string(40, '{'), std::string(40, '[') + "\n"}) {
    const std::vector<Diagnostic> faults = read(text, values);
    ASSERT_EQ(faults.size(), 1U);
    EXPECT_EQ(faults[0].code, "test-file-hostile");
  }
  EXPECT_EQ(read("a = \"open", values)[0].code, "toml-syntax");
}

TEST(LoadToml, AFileThatIsNotThereAndAFolderAreSaid) {
  const test::TempFolder temp;
  for (const std::string& path : {(temp.path() / "none.toml").string(), temp.path().string()}) {
    std::vector<Diagnostic> faults;
    EXPECT_FALSE(load_toml(path, "test", faults));
    ASSERT_EQ(faults.size(), 1U);
    EXPECT_EQ(faults[0].code, "file-unreadable");
    EXPECT_EQ(faults[0].message, path + ": cannot be read");
  }
  const std::string path = (temp.path() / "a.toml").string();
  std::ofstream(path) << "a = 1\n";
  std::vector<Diagnostic> faults;
  EXPECT_TRUE(load_toml(path, "test", faults));
}

}  // namespace
}  // namespace platetally::base
