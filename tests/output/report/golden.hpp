// Compares text with a file of testdata/report, or rewrites it (tools/update-goldens).
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>

namespace platetally::test {

inline std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in) << path;
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

inline bool updates_goldens() {
  return std::getenv("PLATETALLY_UPDATE_GOLDENS") != nullptr;
}

inline void expect_golden(const std::string& text, const std::string& path) {
  if (updates_goldens())
    std::ofstream(path, std::ios::binary) << text;
  EXPECT_EQ(text, read_file(path)) << path << ": if this is wanted, run tools/update-goldens";
}

}  // namespace platetally::test
