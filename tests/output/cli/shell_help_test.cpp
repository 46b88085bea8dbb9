// Man page and completions are made from what the parser knows: nothing is forgotten, and nothing
// that a text holds becomes syntax.
#include "output/cli/shell_help.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "output/cli/run_command.hpp"
#include "platetally/machine.hpp"

namespace platetally::cli {
namespace {

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
    ++found;
  return found;
}

std::string in_roff(const std::string& text) {
  std::string out;
  for (const char c : text)
    out += c == '-' ? std::string("\\-") : std::string(1, c);
  return out;
}

TEST(ShellHelp, TheManPageNamesEveryCommandAndOption) {
  test::WholeProgram whole;
  const std::string page = man_page(whole.program(), "9.9.9");
  EXPECT_TRUE(page.starts_with(".TH PLATETALLY 1 \"\" \"platetally 9.9.9\"")) << page.substr(0, 80);
  for (const CommandText& command : whole.program().command_texts()) {
    EXPECT_EQ(count(page, "\\fBplatetally " + in_roff(command.name) + "\\fR: "), 1U);
    for (const OptionText& flag : command.flags)
      for (const std::string& name : flag.names)
        EXPECT_NE(page.find("\\fB" + in_roff(name) + "\\fR"), std::string::npos) << name;
  }
}

// In roff a line that begins with a point is a request; a bare dash is a hyphen.
TEST(ShellHelp, TheManPageHasNoRequestsButItsOwn) {
  Program program("platetally", ".so /etc/passwd", "");
  bool flag = false;
  program.command("tally", "'so it goes\\n").flag("--hush", flag, ".TP of a lantern - lit");
  const std::string page = man_page(program, "1");
  EXPECT_NE(page.find("\n\\&.so /etc/passwd\n"), std::string::npos) << page;
  EXPECT_NE(page.find("\\&'so it goes\\en"), std::string::npos) << page;
  EXPECT_NE(page.find("\n\\&.TP of a lantern \\- lit\n"), std::string::npos) << page;
}

TEST(ShellHelp, EveryShellKnowsEveryCommandAndOption) {
  test::WholeProgram whole;
  for (const char* shell : {"bash", "zsh", "fish"}) {
    const std::string text = completion(whole.program(), shell);
    for (const CommandText& command : whole.program().command_texts()) {
      EXPECT_NE(text.find(command.name), std::string::npos) << shell << " " << command.name;
      for (const OptionText& flag : command.flags)
        for (const std::string& name : flag.names) {
          const std::string shown = std::string(shell) != "fish" ? name
                                    : name.starts_with("--")     ? "-l " + name.substr(2)
                                                                 : "-s " + name.substr(1);
          EXPECT_NE(text.find(shown), std::string::npos) << shell << " " << name;
        }
    }
    for (const std::string& machine : embedded_machine_names())
      EXPECT_NE(text.find(machine), std::string::npos) << shell << " offers no machine";
  }
}

// A text in single quotes ends where the shell thinks it does: quotes within it are taken apart.
TEST(ShellHelp, AnApostropheEndsNoQuotedText) {
  Program program("platetally", "what", "");
  std::string place;
  program.command("tally", "a gardener's [plate]: all of it")
      .option("--label", place, "the oak's label [new]: here")
      .takes("TEXT");
  for (const char* shell : {"zsh", "fish"}) {
    const std::string text = completion(program, shell);
    EXPECT_NE(text.find("gardener'\\''s"), std::string::npos) << shell;
    EXPECT_NE(text.find("oak'\\''s label"), std::string::npos) << shell;
    EXPECT_EQ(count(text, "'") % 2, 0U) << shell;
  }
  const std::string zsh = completion(program, "zsh");
  EXPECT_NE(zsh.find("\\[new\\]\\: here"), std::string::npos)
      << "brackets and colons have a meaning there: " << zsh;
}

TEST(ShellHelp, AnotherShellIsRefused) {
  test::WholeProgram whole;
  std::string said;
  try {
    completion(whole.program(), "csh");
  } catch (const UsageError& error) {
    said = error.what();
  }
  EXPECT_EQ(said, "--completion csh: expected bash, zsh or fish");
}

TEST(ShellHelp, TextsOfOptionsAreWhatTheParserWasTold) {
  Program program("platetally", "what", "");
  std::string format, file;
  std::vector<std::string> plates;
  bool hush = false;
  int copies = 1;
  const Command tally = program.command("tally", "counts");
  tally.option("--format", format, "how").one_of({"text", "json"}).takes("FORMAT");
  tally.option("-o,--output", file, "where to").takes("FILE");
  tally.option("--log", file, "a log").takes("FILE:EXPERIMENT");
  tally.option("--copies", copies, "so many").between(1, 9).takes("N");
  tally.flag("-q,--hush", hush, "say nothing");
  tally.option("PLATE", plates, "plates").takes("");
  const CommandText text = program.command_texts().at(0);
  EXPECT_EQ(text.name, "tally");
  EXPECT_EQ(text.what, "counts");
  const auto flag = [&](const std::string& name) {
    return *std::ranges::find_if(text.flags, [&](const OptionText& one) {
      return std::ranges::find(one.names, name) != one.names.end();
    });
  };
  EXPECT_EQ(flag("--format").words, (std::vector<std::string>{"text", "json"}));
  EXPECT_EQ(flag("--format").value, "FORMAT");
  EXPECT_FALSE(flag("--format").takes_file);
  EXPECT_EQ(flag("--output").names, (std::vector<std::string>{"-o", "--output"}));
  EXPECT_TRUE(flag("--output").takes_file);
  EXPECT_EQ(flag("--log").value, "FILE:EXPERIMENT");
  EXPECT_EQ(flag("--copies").value, "N");
  EXPECT_TRUE(flag("--copies").words.empty());
  EXPECT_EQ(flag("--hush").value, "");
  ASSERT_EQ(text.positionals.size(), 1U);
  EXPECT_TRUE(text.positionals[0].is_positional);
  EXPECT_TRUE(text.positionals[0].takes_file);
}

}  // namespace
}  // namespace platetally::cli
