// Which moves are marked as purge by comments: each move that lays material is shown as p (marked)
// or as a dot.
#include "reading/interpreter/comment_marks.hpp"

#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

std::string marked(std::string_view text, const Machine& machine) {
  std::string shown;
  for (const Record& record : test::run(text, machine).moves())
    if (lays_material(record))
      shown += (record.flags & kMarkedPurge) != 0 ? 'p' : '.';
  return shown;
}

/// Two moves that lay, the comment alone on its line, two more.
std::string around(std::string_view comment) {
  return fmt::format("M83\nG1 Z1\nG1 X1 E1\nG1 X2 E1\n{}\nG1 X3 E1\nG1 X4 E1\n", comment);
}

TEST(CommentMarks, BeginWithPlainWordsAtTheStart) {
  const struct {
    const char* comment;
    bool marks;
  } rows[] = {
      {"; prime tower", true},
      {";Prime Tower", true},
      {";   PURGE", true},
      {"; purge line", true},
      {"; priming tower 3", true},
      {"; part: prime tower", true},
      {";TYPE:Purge", true},
      {"(purge tower)", true},
      {"; begin purge", true},
      {"; purge from 0 to T1", true},
      {"; purge tower for layer 7", true},
      // other separators, other names
      {";PRIME-TOWER", true},
      {"; purge_tower", true},
      {"; PrimeTower", true},
      {"; PURGE_START", true},
      {"; wipe tower", true},
      {"; wipe-tower start", true},
      {"; prime pillar", true},
      {"; PURGE_BLOCK T2", true},
      {"; feature prime tower", true},
      {"; FEATURE: Prime tower", true},
      {"; kind = prime tower", true},
      {"; section - wipe tower", true},
      {"; wipe", false},
      {"; prime", false},
      {"; tower", false},
      {"; feature wall", false},
      {"; purge_tower_width 30", false},
      {"; wipe tower off", false},
      {"; PURGE_END", false},
      // not at the start
      {"; the prime tower", false},
      {"; 20 mm purge", false},
      {"; a: b: purge", false},
      // longer words, settings, sentences
      {"; purged", false},
      {"; purge_volume", false},
      {"; purge = 1", false},
      {"; prime tower = yes", false},
      {"; purge: 140", false},
      {"; purge volume 140", false},
      {"; purge the nozzle before the tags", false},
      {"; purge, then print", false},
      // a comment put out of use
      {"; ; purge", false},
      {";;purge", false},
      {"; - purge", false},
      {"(( purge ))", false},
      {"; end of prime tower", false},
      {"; purge done", false},
      {";", false},
  };
  for (const auto& row : rows)
    EXPECT_EQ(marked(around(row.comment), machine()), row.marks ? "..pp" : "....") << row.comment;
}

TEST(CommentMarks, TakeAnyCaseAndAnySeparatorBetweenTheWords) {
  const auto all_upper = [](std::string text) {
    for (char& c : text)
      c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    return text;
  };
  for (const std::string first : {"prime", "priming", "purge", "wipe", "wiping"})
    for (const std::string second : {"tower", "pillar", "block", "line"})
      for (const std::string between : {" ", "  ", "-", "_", "", " - ", "__"})
        for (const std::string end : {"", " start", "_START", "-begin"})
          for (const std::string before : {"", "feature ", "type: ", "FEATURE="}) {
            const std::string comment = "; " + before + first + between + second + end;
            EXPECT_EQ(marked(around(comment), machine()), "..pp") << comment;
            EXPECT_EQ(marked(around(all_upper(comment)), machine()), "..pp") << comment;
          }
}

TEST(CommentMarks, Last) {
  const struct {
    const char* name;
    const char* text;
    const char* expected;
  } rows[] = {
      {"to an end mark", "; purge\nG1 X1 E1\n; purge end\nG1 X2 E1\n", "p."},
      {"to an end mark in other words",
       "; prime tower start\nG1 X1 E1\n; end of prime tower\nG1 X2 E1\n", "p."},
      {"to the next section of the same form", "; kind: purge\nG1 X1 E1\n; kind: wall\nG1 X2 E1\n",
       "p."},
      {"to an end mark with underscores", "; PURGE_START\nG1 X1 E1\n; PURGE_END\nG1 X2 E1\n", "p."},
      {"to the next title of the same form without a colon",
       "; feature prime tower\nG1 X1 E1\n; feature wall\nG1 X2 E1\n", "p."},
      {"beyond a title of another form", "; feature prime tower\nG1 X1 E1\n; width 0.4\nG1 X2 E1\n",
       "pp"},
      {"beyond a comment of another form",
       "; kind: purge\n; width: 0.4\nG1 X1 E1\n; plain\nG1 X2 E1\n", "pp"},
      {"beyond settings", "; purge\n; speed = 20\nG1 X1 E1\n", "p"},
      {"beyond comments behind commands", "; purge\nG1 X1 E1 ; wall\nG1 X2 E1\n", "pp"},
      {"beyond other sections, when begun in so many words",
       "; purge begin\nG1 X1 E1\n; wall\nG1 X2 E1\n; purge end\nG1 X3 E1\n", "pp."},
      {"not beyond the height", "; purge\nG1 X1 E1\nG1 Z2\nG1 X2 E1\n", "p."},
      {"not beyond the height, however begun", "; purge begin\nG1 X1 E1\nG1 Z2\nG1 X2 E1\n", "p."},
      {"over hops", "; purge\nG1 X1 E1\nG1 Z2\nG1 X5\nG1 Z1\nG1 X2 E1\n", "pp"},
      {"over the tool change they announce", "; purge\nT1\nG1 X1 E1\n", "p"},
      {"not over a tool change behind the purge", "; purge\nG1 X1 E1\nT1\nG1 X2 E1\n", "p."},
      {"over a repeated selection", "; purge\nG1 X1 E1\nT0\nG1 X2 E1\n", "pp"},
      {"for their line, behind a command", "G1 X1 E1 ; purge\nG1 X2 E1\n", "p."},
      {"not at all in a comment after a comment mark", "; text ; purge\nG1 X1 E1\n", "."},
  };
  for (const auto& row : rows)
    EXPECT_EQ(marked(std::string("M83\nT0\nG1 Z1\n") + row.text, machine()), row.expected)
        << row.name;
}

TEST(CommentMarks, CanBeSwitchedOff) {
  Machine deaf = machine();
  deaf.dialect.use_trade_words = false;
  EXPECT_EQ(marked(around("; purge"), deaf), "....");
}

TEST(CommentMarks, FollowTheMachinesOwnPatterns) {
  Machine own = machine();
  own.dialect.comments = {{"rinse on", CommentMeaning::begin_purge},
                          {"rinse off", CommentMeaning::end_purge},
                          {"storey", CommentMeaning::layer}};
  // With an end pattern nothing else ends it: not a comment, a height, or a tool.
  EXPECT_EQ(marked("M83\nG1 Z1\n; RINSE ON now\nG1 X1 E1\n; wall\nG1 Z2\nG1 X2 E1\nT1\nG1 X3 E1\n"
                   "; storey 2\nG1 X4 E1\n;rinse off\nG1 X5 E1\n",
                   own),
            "pppp.");
  EXPECT_EQ(marked(around("; then rinse on"), own), "....");
  own.dialect.comments.erase(own.dialect.comments.begin() + 1);
  EXPECT_EQ(marked("M83\nG1 Z1\n; rinse on\nG1 X1 E1\n; wall\nG1 X2 E1\n", own), "p.");
  EXPECT_EQ(marked("M83\nG1 Z1\n; rinse on\nG1 X1 E1\n; storey 2\nG1 X2 E1\n", own), "p.");
  // The trade's own words go on working beside them.
  EXPECT_EQ(marked(around("; purge"), own), "..pp");
}

TEST(CommentMarks, NothingIsFoundInsideALongComment) {
  std::string program = "; saved: ";
  for (int i = 0; i < 2000; ++i)
    program += "G1 X1 E1 ; purge ";
  EXPECT_EQ(marked(around(program), machine()), "....");
}

}  // namespace
}  // namespace platetally::interpreter::test
