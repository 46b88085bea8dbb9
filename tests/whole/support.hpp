// Helpers of the whole-pipeline tests.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "platetally/analyze.hpp"
#include "platetally/machine.hpp"

namespace platetally::test {

inline Machine embedded(const std::string& name) {
  const MachineLoad load = load_machine(name);
  EXPECT_TRUE(load.ok()) << name;
  return load.machine();
}

inline std::string testdata(const std::string& name) {
  return std::string(PLATETALLY_TESTDATA) + "/" + name;
}

/// A real sliced file that is not part of the project; empty when it is not at hand.
inline std::string shared_plate(const std::string& name) {
  const std::string path = std::string(PLATETALLY_SHARED) + "/plates/" + name;
  return std::filesystem::exists(path) ? path : std::string();
}

inline std::string read_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in) << path;
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

inline nlohmann::json read_json(const std::string& path) {
  return nlohmann::json::parse(read_text(path));
}

inline const Diagnostic* find_diagnostic(const Account& account, const std::string& code) {
  for (const Diagnostic& diagnostic : account.diagnostics)
    if (diagnostic.code == code)
      return &diagnostic;
  return nullptr;
}

}  // namespace platetally::test
