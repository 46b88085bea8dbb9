// Packed files byte by byte: members, padding, damage, how bytes arrive, and the bound of
// unpacking.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <zlib.h>

#include <algorithm>
#include <cstring>
#include <memory>
#include <random>

#include "base/hash.hpp"
#include "reading/source/archive.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/dripping.hpp"
#include "reading/source/gzip.hpp"
#include "reading/source/open.hpp"
#include "reading/source/unpacked_bound.hpp"
#include "support/zip.hpp"

namespace platetally::source {
namespace {

/// One member as RFC 1952 has it.
std::string gzip_of(const std::string& text, int level = 6) {
  z_stream stream{};
  EXPECT_EQ(deflateInit2(&stream, level, Z_DEFLATED, MAX_WBITS + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
  std::string packed(deflateBound(&stream, static_cast<uLong>(text.size())) + 100, '\0');
  std::string copy = text;
  stream.next_in = reinterpret_cast<Bytef*>(copy.data());
  stream.avail_in = static_cast<uInt>(copy.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());
  stream.avail_out = static_cast<uInt>(packed.size());
  EXPECT_EQ(deflate(&stream, Z_FINISH), Z_STREAM_END);
  packed.resize(packed.size() - stream.avail_out);
  deflateEnd(&stream);
  return packed;
}

struct Unpacked {
  std::string text;
  std::string error;  ///< empty: none
  bool operator==(const Unpacked&) const = default;
};

Unpacked unpack(std::unique_ptr<ByteSource> bytes) {
  Unpacked unpacked;
  try {
    const auto plates = open_supply(std::move(bytes));
    std::vector<char> room(1000);
    while (const auto plate = plates->next())
      for (std::size_t got; (got = plate->read(room)) > 0;)
        unpacked.text.append(room.data(), got);
  } catch (const SourceError& error) {
    unpacked.error = error.what();
  }
  return unpacked;
}

Unpacked unpack(const std::string& bytes) {
  return unpack(std::make_unique<Trickling>(bytes, 1 << 20));
}

std::string lines_of(unsigned seed, std::size_t count) {
  std::mt19937 random(seed);
  std::string text = "; seed tray tags\n";
  for (std::size_t i = 0; i < count; ++i)
    text += fmt::format("G1 X{}.{:03} Y{} E.0{}\n", random() % 200, random() % 1000, random() % 200,
                        random() % 100);
  return text;
}

TEST(Gzip, OfManyMembersIsTheirTextsInARow) {
  std::mt19937 random(3);
  for (int round = 0; round < 20; ++round) {
    std::string packed, text;
    const std::size_t members = 1 + random() % 5;
    for (std::size_t i = 0; i < members; ++i) {
      const std::string more = i == 0 || random() % 4 > 0
                                   ? lines_of(static_cast<unsigned>(random()), random() % 300)
                                   : "";
      packed += gzip_of(more, static_cast<int>(random() % 10));
      packed += std::string(random() % 3 * 256, '\0');  // as blocks of a tape
      text += more;
    }
    EXPECT_EQ(unpack(packed), (Unpacked{text, ""}));
  }
}

TEST(Gzip, HowItsBytesArriveChangesNothing) {
  const std::string text = lines_of(5, 4000);
  const std::string packed = gzip_of(text) + gzip_of("M84\n");
  for (const std::size_t most : {1U, 2U, 17U, 300U, 100'000U})
    EXPECT_EQ(unpack(std::make_unique<Trickling>(packed, most)), (Unpacked{text + "M84\n", ""}))
        << most;
}

TEST(Gzip, CutShortItGivesAFrontOfItsTextAndSaysSo) {
  const std::string text = lines_of(6, 40);
  const std::string packed = gzip_of(text);
  for (std::size_t size = 2; size < packed.size(); ++size) {
    const Unpacked found = unpack(packed.substr(0, size));
    EXPECT_TRUE(text.starts_with(found.text)) << size;
    EXPECT_EQ(found.error, "breaks off (the end of its packed bytes is missing)") << size;
  }
}

TEST(Gzip, ChangedInAnyByteItIsRefusedOrTheTextIsWhole) {
  const std::string text = lines_of(8, 30);
  const std::string packed = gzip_of(text);
  std::size_t refused = 0;
  for (std::size_t at = 0; at < packed.size(); ++at) {
    std::string damaged = packed;
    damaged[at] = static_cast<char>(damaged[at] ^ 0x10);
    const Unpacked found = unpack(damaged);
    // RFC 1952: bytes 4 to 9 are a time, flags of the packer and its system.
    const bool is_of_no_consequence = at >= 4 && at <= 9;
    if (at >= 4) {
      EXPECT_EQ(found.error.empty(), is_of_no_consequence) << at;
    }
    if (is_of_no_consequence) {
      EXPECT_EQ(found.text, text) << at;
    }
    refused += !found.error.empty();
  }
  EXPECT_GE(refused, packed.size() - 10);
}

TEST(Gzip, BytesBehindItsEndAreSaidWithTheTextGiven) {
  const std::string text = "G1 X1\n";
  for (const char* behind : {"x", "G28\n", "\x1e\x8b"}) {
    const Unpacked found = unpack(gzip_of(text) + std::string(5, '\0') + behind);
    EXPECT_EQ(found.text, text);
    EXPECT_EQ(found.error, "is damaged (bytes behind its end that belong to no packed file)");
  }
  EXPECT_NE(unpack(gzip_of(text) + "\x1fx").error, "") << "half of a mark";
}

TEST(Gzip, WithinAGzipIsNoPlateButItsBytes) {
  const std::string inner = gzip_of("G1 X1\n");
  EXPECT_EQ(unpack(gzip_of(inner)).text, inner) << "unpacked once; what it is, others say";
}

TEST(Gzip, OfATarIsItsPlates) {
  const std::string tar = test::make_tar({{"a.gcode", "G1 X1\n"}, {"b.gcode", "G1 X2\n"}});
  const std::string packed = gzip_of(tar);
  const auto plates = open_memory(packed);
  std::vector<std::string> members;
  while (plates->next() != nullptr)
    members.push_back(plates->member());
  EXPECT_EQ(members, (std::vector<std::string>{"a.gcode", "b.gcode"}));
  EXPECT_EQ(plates->content_hash(), base::hash_of_text(packed)) << "of what lies there";
}

TEST(UnpackedBound, LetsThroughWhatAPlateMayBe) {
  constexpr std::uint64_t kFree = std::uint64_t{64} << 20;
  UnpackedBound free;
  free.take_packed(1);
  EXPECT_NO_THROW(free.give(kFree)) << "64 MiB out of nothing are let through";
  // A chunk may be taken in ahead, so that much more is let through than 1000 to 1.
  UnpackedBound dense;
  dense.take_packed(1'000'000);
  const std::uint64_t most = 1000 * (1'000'000 + kChunkBytes);
  EXPECT_NO_THROW(dense.give(most));
  EXPECT_THROW(dense.give(1), SourceError);
  try {
    dense.give(1);
    FAIL();
  } catch (const SourceError& error) {
    EXPECT_STREQ(error.what(),
                 "unpacks to more than 1000 times its size; that is no plate, reading stopped");
  }
}

TEST(UnpackedBound, CountsEachFileOfAContainerByItself) {
  UnpackedBound bound;
  constexpr std::uint64_t kFree = std::uint64_t{64} << 20;
  for (int file = 0; file < 100; ++file) {
    bound.begin_file();
    bound.take_packed(100);
    EXPECT_NO_THROW(bound.give(kFree)) << file;
  }
  // What earlier files took in is nothing to this one.
  UnpackedBound later;
  later.begin_file();
  later.take_packed(1'000'000'000);
  later.give(1'000'000'000);
  later.begin_file();
  later.take_packed(10);
  EXPECT_THROW(later.give(1000 * (10 + kChunkBytes) + 1), SourceError);
}

TEST(Recognise, TellsContainersByTheirFirstBytes) {
  using std::string_view_literals::operator""sv;
  EXPECT_EQ(recognise(""), Container::none);
  EXPECT_EQ(recognise("\x1f\x8b"sv), Container::gzip);
  EXPECT_EQ(recognise("\x1f"sv), Container::none);
  EXPECT_EQ(recognise("\x28\xb5\x2f\xfd"sv), Container::stream);
  EXPECT_EQ(recognise("\xfd"
                      "7zXZ\0"sv),
            Container::stream);
  EXPECT_EQ(recognise("\xfd"
                      "7zXZ"sv),
            Container::none);
  EXPECT_EQ(recognise("PK\x03\x04"sv), Container::zip);
  EXPECT_EQ(recognise("PK\x05\x06"sv), Container::none) << "an empty one holds no plate";
  const std::string tar = test::make_tar({{"a", "G28\n"}});
  EXPECT_EQ(recognise(tar), Container::tar);
  EXPECT_EQ(recognise(std::string_view(tar).substr(0, 262)), Container::tar);
  EXPECT_EQ(recognise(std::string_view(tar).substr(0, 261)), Container::none);
  EXPECT_EQ(recognise("G28\n" + std::string(253, ' ') + "ustar"), Container::tar)
      << "what says so at byte 257 is one, whatever stands before it";
}

TEST(Members, HaveFilesOfAnyNameAndSize) {
  for (const bool tar : {false, true}) {
    std::vector<std::pair<std::string, std::string>> files;
    for (std::size_t i = 0; i < 12; ++i)
      files.emplace_back(fmt::format("bed {}/\xc3\xbc{}.txt", i, std::string(i * 7, 'n')),
                         lines_of(static_cast<unsigned>(i), i * i * 40));
    const std::string bytes = test::make_container(files, tar);
    const auto plates = open_memory(bytes);
    for (const auto& [name, text] : files) {
      const auto plate = plates->next();
      ASSERT_NE(plate, nullptr) << name;
      EXPECT_EQ(plates->member(), name);
      std::string all;
      std::vector<char> room(313);
      for (std::size_t got; (got = plate->read(room)) > 0;)
        all.append(room.data(), got);
      EXPECT_EQ(all, text);
    }
    EXPECT_EQ(plates->next(), nullptr);
    EXPECT_EQ(plates->read_so_far().bytes, bytes.size());
    EXPECT_EQ(plates->read_so_far().in_all, bytes.size());
    EXPECT_TRUE(plates->passed_over().empty());
  }
}

TEST(Members, NameTheFirstFilesThatAreNoPlate) {
  for (const std::size_t others : {1U, 19U, 20U, 21U, 60U}) {
    std::vector<std::pair<std::string, std::string>> files{{"a.gcode", "G28\n"}};
    for (std::size_t i = 0; i < others; ++i)
      files.emplace_back(fmt::format("note{:02}.txt", i), "Water in the evening.\n");
    const std::string bytes = test::make_zip(files);
    const auto plates = open_memory(bytes);
    while (plates->next() != nullptr) {
    }
    const std::vector<std::string> passed = plates->passed_over();
    EXPECT_EQ(passed.size(), std::min<std::size_t>(others, 20)) << others;
    EXPECT_EQ(passed.front(), "note00.txt");
    EXPECT_EQ(passed.back() == "and more", others > 20) << others;
  }
}

TEST(Members, WithoutAPlateNameWhatTheyHold) {
  const auto error_of = [](const std::string& bytes) { return unpack(bytes).error; };
  EXPECT_EQ(error_of(test::make_zip({{"bed/", ""}})), "is a container without a file");
  EXPECT_EQ(error_of(test::make_zip({{"note.txt", "Water."}, {"b.txt", "Weed."}})),
            "is a container without a plate; expected G-code text, found only files like "
            "'note.txt'");
  EXPECT_TRUE(error_of("PK\x03\x04 and no more").starts_with("is no sound container ("));
}

TEST(Zip, WhoseEndCountsOtherFilesIsDamaged) {
  std::string zip = test::make_zip({{"a.gcode", "G28\n"}, {"b.gcode", "G28\n"}});
  const std::size_t end = zip.rfind("PK\x05\x06");
  ASSERT_NE(end, std::string::npos);
  zip[end + 10] = 3;  // PKWARE APPNOTE.TXT, 4.3.16: entries in all
  EXPECT_EQ(unpack(zip).error, "is damaged (it has 3 files by its end, 2 were found)");
  zip[end + 10] = 2;
  EXPECT_EQ(unpack(zip), (Unpacked{"G28\nG28\n", ""}));
  EXPECT_EQ(unpack(zip.substr(0, end)).error,
            "breaks off or is damaged (the record that ends a zip is missing)");
  // With a remark behind it, as long as one may be.
  zip[end + 20] = static_cast<char>(0xff);
  zip[end + 21] = static_cast<char>(0xff);
  EXPECT_EQ(unpack(zip + std::string(0xffff, 'x')), (Unpacked{"G28\nG28\n", ""}));
}

TEST(ContentHash, IsThatOfTheBytesHoweverLittleOfThemWasRead) {
  const std::string text = lines_of(9, 30'000);
  const std::string zip = test::make_zip({{"a.gcode", text}, {"b.gcode", text}});
  for (const std::string& bytes : {text, gzip_of(text), zip}) {
    const auto untouched = open_memory(bytes);
    EXPECT_EQ(untouched->content_hash(), base::hash_of_text(bytes));
    const auto begun = open_memory(bytes);
    std::vector<char> room(100);
    EXPECT_GT(begun->next()->read(room), 0U);
    EXPECT_EQ(begun->content_hash(), base::hash_of_text(bytes));
  }
}

}  // namespace
}  // namespace platetally::source
