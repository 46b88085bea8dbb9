// What real files do to a reader, trap by trap: the text, what is made of it, and what is said.
// Show: L layer, T tool, from -> to, e filament, f feed in mm/s; "! code line:column"; "? word that
// nothing is known of". `says` has to stand in the message or the help of the first diagnostic.
#include <gtest/gtest.h>

#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally::interpreter::test {
namespace {

struct Trap {
  const char* name;
  const char* text;
  const char* expected;
  const char* says = "";
};

const Trap kTraps[] = {
#include "traps.inc"
};

class Traps : public testing::TestWithParam<Trap> {};

TEST_P(Traps, AreReadAsStated) {
  const Trap& trap = GetParam();
  platetally::Machine three = machine(3);
  three.dialect.initial_extrusion = ExtrusionMode::detect;
  const auto result = test::run(trap.text, three);
  EXPECT_EQ(dump(result), trap.expected) << trap.text;
  if (*trap.says != '\0') {
    ASSERT_FALSE(result.diagnostics.empty());
    const Diagnostic& first = result.diagnostics.front();
    EXPECT_NE((first.message + first.help).find(trap.says), std::string::npos)
        << first.message << first.help;
  }
}

std::string name_of(const testing::TestParamInfo<Trap>& info) {
  return platetally::test::readable(info.param.name);
}

INSTANTIATE_TEST_SUITE_P(Files, Traps, testing::ValuesIn(kTraps), name_of);

}  // namespace
}  // namespace platetally::interpreter::test
