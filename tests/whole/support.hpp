// Helpers of the whole-pipeline tests.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "platetally/analyze.hpp"
#include "platetally/machine.hpp"
#include "support/temp_folder.hpp"

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

/// The G-code that plate-maker writes for these arguments.
inline std::string made_plate(const std::string& arguments) {
  const TempFolder folder;
  const std::string path = (folder.path() / "plate.gcode").string();
  const std::string command =
      std::string("'") + PLATETALLY_PLATE_MAKER + "' " + arguments + " -o '" + path + "'";
  EXPECT_EQ(std::system(command.c_str()), 0) << command;
  return read_text(path);
}

/// Names of all plates of testdata/demo and testdata/plates, in order.
inline std::vector<std::string> plates_of_testdata() {
  std::vector<std::string> found;
  for (const char* folder : {"demo", "plates"})
    for (const auto& entry : std::filesystem::directory_iterator(testdata(folder)))
      if (entry.path().filename().string().find(".gcode") != std::string::npos)
        found.push_back(std::string(folder) + "/" + entry.path().filename().string());
  std::sort(found.begin(), found.end());
  return found;
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
