// Letters, units, ranges, hashes, small files, folded remarks: what everything stands on.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <random>
#include <set>

#include "base/diagnostics.hpp"
#include "base/files.hpp"
#include "base/hash.hpp"
#include "base/letters.hpp"
#include "base/units.hpp"
#include "platetally/made_from.hpp"
#include "platetally/range.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

using namespace base;

TEST(Letters, AreThoseOfAsciiAndNoOtherByte) {
  int letters = 0, digits = 0, blanks = 0;
  for (int byte = 0; byte < 256; ++byte) {
    const char c = static_cast<char>(byte);
    letters += is_letter(c);
    digits += is_digit(c);
    blanks += is_blank(c);
    const bool is_ascii_letter = (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z');
    EXPECT_EQ(is_letter(c), is_ascii_letter) << byte;
    EXPECT_EQ(upper(c) != lower(c), is_ascii_letter) << byte;
    EXPECT_EQ(upper(lower(c)), upper(c)) << byte;
    EXPECT_EQ(lower(upper(c)), lower(c)) << byte;
    EXPECT_EQ(upper(upper(c)), upper(c)) << byte;
  }
  EXPECT_EQ(letters, 52);
  EXPECT_EQ(digits, 10);
  EXPECT_EQ(blanks, 3) << "blank, tab, carriage return";
  EXPECT_FALSE(is_blank('\n')) << "which ends a line";
}

TEST(Units, AreThoseOfTheDefinitions) {
  EXPECT_EQ(mm_s_from_mm_min(1500), 25);
  EXPECT_EQ(wh_from_j(3600), 1);
  EXPECT_DOUBLE_EQ(j_from_wh(wh_from_j(123456.0)), 123456.0);
  EXPECT_EQ(h_from_s(5400), 1.5);
  EXPECT_EQ(min_from_s(90), 1.5);
  EXPECT_EQ(kwh_from_wh(250), 0.25);
  EXPECT_EQ(kg_from_g(250), 0.25);
  EXPECT_EQ(k_from_c(-273.15), 0) << "absolute zero";
  EXPECT_EQ(kSecondsPerDay, 86400);
  EXPECT_EQ(kSecondsPerMinute * kMinutesPerHour, kSecondsPerHour);
  EXPECT_EQ(kMmPerInch, 25.4);
}

TEST(Units, AKilogramOfFilamentIsAsLongAsItsVolumeSays) {
  // 1 kg of PLA at 1.24 g/cm3 is 806.45 cm3; through 2.405 mm2 that is 335 m.
  const double volume_mm3 = 1000.0 / 1.24 * 1000.0;
  const double length_m = volume_mm3 / filament_area_mm2(1.75) / kMmPerM;
  EXPECT_NEAR(length_m, 335.3, 0.05);
  EXPECT_NEAR(g_from_mm3(volume_mm3, 1.24), 1000.0, 1e-9);
  EXPECT_NEAR(filament_area_mm2(3.5) / filament_area_mm2(1.75), 4.0, 1e-15);
  EXPECT_EQ(filament_area_mm2(0.0), 0.0);
}

TEST(Range, BandsAddEndByEndAndScale) {
  Range sum = Range::exactly(5);
  sum += {1, 2, 4};
  EXPECT_EQ(sum, (Range{6, 7, 9}));
  EXPECT_EQ(2.0 * sum, (Range{12, 14, 18}));
  EXPECT_EQ(0.0 * sum, Range{});
  Range twice = sum;
  twice += sum;
  EXPECT_EQ(twice, 2.0 * sum);
  EXPECT_NE(sum, (Range{6, 7, 9.5}));
}

TEST(Hash, OfPiecesIsThatOfTheWholeHoweverItIsCut) {
  std::mt19937 random(2);
  for (const std::size_t size : {0U, 1U, 16U, 17U, 128U, 129U, 240U, 241U, 1024U, 100000U}) {
    std::string text(size, '\0');
    for (char& c : text)
      c = static_cast<char>(random());
    const std::string whole = hash_of_text(text);
    EXPECT_EQ(whole.size(), 32U);
    EXPECT_EQ(whole.find_first_not_of("0123456789abcdef"), std::string::npos) << whole;
    for (int round = 0; round < 5; ++round) {
      Hash hash;
      for (std::size_t at = 0; at < size;) {
        const std::size_t piece = std::min<std::size_t>(size - at, random() % 300);
        hash.add(std::string_view(text).substr(at, piece));
        at += piece;
      }
      EXPECT_EQ(hash.text(), whole) << size;
      EXPECT_EQ(hash.text(), whole) << "asked again";
    }
  }
}

TEST(Hash, DiffersWithEveryByteAndWithLength) {
  std::set<std::string> hashes;
  std::string text(200, 'm');
  hashes.insert(hash_of_text(text));
  for (std::size_t i = 0; i < text.size(); ++i) {
    std::string other = text;
    other[i] = 'n';
    hashes.insert(hash_of_text(other));
    hashes.insert(hash_of_text(text.substr(0, i)));
    hashes.insert(hash_of_text(std::string(i + 1, '\0')));
  }
  EXPECT_EQ(hashes.size(), 601U);
}

TEST(Hash, OfNothingIsThePublishedOne) {
  // XXH3 with 128 bits of no bytes and seed 0: XXH128 of xxHash 0.8, its own test vectors (from
  // memory).
  EXPECT_EQ(hash_of_text(""), "99aa06d3014798d86001c324468d497f");
}

TEST(ReadFile, GivesTheFirstBytesWhateverTheyAre) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "bytes").string();
  std::string bytes;
  for (int i = 0; i < 256; ++i)
    bytes += static_cast<char>(i);
  std::ofstream(path, std::ios::binary) << bytes;
  EXPECT_EQ(read_file(path, 1000), bytes);
  EXPECT_EQ(read_file(path, 256), bytes);
  EXPECT_EQ(read_file(path, 255), bytes.substr(0, 255));
  EXPECT_EQ(read_file(path, 0), "");
  std::ofstream(path, std::ios::binary | std::ios::trunc) << "";
  EXPECT_EQ(read_file(path, 10), "") << "empty is not unreadable";
}

TEST(ReadFile, WhatIsNoFileIsNothing) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "moss").string();
  std::ofstream(path) << "x";
  EXPECT_EQ(read_file(temp.path().string(), 10), std::nullopt) << "a folder";
  EXPECT_EQ(read_file(path + "/x", 10), std::nullopt) << "below a file";
  EXPECT_EQ(read_file("", 10), std::nullopt);
  EXPECT_EQ(read_file(path + std::string("\0y", 2), 10), std::nullopt) << "a zero in its name";
}

TEST(Severity, HasANameEach) {
  EXPECT_EQ(name_of(Severity::note), "note");
  EXPECT_EQ(name_of(Severity::warning), "warning");
  EXPECT_EQ(name_of(Severity::error), "error");
}

Diagnostic remark(const std::string& code, std::uint64_t line) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.line = line;
  diagnostic.message = code + " in line " + std::to_string(line);
  return diagnostic;
}

TEST(Diagnostics, OfPartsMergedAreThoseOfTheWhole) {
  std::mt19937 random(5);
  for (int round = 0; round < 50; ++round) {
    Diagnostics whole;
    std::vector<Diagnostics> parts(1 + random() % 4);
    const std::uint64_t lines = 1 + random() % 60;
    for (std::uint64_t line = 1; line <= lines; ++line) {
      const std::string code(1, static_cast<char>('a' + random() % 5));
      whole.add(remark(code, line));
      parts[random() % parts.size()].add(remark(code, line));  // any of the threads
    }
    for (std::size_t i = 1; i < parts.size(); ++i)
      parts[0].merge(parts[i]);
    ASSERT_EQ(parts[0].entries().size(), whole.entries().size());
    for (const Diagnostic& entry : parts[0].entries()) {
      bool found = false;
      for (const Diagnostic& one : whole.entries())
        if (one.code == entry.code) {
          EXPECT_EQ(entry.line, one.line);
          EXPECT_EQ(entry.count, one.count);
          EXPECT_EQ(entry.message, one.message);
          found = true;
        }
      EXPECT_TRUE(found) << entry.code;
    }
  }
}

TEST(Diagnostics, ThatWereFoldedAddTheirCounts) {
  Diagnostics diagnostics;
  Diagnostic many = remark("a", 4);
  many.count = 5;
  diagnostics.add(many);
  diagnostics.add(many);
  EXPECT_TRUE(diagnostics.count_again("a"));
  EXPECT_EQ(diagnostics.entries().at(0).count, 11U);
  Diagnostics none;
  none.merge(diagnostics);
  EXPECT_EQ(none.entries().at(0).count, 11U);
  diagnostics.merge(Diagnostics{});
  EXPECT_EQ(diagnostics.entries().at(0).count, 11U);
}

TEST(MadeFrom, HoldsEachInputOnceAndTheLastOfAnOption) {
  MadeFrom made;
  made.add(PlateUsed{"tags.gcode", "aa"});
  made.add(PlateUsed{"tags.gcode", "aa"});
  made.add(PlateUsed{"tags.gcode", "bb"});
  made.add(MachineUsed{"bench", "cc"});
  made.add(MachineUsed{"bench", "cc"});
  made.set("copies", "2");
  made.set("order", "time");
  made.set("copies", "3");
  EXPECT_EQ(made.plates.size(), 2U) << "the same name with other bytes is another plate";
  EXPECT_EQ(made.machines.size(), 1U);
  using Options = std::vector<std::pair<std::string, std::string>>;
  EXPECT_EQ(made.options, (Options{{"copies", "3"}, {"order", "time"}}));
  MadeFrom other;
  other.add(PlateUsed{"lantern.gcode", "dd"});
  other.add(PlateUsed{"tags.gcode", "aa"});
  other.set("threads", "2");
  made.add_inputs_of(other);
  EXPECT_EQ(made.plates.size(), 3U);
  EXPECT_EQ(made.plates.back().path, "lantern.gcode");
  EXPECT_EQ(made.options.size(), 2U) << "inputs alone are taken over";
  const MadeFrom before = made;
  made.add_inputs_of(made);
  EXPECT_EQ(made, before);
}

}  // namespace
}  // namespace platetally
