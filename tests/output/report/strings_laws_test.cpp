// Laws of figures and strings as they are shown, on figures and bytes by chance.
#include "output/report/strings.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <nlohmann/json.hpp>

#include "output/report/labels.hpp"
#include "platetally/account.hpp"
#include "support/chance.hpp"
#include "support/csv_reader.hpp"

namespace platetally::report {
namespace {

double any_figure(test::Random& random) {
  const double size = std::pow(10.0, random.real(-9.0, 12.0));
  return random.one_in(2) ? -size : size;
}

std::string any_bytes(test::Random& random, std::size_t most) {
  static const std::vector<std::string> pieces{"a",
                                               " ",
                                               "7",
                                               "12.5",
                                               "g",
                                               "h",
                                               "min",
                                               ",",
                                               "\"",
                                               "\n",
                                               "\r",
                                               "\t",
                                               "=",
                                               "<",
                                               "&",
                                               "\\",
                                               "\xc3\xa9",
                                               "\xe2\x82\xac",
                                               "\xf0\x9f\x8c\xb1",
                                               "\xe6\xa4\x8d",
                                               "\xcc\x81",
                                               "\xff",
                                               "\xc3",
                                               "\x80",
                                               "\x1b[0m",
                                               "\xc2\x9b",
                                               "\xe2\x80\xae",
                                               "\x7f",
                                               std::string(1, '\0')};
  std::string text;
  for (std::size_t i = random.below(most); i > 0; --i)
    text += random.of(pieces);
  return text;
}

TEST(FigureLaws, AnExactNumberReadsBackToItself) {
  test::Random random(1);
  for (int i = 0; i < 2000; ++i) {
    const double value = any_figure(random);
    EXPECT_EQ(std::strtod(exact_number(value).c_str(), nullptr), value);
    EXPECT_EQ(nlohmann::json::parse(exact_number(value)).get<double>(), value);
  }
}

// Three digits count (two below one): half a unit of the last is the most that is lost.
TEST(FigureLaws, SignificantDigitsLoseHalfAUnitOfTheLast) {
  test::Random random(2);
  for (int i = 0; i < 2000; ++i) {
    const double value = std::pow(10.0, random.real(-4.0, 9.0));
    const double shown = std::strtod(significant(value).c_str(), nullptr);
    const double unit = std::pow(10.0, std::floor(std::log10(value)) - (value < 1.0 ? 1.0 : 2.0));
    EXPECT_LE(std::abs(shown - value), 0.5 * unit * (1.0 + 1e-9))
        << value << " " << significant(value);
    EXPECT_EQ(significant(-value), "-" + significant(value));
  }
}

TEST(FigureLaws, AMoreIsNeverShownAsLess) {
  test::Random random(3);
  for (int i = 0; i < 2000; ++i) {
    const double a = std::pow(10.0, random.real(-5.0, 8.0));
    const double b = a * (1.0 + random.share());
    EXPECT_LE(std::strtod(significant(a).c_str(), nullptr),
              std::strtod(significant(b).c_str(), nullptr));
    EXPECT_LE(std::strtod(money(a).c_str(), nullptr), std::strtod(money(b).c_str(), nullptr));
  }
}

/// Seconds that a duration says.
double seconds_of(const std::string& text) {
  double sum = 0.0;
  const char* at = text.c_str();
  const bool negative = *at == '-';
  at += negative ? 1 : 0;
  while (*at != '\0') {
    char* end = nullptr;
    const double number = std::strtod(at, &end);
    at = end + 1;
    const std::string unit(at, std::find(at, at + std::strlen(at), ' '));
    at += unit.size();
    sum += number * (unit == "d" ? 86400.0 : unit == "h" ? 3600.0 : unit == "min" ? 60.0 : 1.0);
    while (*at == ' ')
      ++at;
  }
  return negative ? -sum : sum;
}

TEST(FigureLaws, ADurationIsOffByHalfItsSmallerUnit) {
  test::Random random(4);
  for (int i = 0; i < 3000; ++i) {
    const double s = std::pow(10.0, random.real(0.0, 8.0));
    const double most = s < 59.5 ? 0.05 : s < 3599.5 ? 0.5 : s < 86370.0 ? 30.0 : 1800.0;
    EXPECT_LE(std::abs(seconds_of(duration(s)) - s), most * (1.0 + 1e-6)) << s << duration(s);
    EXPECT_EQ(duration(-s), "-" + duration(s));
  }
}

TEST(FigureLaws, ADurationNeverHasSixtyOfAUnitOrTwentyFourHours) {
  for (double s = 0.0; s < 200000.0; s += 7.3) {
    const std::string text = duration(s);
    EXPECT_EQ(text.find("60 s"), std::string::npos) << text;
    EXPECT_EQ(text.find("60 min"), std::string::npos) << text;
    EXPECT_EQ(text.find("24 h"), std::string::npos) << text;
  }
}

TEST(FigureLaws, MoneyHasTwoDecimalsAndThreeDigitsWhereItIsLittle) {
  EXPECT_EQ(money(12.344), "12.34");
  EXPECT_EQ(money(0.0), "0.00");
  EXPECT_EQ(money(0.1871), "0.187");
  EXPECT_EQ(money(0.018714), "0.0187");
  EXPECT_EQ(money(1e-9), "0.000000");
  EXPECT_EQ(money(-0.1871), "-0.187");
  EXPECT_EQ(money(INFINITY), "?");
}

TEST(FigureLaws, SharesOfAWholeAreAboutAHundred) {
  test::Random random(5);
  for (int i = 0; i < 500; ++i) {
    const double whole = std::pow(10.0, random.real(-3.0, 6.0));
    const double part = whole * random.share();
    const std::string text = share(part, whole);
    if (text == "< 1 %") {
      EXPECT_LT(part / whole, 0.005);
      EXPECT_GT(part, 0.0);
    } else {
      EXPECT_NEAR(std::strtod(text.c_str(), nullptr), 100.0 * part / whole, 0.5);
    }
  }
  EXPECT_EQ(share(INFINITY, 1.0), "? %");
  EXPECT_EQ(share(1.0, -1.0), "0 %");
}

TEST(FigureLaws, DataSizesGoUpByThousands) {
  EXPECT_EQ(data_size(0), "0 B");
  EXPECT_EQ(data_size(999949), "999.9 kB");
  EXPECT_EQ(data_size(1'500'000'000), "1.5 GB");
  EXPECT_EQ(data_size(2'000'000'000'000), "2.0 TB");
  EXPECT_EQ(data_size(5'000'000'000'000'000), "5000.0 TB") << "there is no unit above it";
}

TEST(FigureLaws, AFigureWithItsUnitIsAQuestionMarkWhereItIsNotKnown) {
  EXPECT_EQ(with_unit(12.34, "g"), "12.3 g");
  EXPECT_EQ(with_unit(12.34, ""), "12.3");
  EXPECT_EQ(with_unit(4860.0, "s"), "1 h 21 min");
  EXPECT_EQ(with_unit(std::nan(""), "g"), "?");
}

class AnyBytes : public testing::TestWithParam<unsigned> {
 protected:
  AnyBytes() : random_(GetParam()), text_(any_bytes(random_, 60)) {}
  test::Random random_;
  const std::string text_;
};

TEST_P(AnyBytes, ValidTextStaysAsItIs) {
  const std::string once = valid_utf8(text_);
  EXPECT_EQ(valid_utf8(once), once);
  EXPECT_EQ(printable(printable(text_)), printable(text_));
  EXPECT_NO_THROW(nlohmann::json(once).dump()) << "the parser takes it";
}

TEST_P(AnyBytes, JsonStringsReadBackToTheValidText) {
  EXPECT_EQ(nlohmann::json::parse(json_string(text_)).get<std::string>(), valid_utf8(text_));
  for (const char c : json_string(text_))
    EXPECT_GE(static_cast<unsigned char>(c), 0x20);
}

TEST_P(AnyBytes, CellsReadBackToTheirText) {
  const std::string text = text_.find('\0') == std::string::npos ? text_ : "nul";
  const std::vector<test::CsvRow> rows =
      test::read_csv(csv_cell(text) + "," + csv_cell(text) + "\n");
  ASSERT_EQ(rows.size(), 1U);
  EXPECT_EQ(rows[0], (test::CsvRow{text, text}));
  const std::vector<test::CsvRow> harmless = test::read_csv(csv_text(text_) + "\n");
  ASSERT_EQ(harmless.size(), 1U);
  ASSERT_EQ(harmless[0].size(), 1U);
  EXPECT_TRUE(harmless[0][0].ends_with(printable(text_)));
  EXPECT_NE(harmless[0][0].find_first_of("=+-@"), 0U);
}

TEST_P(AnyBytes, WrappingLosesNoWordAndKeepsToTheWidth) {
  const std::string text = printable(text_) + " " + printable(any_bytes(random_, 80));
  for (const int width : {10, 20, 60}) {
    std::string joined;
    for (const std::string& line : wrap(text, width)) {
      joined += (joined.empty() || line.empty() ? "" : " ") + line;
      // Only what may not be broken is wider.
      if (line.find(' ') == std::string::npos)
        continue;
      EXPECT_EQ(line.find("  "), std::string::npos);
      EXPECT_LE(display_width(line), width) << line;
    }
    std::string blanks_once;
    for (const char c : text)
      if (c != ' ' || (!blanks_once.empty() && blanks_once.back() != ' '))
        blanks_once += c;
    while (blanks_once.ends_with(' '))
      blanks_once.pop_back();
    EXPECT_EQ(joined, blanks_once) << width;
  }
}

TEST_P(AnyBytes, ColumnsOfATextAreItsParts) {
  const std::string text = printable(text_);
  const int whole = display_width(text);
  EXPECT_EQ(columns(text, 0, whole), text);
  for (int cut = 0; cut <= whole; ++cut) {
    EXPECT_LE(display_width(columns(text, 0, cut)), cut);
    EXPECT_LE(display_width(columns(text, cut, whole)), whole - cut);
    EXPECT_GE(display_width(columns(text, 0, cut)) + display_width(columns(text, cut, whole)),
              whole - 2)
        << "but for a wide character on the cut";
  }
}

TEST(Columns, AMarkGoesWithItsLetterAndAWideLetterIsThereWholeOrNotAtAll) {
  const std::string text = "e\xcc\x81\xe6\xa4\x8dx";  // e with an accent, two columns, x
  EXPECT_EQ(columns(text, 0, 1), "e\xcc\x81");
  EXPECT_EQ(columns(text, 0, 2), "e\xcc\x81");
  EXPECT_EQ(columns(text, 0, 3), "e\xcc\x81\xe6\xa4\x8d");
  EXPECT_EQ(columns(text, 1, 2), "\xe6\xa4\x8d") << "without the accent of the letter before";
  EXPECT_EQ(columns(text, 2, 2), "x");
  EXPECT_EQ(columns(text, 0, 0), "");
  EXPECT_EQ(columns(text, 9, 5), "");
}

TEST_P(AnyBytes, HoldingTogetherChangesBlanksAlone) {
  const std::string text = printable(text_);
  for (const bool whole : {false, true}) {
    std::string held = held_together(text, whole);
    for (std::size_t at = held.find("\xC2\xA0"); at != std::string::npos;
         at = held.find("\xC2\xA0"))
      held.replace(at, 2, " ");
    EXPECT_EQ(held, text);
  }
  EXPECT_EQ(held_together(text, true).find(' '), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyBytes, testing::Range(0U, 60U));

TEST(Labels, KeysAndCausesHaveWordsAndOthersTheirOwn) {
  EXPECT_EQ(label_of_total("time_s"), "machine time");
  EXPECT_EQ(label_of_total("totals.time_s"), "machine time");
  EXPECT_EQ(label_of_total("no_such_key"), "no such key");
  EXPECT_EQ(unit_of_total("totals.energy_wh"), "Wh");
  EXPECT_EQ(unit_of_total("swaps"), "");
  EXPECT_EQ(unit_of_total("no_such_key"), "");
  EXPECT_EQ(label_of_entry("bed.convection_factor"), "loss to the air above the bed");
  EXPECT_EQ(label_of_entry("heads.3.power_w"), "heads.3.power_w");
  EXPECT_EQ(label_of_cause("long-swap"), "changes that take long");
  EXPECT_EQ(label_of_cause("no-such-cause"), "no such cause");
  EXPECT_EQ(label_of_code("tower-without-need"), "tower without need");
}

TEST(Labels, NamesOfFilesAreTheirLastPart) {
  EXPECT_EQ(short_name("shop/tags.gcode"), "tags.gcode");
  EXPECT_EQ(short_name("C:\\shop\\tags.gcode"), "tags.gcode");
  EXPECT_EQ(short_name("tags.gcode"), "tags.gcode");
  EXPECT_EQ(short_name("shop/"), "shop/");
  EXPECT_EQ(short_name(""), "");
}

TEST(Labels, ASentenceBeginsWithACapitalUnlessItIsAKey) {
  EXPECT_EQ(capital("layers are thin"), "Layers are thin");
  EXPECT_EQ(capital("bed.tile_power_w explains most"), "bed.tile_power_w explains most");
  EXPECT_EQ(capital("5 layers"), "5 layers");
  EXPECT_EQ(capital(""), "");
  EXPECT_EQ(capital("\xc3\xa9t\xc3\xa9"), "\xc3\xa9t\xc3\xa9");
}

TEST(Labels, SharedLabourIsSaidOfSeveralObjectsWithLabour) {
  Account account;
  account.objects.resize(2);
  EXPECT_EQ(words_of_shared_labour(account), "");
  account.cost.emplace();
  EXPECT_EQ(words_of_shared_labour(account), "");
  account.cost->labour = 1.0;
  EXPECT_NE(words_of_shared_labour(account), "");
  account.objects.resize(1);
  EXPECT_EQ(words_of_shared_labour(account), "");
}

}  // namespace
}  // namespace platetally::report
