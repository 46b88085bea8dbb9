// Faults in a description (a machine, materials, prices): the first diagnostic names code, line and
// what was expected.
#pragma once

#include <gtest/gtest.h>

#include <cstdint>
#include <span>
#include <string_view>

namespace platetally::test {

struct Fault {
  const char* text;  ///< of the description
  const char* code;
  std::uint64_t line;  ///< 0: of no line
  const char* says;    ///< a piece of the message
};

/// `parse`: from a text and the name of its file to what was loaded.
template <typename Parse>
void expect_faults(std::span<const Fault> faults, const Parse& parse) {
  for (const Fault& fault : faults) {
    SCOPED_TRACE(fault.text);
    const auto load = parse(fault.text, "ours.toml");
    ASSERT_FALSE(load.ok());
    const auto& found = load.diagnostics.front();
    EXPECT_EQ(found.code, fault.code);
    EXPECT_EQ(found.line, fault.line);
    EXPECT_NE(found.message.find(fault.says), std::string_view::npos) << found.message;
  }
}

}  // namespace platetally::test
