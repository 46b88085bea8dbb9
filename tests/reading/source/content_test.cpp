// What a file is: state and hash.
#include "reading/source/content.hpp"
#include "base/hash.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "support/temp_folder.hpp"

namespace platetally::source {
namespace {

TEST(Content, HashesWhatAFileHolds) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "plate").string();
  std::ofstream(path) << "G28\n";
  EXPECT_EQ(hash_of_file(path), base::hash_of_text("G28\n"));
  EXPECT_NE(base::hash_of_text("G28\n"), base::hash_of_text("G28"));
  // XXH3, 128 bits, of nothing: from the published test vectors of xxHash, from memory.
  EXPECT_EQ(base::hash_of_text(""), "99aa06d3014798d86001c324468d497f");
  EXPECT_FALSE(hash_of_file((temp.path() / "none").string()));
  EXPECT_FALSE(state_of(temp.path().string()));
  EXPECT_EQ(state_of(path)->size_bytes, 4);
}

}  // namespace
}  // namespace platetally::source
