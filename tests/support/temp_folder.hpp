// A folder that goes with the test.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace platetally::test {

class TempFolder {
 public:
  TempFolder() {
    std::string name = testing::TempDir() + "/platetally-XXXXXX";
    if (::mkdtemp(name.data()) == nullptr)
      throw std::filesystem::filesystem_error("no temporary folder", name, {});
    path_ = name;
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;
  ~TempFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace platetally::test
