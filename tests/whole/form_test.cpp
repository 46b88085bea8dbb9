// How a plate is written down changes no number: blanks, case, line ends, comments, line numbers.
#include <fmt/format.h>

#include <functional>

#include "platetally/account.hpp"
#include "platetally/report.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"
#include "support.hpp"

namespace platetally {
namespace {

std::string unpacked(const std::string& path) {
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  std::string text;
  source::BlockReader blocks(*bytes);
  for (source::Block block; blocks.next(block);)
    text += block.text;
  return text;
}

using Rewrite = std::function<std::string(const std::string& code, std::size_t line)>;

/// Rewrites the code of every line; comments stay behind it.
std::string rewritten(const std::string& text, const Rewrite& rewrite) {
  std::istringstream lines(text);
  std::string out;
  std::size_t number = 0;
  for (std::string line; std::getline(lines, line);) {
    const std::size_t comment = std::min(line.find(';'), line.size());
    out += rewrite(line.substr(0, comment), ++number) + line.substr(comment) + "\n";
  }
  return out;
}

/// Everything that is told of a plate but the length and the hash of its file.
std::string told(const std::string& text, const Machine& machine) {
  Account account = analyze_bytes(text, machine);
  account.bytes = 0;
  account.made_from.plates.clear();
  account.diagnostics.clear();  // they quote the line
  return to_json(account);
}

struct Form {
  const char* name;
  Rewrite rewrite;
};

const Form kForms[] = {
    {"blanks_between",
     [](const std::string& code, std::size_t) {
       std::string out;
       for (const char c : code)
         out += c == ' ' ? std::string("  \t") : std::string(1, c);
       return " \t" + out + "  ";
     }},
    {"no_blanks",
     [](std::string code, std::size_t) {
       std::erase(code, ' ');
       return code;
     }},
    {"lower_case",
     [](std::string code, std::size_t) {
       for (char& c : code)
         c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
       return code;
     }},
    {"carriage_returns", [](const std::string& code, std::size_t) { return code; }},
    {"comments",
     [](const std::string& code, std::size_t line) {
       return code + (line % 2 == 0 ? "(a tag for the sale)" : "") + ";for the sale ";
     }},
    {"line_numbers_and_checksums",
     [](const std::string& code, std::size_t line) {
       if (code.empty())
         return code;
       const std::string numbered = "N" + std::to_string(line) + " " + code;
       unsigned sum = 0;
       for (const char c : numbered)
         sum ^= static_cast<unsigned char>(c);
       return numbered + "*" + std::to_string(sum);
     }},
};

class Forms : public testing::TestWithParam<std::size_t> {};

TEST_P(Forms, ChangeNoNumber) {
  const Form& form = kForms[GetParam()];
  const Machine machine = test::embedded("changer-5");
  for (const char* plate : {"plates/tower", "plates/arcs", "plates/firmware-retract-park",
                            "plates/absolute-e-selected-twice", "plates/chute"}) {
    SCOPED_TRACE(plate);
    const std::string text = unpacked(test::testdata(std::string(plate) + ".gcode.gz"));
    std::string changed = rewritten(text, form.rewrite);
    if (std::string_view(form.name) == "carriage_returns")
      for (std::size_t at = 0; (at = changed.find('\n', at)) != std::string::npos; at += 2)
        changed.insert(at, "\r");
    ASSERT_NE(changed, text);
    EXPECT_EQ(told(changed, machine), told(text, machine));
  }
}

INSTANTIATE_TEST_SUITE_P(Written, Forms, testing::Range(std::size_t{0}, std::size(kForms)),
                         [](const auto& row) { return std::string(kForms[row.param].name); });

TEST(Forms, WhereBlocksOfTheFileEndChangesNoNumber) {
  // Several blocks: what is near the end of one is read line by line.
  std::string plate = "M83\nM104 T0 S215\nT0\n";
  for (int layer = 1; layer <= 60; ++layer) {
    plate += fmt::format("G1 Z{:.2f} F600\n", 0.2 * layer);
    for (int i = 0; i < 700; ++i) {
      if (i % 233 == 0)
        plate += fmt::format("G1 E-0.8 F2400\nG1 X{} Y{} F9000\nG1 E0.8 F2400\n", 20 + i % 200, 30);
      plate += fmt::format("G1 X{:.3f} Y{:.3f} E{:.5f}\n", 20 + 0.31 * i, 30 + 0.07 * (i % 50),
                           0.011 + 0.00013 * ((i * i + layer) % 701));
    }
  }
  ASSERT_GT(plate.size(), 3 * source::kChunkBytes);
  const auto behind = [&plate](std::size_t bytes) {
    return ";" + std::string(bytes, 'x') + "\n" + plate;
  };
  for (const char* const name : {"changer-5", "switcher-4"}) {
    const Machine machine = test::embedded(name);
    const std::string expected = told(behind(0), machine);
    for (const std::size_t bytes : {1U, 17U, 40U, 300U, 1000U, 3000U, 30000U, 100000U})
      EXPECT_EQ(told(behind(bytes), machine), expected) << bytes;
  }
}

}  // namespace
}  // namespace platetally
