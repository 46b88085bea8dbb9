// Lines and containers.
#include <gtest/gtest.h>
#include <zlib.h>

#include <algorithm>
#include <cstdlib>
#include <cstring>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>

#include "base/hash.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/content.hpp"
#include "reading/source/describe.hpp"
#include "reading/source/dripping.hpp"
#include "reading/source/folder.hpp"
#include "reading/source/open.hpp"
#include "support/temp_folder.hpp"
#include "support/zip.hpp"

namespace platetally::source {
namespace {

struct Read {
  std::vector<std::string> lines;
  std::vector<std::uint64_t> offsets;
  std::vector<bool> too_long;
  bool operator==(const Read&) const = default;
};

Read read_all(ByteSource& source) {
  BlockReader reader(source);
  Read read;
  Block block;
  while (reader.next(block)) {
    EXPECT_FALSE(block.text.empty());
    std::uint64_t offset = block.offset;
    for (std::string_view rest = block.text; !rest.empty();) {
      const std::size_t length = std::min(rest.find('\n'), rest.size());
      read.lines.emplace_back(rest.substr(0, length));
      read.offsets.push_back(offset);
      read.too_long.push_back(block.too_long);
      offset += std::min(length + 1, rest.size());
      rest.remove_prefix(std::min(length + 1, rest.size()));
    }
  }
  return read;
}

TEST(BlockReader, EndsOfLines) {
  Dripping source("G1\nG2\r\n\n  \nlast", 1000);
  const Read read = read_all(source);
  EXPECT_EQ(read.lines, (std::vector<std::string>{"G1", "G2\r", "", "  ", "last"}));
  EXPECT_EQ(read.offsets, (std::vector<std::uint64_t>{0, 3, 7, 8, 11}));
}

TEST(BlockReader, NothingIsNoLine) {
  Dripping source("", 1000);
  EXPECT_TRUE(read_all(source).lines.empty());
}

TEST(BlockReader, HowBytesArriveChangesNothing) {
  std::string text;
  for (int i = 0; i < 400; ++i)
    text += "G1 X" + std::to_string(i) + (i % 3 == 0 ? "\r\n" : "\n");
  text += "M84";
  Dripping whole(text, 1 << 20);
  const Read expected = read_all(whole);
  for (const std::size_t step : {1U, 2U, 3U, 7U, 64U, 1000U}) {
    Dripping source(text, step);
    EXPECT_TRUE(read_all(source) == expected) << step;
  }
}

TEST(BlockReader, AnEndlessLineIsCutAndTheNextOnesAreRead) {
  for (const std::size_t step : {std::size_t{1000}, std::size_t{1} << 20, std::size_t{1} << 26}) {
    Dripping source("G1\n" + std::string(30'000'000, 'x') + "\nG2\n", step);
    const Read read = read_all(source);
    ASSERT_EQ(read.lines.size(), 3U);
    EXPECT_EQ(read.lines[1].size(), kLongestLine);
    EXPECT_EQ(read.too_long, (std::vector<bool>{false, true, false}));
    EXPECT_EQ(read.lines[2], "G2");
  }
}

struct Plate {
  std::string member;
  std::vector<std::string> lines;
  bool operator==(const Plate&) const = default;
};

std::vector<Plate> plates_of(std::string_view bytes, std::vector<std::string>* passed = nullptr) {
  const auto plates = open_memory(bytes);
  std::vector<Plate> found;
  while (const auto source = plates->next())
    found.push_back({plates->member(), read_all(*source).lines});
  if (passed != nullptr)
    *passed = plates->passed_over();
  return found;
}

class Containers : public testing::Test {
 protected:
  std::string write(const std::string& name, const std::string& bytes) {
    const std::string path = (folder_ / name).string();
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
  }
  static bool run(const std::string& command) { return std::system(command.c_str()) == 0; }
  static Read read_path(const std::string& path) {
    const auto plates = open_path(path);
    const auto source = plates->next();
    return read_all(*source);
  }

  test::TempFolder temp_;
  std::filesystem::path folder_ = temp_.path();
};

TEST_F(Containers, FirstBytesDecideNotTheName) {
  const std::string plain = write("tags.gcode", "G1 X1\nG1 X2\n");
  const Read expected = read_path(plain);
  ASSERT_TRUE(run("gzip -k " + plain + " && mv " + plain + ".gz " + plain + "_gz.txt"));
  ASSERT_TRUE(run("xz -k " + plain + " && mv " + plain + ".xz " + plain + "_xz.txt"));
  ASSERT_TRUE(run("zstd -q -k " + plain + " && mv " + plain + ".zst " + plain + "_zst.txt"));
  for (const char* kind : {"_gz.txt", "_xz.txt", "_zst.txt"})
    EXPECT_TRUE(read_path(plain + kind) == expected) << kind;
}

TEST_F(Containers, ATruncatedOneGivesWhatItHasAndThenAnError) {
  std::string text;
  for (int i = 0; i < 200'000; ++i)
    text += "G1 X" + std::to_string(i * 7919 % 100'003) + "\n";
  const std::string plain = write("tags.gcode", text);
  ASSERT_TRUE(run("gzip " + plain));
  std::filesystem::resize_file(plain + ".gz", std::filesystem::file_size(plain + ".gz") / 2);
  const auto plates = open_path(plain + ".gz");
  const auto source = plates->next();
  BlockReader reader(*source);
  Block block;
  EXPECT_THROW(
      {
        while (reader.next(block)) {
        }
      },
      SourceError);
  EXPECT_GT(reader.bytes(), 100'000U);
}

TEST_F(Containers, ADecompressionBombIsStopped) {
  const std::string bomb = (folder_ / "bomb.xz").string();
  ASSERT_TRUE(run("head -c 400000000 /dev/zero | xz -0 > " + bomb));
  const auto plates = open_path(bomb);
  const auto source = plates->next();
  std::vector<char> room(kChunkBytes);
  std::uint64_t total = 0;
  EXPECT_THROW(
      {
        for (std::size_t got = 1; got > 0; total += got)
          got = source->read(room);
      },
      SourceError);
  EXPECT_LT(total, 330'000'000U);
}

TEST_F(Containers, WhatCannotBeReadIsSaid) {
  EXPECT_THROW(open_path((folder_ / "missing").string()), SourceError);
  EXPECT_THROW(open_path(folder_.string()), SourceError);
  const std::string bad = write("bad.gz",
                                "\x1f\x8b"
                                "this is no gzip at all");
  EXPECT_THROW(
      {
        const auto plates = open_path(bad);
        const auto source = plates->next();
        read_all(*source);
      },
      SourceError);
}

TEST(Memory, IsReadLikeAFile) {
  const auto plates = open_memory("G1\nG2");
  const auto source = plates->next();
  EXPECT_EQ(read_all(*source).lines, (std::vector<std::string>{"G1", "G2"}));
}

TEST(Memory, AByteOrderMarkIsNoPartOfTheFirstLine) {
  for (const std::size_t step : {1U, 2U, 3U, 1000U}) {
    Dripping source("\xEF\xBB\xBFG1\nG2", step);
    const Read read = read_all(source);
    EXPECT_EQ(read.lines, (std::vector<std::string>{"G1", "G2"})) << step;
    EXPECT_EQ(read.offsets, (std::vector<std::uint64_t>{3, 6})) << step;
  }
  Dripping alone("\xEF\xBB\xBF", 2);
  EXPECT_TRUE(read_all(alone).lines.empty());
  Dripping inside("G1\n\xEF\xBB\xBFG2\n", 1000);
  EXPECT_EQ(read_all(inside).lines[1], "\xEF\xBB\xBFG2");
}

/// What comes out of the container; nothing where it was refused.
std::optional<std::string> unpacked(std::string_view bytes) {
  try {
    const auto plates = open_memory(bytes);
    std::string all;
    while (const auto source = plates->next()) {
      std::vector<char> room(kChunkBytes);
      for (std::size_t got = source->read(room); got > 0; got = source->read(room))
        all.append(room.data(), got);
      all += '|';
    }
    return all;
  } catch (const SourceError&) {
    return std::nullopt;
  }
}

std::string some_plate() {
  std::string text = "; plant labels\n";
  for (int i = 0; i < 3'000; ++i)
    text += "G1 X" + std::to_string(i * 7919 % 10'007) + " E" + std::to_string(i % 97) + "\n";
  return text;
}

/// Turns every bit of the container, one at a time (and of every byte only one, in turn): what
/// comes out is what went in, or nothing.
void expect_damage_is_found(const std::string& packed, std::size_t every, const char* kind) {
  const auto whole = unpacked(packed);
  ASSERT_TRUE(whole) << kind;
  for (std::size_t at = 0; at < packed.size(); at += every) {
    std::string damaged = packed;
    damaged[at] = static_cast<char>(damaged[at] ^ (1 << (at % 8)));
    if (const auto out = unpacked(damaged); out && !damaged.starts_with("G")) {
      EXPECT_TRUE(*out == *whole || *out == damaged + '|') << kind << ", byte " << at;
    }
  }
  for (std::size_t size = packed.size() / 2; size < packed.size(); size += every)
    EXPECT_EQ(unpacked(std::string_view(packed).substr(0, size)), std::nullopt)
        << kind << ", cut at " << size;
}

TEST_F(Containers, ADamagedOneIsRefused) {
  const std::string plain = write("tags.gcode", some_plate());
  const auto packed_by = [&](const std::string& command) {
    EXPECT_TRUE(run(command + " < " + plain + " > " + plain + ".packed"));
    std::ifstream file(plain + ".packed", std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(file), {});
  };
  expect_damage_is_found(packed_by("gzip -n"), 7, "gzip");
  expect_damage_is_found(packed_by("gzip -n -1"), 7, "gzip, fast");
  expect_damage_is_found(packed_by("xz"), 7, "xz");
  expect_damage_is_found(packed_by("zstd -q"), 7, "zstd");
  expect_damage_is_found(test::make_zip({{"a.gcode", some_plate()}, {"b.gcode", "G1 X1\n"}}), 7,
                         "zip");
}

TEST_F(Containers, StoredBytesOfAGzipAreHeldAgainstItsChecksum) {
  // One stored block: a turned bit in the middle is another figure, and nothing breaks.
  const std::string text = "G1 X10 E1\nG1 X20 E2\n";
  const auto bytes_of = [](std::initializer_list<unsigned> bytes) {
    return std::string(bytes.begin(), bytes.end());
  };
  const auto size = static_cast<unsigned>(text.size());
  std::string gz = bytes_of({0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255, 1, size, 0, 255 - size, 255});
  gz += text;
  const auto crc = static_cast<std::uint32_t>(
      ::crc32(0, reinterpret_cast<const Bytef*>(text.data()), static_cast<uInt>(text.size())));
  for (const std::uint32_t word : {crc, size})
    for (unsigned byte = 0; byte < 4; ++byte)
      gz += static_cast<char>(word >> 8 * byte);
  EXPECT_EQ(unpacked(gz), text + "|");
  EXPECT_EQ(unpacked(gz + gz), text + text + "|") << "several members are one file";
  EXPECT_EQ(unpacked(gz + std::string(100, '\0')), text + "|") << "zeros fill up a block";
  std::string damaged = gz;
  damaged[20] = static_cast<char>(damaged[20] ^ 1);
  EXPECT_EQ(unpacked(damaged), std::nullopt);
  EXPECT_EQ(unpacked(gz + "more"), std::nullopt);
  EXPECT_EQ(unpacked(gz.substr(0, gz.size() - 1)), std::nullopt);
}

TEST_F(Containers, HowFarABrokenOneWasReadIsKnown) {
  const std::string plain = write("tags.gcode", some_plate());
  ASSERT_TRUE(run("gzip " + plain));
  const auto size = std::filesystem::file_size(plain + ".gz");
  std::filesystem::resize_file(plain + ".gz", size / 2);
  const auto plates = open_path(plain + ".gz");
  EXPECT_THROW(read_all(*plates->next()), SourceError);
  EXPECT_EQ(plates->read_so_far().bytes, size / 2);
  EXPECT_EQ(plates->read_so_far().in_all, size / 2);
}

TEST_F(Containers, TheHashIsOfAllThatLiesThere) {
  const std::string plain = write("tags.gcode", some_plate());
  ASSERT_TRUE(run("gzip -k " + plain));
  const std::string broken = plain + ".broken.gz";
  std::filesystem::copy_file(plain + ".gz", broken);
  std::filesystem::resize_file(broken, std::filesystem::file_size(broken) / 2);
  // More lies behind the container than reading its plates needs.
  const std::string zip =
      write("two.zip", test::make_zip({{"a.gcode", "G1 X1\n"}, {"b.gcode", "G1 X2\n"}}));
  for (const std::string& path : {plain, plain + ".gz", broken, zip}) {
    const auto plates = open_path(path);
    try {
      while (const auto bytes = plates->next())
        read_all(*bytes);
    } catch (const SourceError&) {
      EXPECT_EQ(path, broken);
    }
    EXPECT_EQ(plates->content_hash(), hash_of_file(path)) << path;
  }
  const auto unread = open_path(plain);
  EXPECT_EQ(unread->content_hash(), hash_of_file(plain)) << "what was not read is read for it";
}

TEST(Supply, AStreamWithoutAnEndHasNoHash) {
  struct Endless : ByteSource {
    std::size_t read(std::span<char> room) override {
      std::ranges::fill(room, '\n');
      return room.size();
    }
  };
  EXPECT_EQ(open_supply(std::make_unique<Endless>())->content_hash(), "");
  EXPECT_EQ(open_supply(std::make_unique<Dripping>("G1 X5\n", 2))->content_hash(),
            base::hash_of_text("G1 X5\n"));
}

TEST(Open, APathWithAZeroByteIsRefused) {
  const FoundPlates found = find_plates({std::string("/tmp\0/plates", 12)}, {});
  EXPECT_TRUE(found.paths.empty());
  EXPECT_EQ(found.faults.size(), 1U);
  EXPECT_THROW(open_path(std::string("/dev/null\0.gcode", 16)), SourceError);
}

TEST(Zip, AnEntryWhoseHeaderIsDamagedIsNotPassedOver) {
  std::string zip = test::make_zip({{"a.gcode", "G1 X1\n"}, {"b.gcode", "G1 X2\n"}});
  const std::size_t second = zip.find("PK\x03\x04", 4);
  ASSERT_NE(second, std::string::npos);
  zip[second] = 'Q';
  EXPECT_THROW(plates_of(zip), SourceError);
}

TEST(Tar, EveryMemberThatLooksLikeGCodeIsAPlate) {
  const std::string tar = test::make_tar({{"plates/", ""},
                                          {"plates/labels.gcode", "G1 X1\n"},
                                          {"about.txt", "Sow in March.\n"},
                                          {"plates/lantern.gcode", "G1 X2\n"}});
  std::vector<std::string> passed;
  const auto plates = plates_of(tar, &passed);
  ASSERT_EQ(plates.size(), 2U);
  EXPECT_EQ(plates[0], (Plate{"plates/labels.gcode", {"G1 X1"}}));
  EXPECT_EQ(plates[1], (Plate{"plates/lantern.gcode", {"G1 X2"}}));
  EXPECT_EQ(passed, (std::vector<std::string>{"about.txt"}));
}

TEST_F(Containers, APackedTarIsATar) {
  const std::string tar =
      write("plates.tar", test::make_tar({{"a.gcode", "G1 X1\n"}, {"b.gcode", "G1 X2\n"}}));
  ASSERT_TRUE(run("gzip -k " + tar + " && xz -k " + tar + " && zstd -q -k " + tar));
  for (const char* kind : {"", ".gz", ".xz", ".zst"}) {
    const auto plates = open_path(tar + kind);
    std::vector<std::string> members;
    while (const auto source = plates->next()) {
      members.push_back(plates->member());
      EXPECT_EQ(read_all(*source).lines.size(), 1U);
    }
    EXPECT_EQ(members, (std::vector<std::string>{"a.gcode", "b.gcode"})) << kind;
  }
}

TEST(Describe, SaysWhatTheFirstBytesLookLike) {
  const std::vector<std::pair<std::string, const char*>> rows = {
      {std::string("\xFF\xFEG\0", 4), "UTF-16"},
      {"\x89PNG\r\n", "picture"},
      {"BZh91AY", "bzip2"},
      {std::string("GCOD\1\0\0\0\2", 9), "binary kind of G-code"},
      {"solid label\n facet", "sliced first"},
      {"Sow in March, plant out in May.\nWater.",
       "text that begins with 'Sow in March, plant out in May.'"},
      {"", "text"}};
  for (const auto& [head, part] : rows)
    EXPECT_NE(describe_head(head).find(part), std::string::npos) << describe_head(head);
}

TEST(Zip, EveryMemberThatLooksLikeGCodeIsAPlate) {
  std::string long_plate = "; plant labels\n";
  for (int i = 0; i < 30'000; ++i)
    long_plate += "G1 X" + std::to_string(i % 200) + "\n";
  const std::string zip =
      test::make_zip({{"plates/", ""},
                      {"plates/labels.txt", long_plate},
                      {"about.xml", "<?xml version='1.0'?>\n<plates/>\n"},
                      {"plates/lantern.gcode", "G1 X1\nG1 X2\n"},
                      {"picture.gcode", std::string("\x89PNG\0\0G1 X1\n", 12)}});
  std::vector<std::string> passed;
  const auto plates = plates_of(zip, &passed);
  ASSERT_EQ(plates.size(), 2U);
  EXPECT_EQ(plates[0].member, "plates/labels.txt");
  EXPECT_EQ(plates[0].lines.size(), 30'001U);
  EXPECT_EQ(plates[1], (Plate{"plates/lantern.gcode", {"G1 X1", "G1 X2"}}));
  EXPECT_EQ(passed, (std::vector<std::string>{"about.xml", "picture.gcode"}));
}

TEST(Zip, APlateThatIsLeftUnreadDoesNotHideTheNext) {
  const std::string zip =
      test::make_zip({{"a", "G1 X1\n" + std::string(500'000, '\n')}, {"b", "T1\n"}});
  const auto plates = open_memory(zip);
  ASSERT_NE(plates->next(), nullptr);
  ASSERT_NE(plates->next(), nullptr);
  EXPECT_EQ(plates->member(), "b");
  EXPECT_EQ(plates->next(), nullptr);
}

TEST(Zip, WithoutAPlateSaysSo) {
  const std::string none = test::make_zip({{"about.xml", "<a/>"}});
  EXPECT_THROW(plates_of(none), SourceError);
  const std::string empty = test::make_zip({{"folder/", ""}});
  EXPECT_THROW(plates_of(empty), SourceError);
}

TEST(Zip, CutAnywhereItEndsWithAnErrorOrFewerPlates) {
  const std::string zip = test::make_zip({{"a.gcode", "G1 X1\n"}, {"b.gcode", "G1 X2\n"}});
  for (std::size_t size = 4; size < zip.size(); ++size) {
    try {
      EXPECT_LE(plates_of(std::string_view(zip).substr(0, size)).size(), 2U);
    } catch (const SourceError& error) {
      EXPECT_STRNE(error.what(), "");
    }
  }
}

TEST(Sniffing, TellsPlatesFromOtherText) {
  const std::vector<std::pair<std::string, bool>> rows = {{"G1 X1", true},
                                                          {"  n20 g1", true},
                                                          {"; only a remark\n\n", true},
                                                          {"M104S200\n", true},
                                                          {"\xef\xbb\xbf; a\nT0\n", true},
                                                          {"/G1 X1", true},
                                                          {"", false},
                                                          {"Take care", false},
                                                          {"{\"Gain\": 1}", false},
                                                          {"<G1/>", false},
                                                          {"key = 1\nother = 2\n", false},
                                                          {std::string("G1\0", 3), false}};
  for (const auto& [text, plate] : rows)
    EXPECT_EQ(looks_like_plate(text), plate) << text;
}

}  // namespace
}  // namespace platetally::source
