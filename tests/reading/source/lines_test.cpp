// Blocks of lines against a plain split, and what text looks like a plate.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>
#include <random>

#include "reading/source/block_reader.hpp"
#include "reading/source/describe.hpp"
#include "reading/source/open.hpp"
#include "support/test_names.hpp"

namespace platetally::source {
namespace {

/// Pieces of the sizes that `random` gives; breaks after `good` bytes where asked to.
class Pieces : public ByteSource {
 public:
  Pieces(std::string_view bytes, unsigned seed, std::size_t most, std::size_t good = SIZE_MAX)
      : bytes_(bytes), random_(seed), most_(most), good_(good) {}
  std::size_t read(std::span<char> room) override {
    if (given_ >= good_)
      throw SourceError("cannot be read: the cable was pulled");
    const std::size_t count =
        std::min({1 + random_() % most_, room.size(), bytes_.size() - given_, good_ - given_});
    std::memcpy(room.data(), bytes_.data() + given_, count);
    given_ += count;
    return count;
  }

 private:
  std::string_view bytes_;
  std::mt19937 random_;
  std::size_t most_, good_;
  std::size_t given_ = 0;
};

struct Line {
  std::uint64_t offset;
  std::string text;
  bool too_long;
  bool operator==(const Line&) const = default;
};

/// The definition: lines end at LF, a mark in front is none of the first, long ones are cut.
std::vector<Line> plainly(const std::string& bytes) {
  std::vector<Line> lines;
  std::size_t at = bytes.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0;
  while (at < bytes.size()) {
    const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
    const bool too_long = end - at > kLongestLine;
    lines.push_back({at, bytes.substr(at, too_long ? kLongestLine : end - at), too_long});
    at = end + 1;
  }
  return lines;
}

std::vector<Line> by_blocks(ByteSource& source) {
  BlockReader reader(source);
  std::vector<Line> lines;
  Block block;
  while (reader.next(block)) {
    EXPECT_FALSE(block.text.empty());
    EXPECT_TRUE(!block.too_long || block.text.find('\n') == std::string_view::npos);
    for (std::size_t at = 0; at < block.text.size();) {
      const std::size_t end = std::min(block.text.find('\n', at), block.text.size());
      lines.push_back(
          {block.offset + at, std::string(block.text.substr(at, end - at)), block.too_long});
      at = end + 1;
    }
  }
  EXPECT_FALSE(reader.next(block)) << "behind the end it stays there";
  return lines;
}

TEST(BlockReader, CutsAsThePlainSplitDoes) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    std::mt19937 random(seed);
    std::string text = seed % 3 == 0 ? std::string(kByteOrderMark) : "";
    const std::size_t lines = random() % 60;
    for (std::size_t i = 0; i < lines; ++i) {
      text += std::string(random() % 5 == 0 ? 0 : random() % 90, 'x');
      text += random() % 6 == 0 ? "\r\n" : "\n";
    }
    text += seed % 2 == 0 ? "M84" : "";
    Pieces source(text, seed, 1 + seed * 7);
    EXPECT_EQ(by_blocks(source), plainly(text)) << seed;
  }
}

TEST(BlockReader, AMarkIsOneOnlyInFrontAndWhole) {
  for (const std::string& text :
       {std::string(kByteOrderMark), std::string("\xEF\xBB"), std::string("\xEF\xBB\nG28"),
        std::string("G28\n") + std::string(kByteOrderMark) + "G1\n",
        std::string(kByteOrderMark) + std::string(kByteOrderMark) + "G28\n",
        std::string(kByteOrderMark) + "\n", std::string(1, '\0')}) {
    for (const std::size_t most : {1U, 100U}) {
      Pieces source(text, 1, most);
      EXPECT_EQ(by_blocks(source), plainly(text)) << most;
    }
  }
}

TEST(BlockReader, ALineIsCutBeyondTheBoundAndNotAtIt) {
  for (const std::size_t length : {kLongestLine - 1, kLongestLine, kLongestLine + 1,
                                   kLongestLine + kChunkBytes, 2 * kLongestLine + 1})
    for (const char* end : {"", "\n", "\nG28", "\n\n"})
      for (const std::size_t most : {std::size_t{70'000}, std::size_t{1} << 22}) {
        const std::string text = "G1 X1\n" + std::string(length, 'y') + end;
        Pieces source(text, 3, most);
        const auto found = by_blocks(source);
        EXPECT_TRUE(found == plainly(text)) << length << ' ' << most;
      }
}

TEST(BlockReader, GivesWholeLinesBeforeASourceThatBreaks) {
  const std::string text = "G1 X1\nG1 X2\nG1 X3\n";
  for (std::size_t good = 0; good <= text.size(); ++good) {
    Pieces source(text, 2, 4, good);
    BlockReader reader(source);
    std::string given;
    Block block;
    EXPECT_THROW(
        {
          while (reader.next(block))
            given += block.text;
        },
        SourceError);
    EXPECT_EQ(given, text.substr(0, good / 6 * 6)) << good;
    EXPECT_EQ(reader.bytes(), good);
  }
}

struct Head {
  const char* name;
  std::string text;
  bool is_plate;
};

class LooksLikePlate : public testing::TestWithParam<Head> {};

TEST_P(LooksLikePlate, ByItsFirstLines) {
  EXPECT_EQ(looks_like_plate(GetParam().text), GetParam().is_plate) << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    Text, LooksLikePlate,
    testing::Values(
        Head{"a command behind prose", "Written at the bench\nG1 X1\n", true},
        Head{"a command in lower case", "g28", true},
        Head{"a command with a blank before its number", "G 1", true},
        Head{"a tool of minus one", "T-1", true}, Head{"a numbered line", "N10G1X1", true},
        Head{"a numbered line of blanks", "N10   M3", true}, Head{"a number alone", "N10", false},
        Head{"a block that is skipped", "/ M1", true},
        Head{"a remark in brackets", "(seed trays)\r\n", true},
        Head{"remarks and blank lines", "\n \t\n; a\n\n", true},
        Head{"blank lines alone", "\n\r\n \t\n", false},
        Head{"remarks and a key", "; a\nkey = 1\n", false},
        Head{"a mark in front", "\xEF\xBB\xBF; a\n", true},
        Head{"a mark alone", "\xEF\xBB\xBF", false},
        Head{"a letter without a number", "Garden\nMoss\nTags\n", false},
        Head{"a letter with a point", "G.5", false}, Head{"axes alone", "X10 Y10\n", false},
        Head{"a zero byte behind a command", std::string("G1\n\0", 4), false}),
    [](const auto& head) { return test::readable(head.param.name); });

struct Bytes {
  const char* name;
  std::string head;
  const char* says;
};

class Description : public testing::TestWithParam<Bytes> {};

TEST_P(Description, SaysWhatItLooksLike) {
  EXPECT_EQ(describe_head(GetParam().head), GetParam().says);
  if (!GetParam().head.starts_with("\xFF") && !GetParam().head.starts_with("\xFE")) {
    EXPECT_EQ(describe_head(std::string(kByteOrderMark) + GetParam().head), GetParam().says)
        << "a mark in front tells nothing";
  }
}

INSTANTIATE_TEST_SUITE_P(
    Of, Description,
    testing::Values(
        Bytes{"utf16 of the other end", std::string("\xFE\xFF\0G", 4),
              "text in UTF-16; write it as UTF-8"},
        Bytes{"gzip", "\x1f\x8b\x08", "a packed file within a packed file; unpack it once"},
        Bytes{"zstd", "\x28\xb5\x2f\xfd", "a packed file within a packed file; unpack it once"},
        Bytes{"zip", "PK\x03\x04", "a zip within a container; unpack it once"},
        Bytes{"an empty zip", "PK\x05\x06", "an empty zip"},
        Bytes{"7z", "7z\xBC\xAF\x27\x1C", "a 7z container; pack it with gzip, zstd, xz or zip"},
        Bytes{"jpeg", "\xFF\xD8\xFF\xE0", "a picture (JPEG)"},
        Bytes{"gif", "GIF89a", "a picture (GIF)"}, Bytes{"pdf", "%PDF-1.7", "a PDF document"},
        Bytes{"a program",
              "\x7F"
              "ELF\x02",
              "a program"},
        Bytes{"markup", "<svg/>", "a document of markup (XML, HTML)"},
        Bytes{"json", "{\"a\": 1}", "JSON"},
        Bytes{"text", "Sow in March\r\nWater", "text that begins with 'Sow in March'"},
        Bytes{"text beyond the shown", std::string(60, 'w'),
              "text that begins with 'wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww'"},
        Bytes{"text of other letters",
              "\xc3\xbc"
              "ber",
              "text that begins with '..ber'"},
        Bytes{"nothing", "", "text that begins with ''"},
        Bytes{"a few odd bytes in text", std::string(40, 'a') + "\x01" + "b",
              "text that begins with 'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa'"},
        Bytes{
            "binary",
            std::string("\x01\x02G\0\x7f"
                        "abcdef",
                        11),
            "binary data (its first bytes are 01 02 47 00 7f 61 62 63, '..G..abc'); where it is a "
            "binary kind of G-code, write it as text"}),
    [](const auto& bytes) { return test::readable(bytes.param.name); });

}  // namespace
}  // namespace platetally::source
