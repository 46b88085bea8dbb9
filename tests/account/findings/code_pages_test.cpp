// Every code that the sources can give has a page, and docs/codes.md lists them.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>
#include <string>

#include "platetally/explain.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

const fs::path kRoot = fs::path(PLATETALLY_TESTDATA) / "..";

std::string read_file(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in) << path;
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// Words in quotes that have the form of a code and are none.
const std::set<std::string> kOtherWords{
    // machines
    "changer-5", "switcher-4", "single-1",
    // what widens the band of the time
    "long-swap", "start-and-end", "unknown-words", "past-errors",
    // what waits for a person
    "manual-change",
    // towers, orders, phases, spans of logs
    "no-swaps", "start-up", "carry-over", "cool-down", "heat-up", "first-extrusion", "month-first"};

/// Every word of the sources that has the form of a code.
std::set<std::string> words_of_sources() {
  std::set<std::string> words;
  const std::regex form("\"([a-z]+(-[a-z0-9]+)+)\"");
  for (const char* floor :
       {"base", "machine", "reading", "motion", "heat", "material", "account", "meter"})
    for (const auto& entry : fs::recursive_directory_iterator(kRoot / "src" / floor)) {
      const std::string ending = entry.path().extension().string();
      const std::string name = entry.path().filename().string();
      if ((ending != ".cpp" && ending != ".hpp") || name == "code_pages.cpp" || name == "pages.cpp")
        continue;
      const std::string text = read_file(entry.path());
      for (std::sregex_iterator at(text.begin(), text.end(), form), end; at != end; ++at)
        if (!kOtherWords.contains((*at)[1]))
          words.insert((*at)[1]);
    }
  return words;
}

TEST(CodePages, EveryCodeOfTheSourcesHasOne) {
  const std::set<std::string> words = words_of_sources();
  EXPECT_GT(words.size(), 100U);
  for (const std::string& word : words)
    EXPECT_TRUE(explain_code(word)) << word << " has no page in code_pages.cpp";
}

TEST(CodePages, NoneIsOfACodeThatNothingGives) {
  const std::set<std::string> words = words_of_sources();
  std::set<std::string> codes;
  for (const CodePage& page : code_pages()) {
    const std::string code(page.code);
    EXPECT_TRUE(words.contains(code)) << code;
    EXPECT_TRUE(codes.insert(code).second) << code << " twice";
    EXPECT_TRUE(page.meaning.ends_with('.')) << code;
    EXPECT_FALSE(page.remedy.empty()) << code;
  }
}

TEST(CodePages, ExplainFindsBothKinds) {
  EXPECT_EQ(explain_code("tower-without-need"), explain_finding("tower-without-need"));
  EXPECT_NE(explain_code("decimal-comma").value_or("").find("A remark about the plate: A comma"),
            std::string::npos);
  EXPECT_FALSE(explain_code("decimal-coma"));
}

std::string table_of(CodeKind kind) {
  std::string table = "| code | what was met, and what was done | what to do |\n|---|---|---|\n";
  for (const CodePage& page : code_pages())
    if (page.kind == kind) {
      table += "| `" + std::string(page.code) + "` | " + std::string(page.meaning) + " | " +
               std::string(page.remedy) + " |\n";
    }
  return table;
}

TEST(CodePages, TheManualHasTheSameTables) {
  const fs::path path = kRoot / "docs" / "codes.md";
  std::string page = read_file(path);
  for (const auto& [kind, name] :
       {std::pair{CodeKind::verdict, "verdict"}, std::pair{CodeKind::plate, "plate"},
        std::pair{CodeKind::file, "file"}}) {
    const std::string begin = "<!-- " + std::string(name) + ": begin -->\n";
    const std::string end = "<!-- " + std::string(name) + ": end -->\n";
    const std::size_t from = page.find(begin) + begin.size();
    const std::size_t to = page.find(end);
    ASSERT_NE(to, std::string::npos) << name;
    ASSERT_LE(from, to);
    page.replace(from, to - from, table_of(kind));
  }
  for (const std::string& code : finding_codes())
    EXPECT_NE(page.find('`' + code + '`'), std::string::npos) << code;
  if (std::getenv("PLATETALLY_UPDATE_GOLDENS") != nullptr)
    std::ofstream(path, std::ios::binary) << page;
  EXPECT_EQ(page, read_file(path))
      << "if this is wanted: PLATETALLY_UPDATE_GOLDENS=1 build/test/bin/findings_test";
}

}  // namespace
}  // namespace platetally
