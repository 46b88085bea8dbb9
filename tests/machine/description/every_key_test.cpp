// Every key of a machine file, by the table that it stands in: what it takes, what it refuses, and
// where the refusal points.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "machine/description/keys.hpp"
#include "platetally/machine.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

using machine::Key;

struct Table {
  std::string name;  ///< "motion"; empty: the top
  bool is_list = false;
};

std::vector<Key> keys_of(const Table& table) {
  std::vector<Key> all = machine::machine_keys();
  for (const auto& more : {machine::head_keys(0), machine::tool_keys(0),
                           machine::waste_area_keys(0), machine::swap_pair_keys(0)})
    all.insert(all.end(), more.begin(), more.end());
  std::vector<Key> keys;
  for (const Key& key : all)
    if (key.table == table.name)
      keys.push_back(key);
  return keys;
}

/// What a list's entry needs beside the key that is looked at.
std::string beside(const Table& table, const std::string& key) {
  if (table.name == "waste_areas")
    return (key == "x_max_mm" || key == "x_min_mm" ? "" : "x_min_mm = 1\nx_max_mm = 2\n") +
           std::string(key == "y_max_mm" || key == "y_min_mm" ? ""
                                                              : "y_min_mm = 1\ny_max_mm = 2\n");
  if (table.name == "swap_pairs")
    return "[[tools]]\n[[tools]]\n";
  return "";
}

/// A machine file in which the key stands in line 2, its value in the column behind "NAME = ".
std::string file_with(const Table& table, const std::string& key, const std::string& value) {
  const std::string head = table.name.empty() ? "# ours"
                           : table.is_list    ? "[[" + table.name + "]]"
                                              : "[" + table.name + "]";
  return fmt::format("{}\n{} = {}\n{}", head, key, value, beside(table, key));
}

std::string path_of(const Table& table, const Key& key, const char* index = "") {
  return table.name.empty() ? key.name : table.name + index + "." + key.name;
}

/// Of line 2, at the value of that key, of this code.
const Diagnostic* at_value(const MachineLoad& load, const Key& key, const std::string& code) {
  for (const Diagnostic& one : load.diagnostics)
    if (one.code == code && one.line == 2 && one.column == key.name.size() + 4)
      return &one;
  return nullptr;
}

std::string said(const MachineLoad& load) {
  std::string all;
  for (const Diagnostic& one : load.diagnostics)
    all += fmt::format("{}:{}: {}: {}\n", one.line, one.column, one.code, one.message);
  return all.empty() ? "nothing" : all;
}

class EveryKey : public testing::TestWithParam<Table> {};

TEST_P(EveryKey, RefusesWhatIsOfAnotherKind) {
  const struct {
    const char* value;
    const char* kind;
  } values[] = {{"\"moss\"", "a text"}, {"7", "a number"},        {"true", "true or false"},
                {"[1, 2]", "an array"}, {"{ a = 1 }", "a table"}, {"2024-05-01", "a date or time"}};
  for (const Key& key : keys_of(GetParam())) {
    const bool is_choice = std::holds_alternative<machine::ChoiceAt>(key.value);
    for (const auto& [value, kind] : values) {
      const std::string_view kind_found = kind;
      const bool is_number = kind_found == "a number";
      if (is_number && !is_choice && !std::holds_alternative<machine::FlagAt>(key.value) &&
          !std::holds_alternative<machine::TextAt>(key.value))
        continue;
      if (kind_found == "a text" &&
          (is_choice || std::holds_alternative<machine::TextAt>(key.value)))
        continue;
      if (kind_found == "true or false" &&
          (is_choice || std::holds_alternative<machine::FlagAt>(key.value)))
        continue;
      SCOPED_TRACE(path_of(GetParam(), key) + " = " + value);
      const MachineLoad load = parse_machine(file_with(GetParam(), key.name, value), "ours.toml");
      EXPECT_FALSE(load.ok());
      const Diagnostic* fault = at_value(load, key, is_choice ? "key-choice" : "key-type");
      ASSERT_NE(fault, nullptr) << said(load);
      EXPECT_TRUE(fault->message.starts_with(
          fmt::format("{}: found {}; expected ", path_of(GetParam(), key), kind)))
          << fault->message;
    }
  }
}

TEST_P(EveryKey, SaysTheRangeOfWhatLiesOutsideIt) {
  for (const Key& key : keys_of(GetParam())) {
    const bool is_number = std::holds_alternative<machine::NumberAt>(key.value);
    const bool is_integer = std::holds_alternative<machine::IntegerAt>(key.value);
    const bool is_range = std::holds_alternative<machine::RangeAt>(key.value);
    if (!is_number && !is_integer && !is_range)
      continue;
    const double step = is_integer ? 1.0 : 0.01 * (key.high - key.low);
    std::vector<std::string> values = {fmt::format("{}", key.low - step),
                                       fmt::format("{}", key.high + step)};
    if (!is_integer)
      values.insert(values.end(), {"inf", "-inf", "nan"});
    for (const std::string& value : values) {
      SCOPED_TRACE(path_of(GetParam(), key) + " = " + value);
      const MachineLoad load = parse_machine(file_with(GetParam(), key.name, value), "ours.toml");
      EXPECT_FALSE(load.ok());
      const Diagnostic* fault = at_value(load, key, "key-range");
      ASSERT_NE(fault, nullptr) << said(load);
      EXPECT_EQ(fault->message,
                fmt::format("{}: found {}; expected {} to {}{}{}",
                            path_of(GetParam(), key, GetParam().is_list ? "[0]" : ""), value,
                            key.low, key.high, key.unit.empty() ? "" : " ", key.unit));
    }
  }
}

TEST_P(EveryKey, TakesBothEndsOfItsRange) {
  for (const Key& key : keys_of(GetParam())) {
    if (!std::holds_alternative<machine::NumberAt>(key.value) &&
        !std::holds_alternative<machine::IntegerAt>(key.value))
      continue;
    for (const double value : {key.low, key.high}) {
      const std::string path = path_of(GetParam(), key);
      SCOPED_TRACE(fmt::format("{} = {}", path, value));
      const MachineLoad load =
          parse_machine(file_with(GetParam(), key.name, fmt::format("{}", value)), "ours.toml");
      EXPECT_EQ(at_value(load, key, "key-range"), nullptr) << said(load);
      EXPECT_EQ(at_value(load, key, "key-type"), nullptr) << said(load);
    }
  }
}

TEST_P(EveryKey, WithALetterTooManyIsNamedAsItShouldBe) {
  for (const Key& key : keys_of(GetParam())) {
    SCOPED_TRACE(path_of(GetParam(), key));
    const MachineLoad load = parse_machine(file_with(GetParam(), key.name + "q", "1"), "ours.toml");
    ASSERT_FALSE(load.ok());
    const Diagnostic& fault = load.diagnostics.front();
    EXPECT_EQ(fault.code, "key-unknown");
    EXPECT_EQ(fault.line, 2U);
    EXPECT_EQ(fault.column, 1U);
    EXPECT_EQ(fault.message, fmt::format("{}q: no such key; expected one like '{}'",
                                         path_of(GetParam(), key), key.name));
  }
}

TEST_P(EveryKey, StandsInItsTableOnce) {
  for (const Key& key : keys_of(GetParam())) {
    SCOPED_TRACE(path_of(GetParam(), key));
    const std::string once = file_with(GetParam(), key.name, "1");
    const std::string twice =
        once.substr(0, once.find('\n', once.find('\n') + 1) + 1) + key.name + " = 1\n";
    const MachineLoad load = parse_machine(twice, "ours.toml");
    ASSERT_EQ(load.diagnostics.size(), 1U) << said(load);
    EXPECT_EQ(load.diagnostics[0].code, "toml-syntax");
    EXPECT_EQ(load.diagnostics[0].line, 3U);
    EXPECT_FALSE(load.ok());
  }
}

TEST_P(EveryKey, IsOfNoOtherTable) {
  const std::string elsewhere = GetParam().name == "bed" ? "area" : "bed";
  std::vector<std::string> there;
  for (const Key& key : keys_of({elsewhere}))
    there.push_back(key.name);
  for (const Key& key : keys_of(GetParam())) {
    if (std::find(there.begin(), there.end(), key.name) != there.end())
      continue;
    SCOPED_TRACE(key.name);
    const MachineLoad load =
        parse_machine(fmt::format("[{}]\n{} = 1\n", elsewhere, key.name), "ours.toml");
    ASSERT_FALSE(load.ok());
    EXPECT_EQ(load.diagnostics.front().code, "key-unknown");
    EXPECT_EQ(load.diagnostics.front().line, 2U);
  }
}

TEST_P(EveryKey, ChangesNothingButItself) {
  const Table& table = GetParam();
  const std::string bare = table.name.empty() ? "# ours\n"
                           : table.is_list    ? "[[" + table.name + "]]\n" + beside(table, "")
                                              : "[" + table.name + "]\n";
  Machine before = std::move(parse_machine(bare, "ours.toml")).machine();
  const std::vector<Key> keys = keys_of(table);
  for (const Key& key : keys) {
    const auto* number = std::get_if<machine::NumberAt>(&key.value);
    if (number == nullptr)
      continue;
    SCOPED_TRACE(path_of(table, key));
    const double was = number->at(before);
    const double value = was < key.high ? std::min(was + 0.01 * (key.high - key.low), key.high)
                                        : was - 0.01 * (key.high - key.low);
    std::string text = bare;
    const std::size_t line = text.find(key.name + " = ");
    if (line != std::string::npos)
      text.erase(line, text.find('\n', line) + 1 - line);
    text.insert(text.find('\n') + 1, fmt::format("{} = {}\n", key.name, value));
    MachineLoad load = parse_machine(text, "ours.toml");
    Machine after = machine::as_read(load);
    EXPECT_EQ(number->at(after), value);
    number->at(after) = was;
    EXPECT_EQ(after, before);
  }
}

INSTANTIATE_TEST_SUITE_P(Of, EveryKey,
                         testing::Values(Table{""}, Table{"area"}, Table{"motion"}, Table{"bed"},
                                         Table{"enclosure"}, Table{"supply"}, Table{"swap"},
                                         Table{"need"}, Table{"procedures"}, Table{"dialect"},
                                         Table{"heads", true}, Table{"tools", true},
                                         Table{"waste_areas", true}, Table{"swap_pairs", true}),
                         [](const auto& table) {
                           return table.param.name.empty() ? std::string("top")
                                                           : test::readable(table.param.name);
                         });

TEST(EveryTable, IsLookedAtAbove) {
  std::vector<std::string> tables = machine::table_order();
  EXPECT_EQ(tables.size(), 10U);
  for (const std::string& name : tables)
    EXPECT_FALSE(keys_of({name}).empty()) << name;
  for (const Key& key : machine::machine_keys())
    EXPECT_NE(std::find(tables.begin(), tables.end(), key.table), tables.end()) << key.name;
}

}  // namespace
}  // namespace platetally
