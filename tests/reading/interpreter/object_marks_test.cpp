// Which comments name objects.
#include "reading/interpreter/object_marks.hpp"

#include <gtest/gtest.h>

namespace platetally::interpreter {
namespace {

/// The name in force behind a comment alone on its line; "" for none, "-" for no change.
std::string named_by(ObjectMarks& marks, const char* comment, bool alone = true) {
  const std::optional<int> object = marks.take(comment, alone);
  if (!object)
    return "-";
  return *object == ObjectMarks::kNone ? "" : marks.names()[static_cast<std::size_t>(*object)];
}

std::string named_by(const char* comment) {
  const Dialect dialect;
  ObjectMarks marks(dialect);
  return named_by(marks, comment);
}

TEST(ObjectMarks, BeginWithAVerbOrWithTheWordAlone) {
  EXPECT_EQ(named_by(" begin object lantern, left"), "lantern, left");
  EXPECT_EQ(named_by("start of object 3"), "3");
  EXPECT_EQ(named_by("BEGIN OBJECT: tag"), "tag");
  EXPECT_EQ(named_by("object start tray_2"), "tray_2");
  EXPECT_EQ(named_by("object 7"), "7");
  EXPECT_EQ(named_by("object: \"plant label 4\""), "plant label 4");
  EXPECT_EQ(named_by("begin_object fern"), "fern");
}

TEST(ObjectMarks, ASentenceASettingAndOtherWordsAreNone) {
  EXPECT_EQ(named_by("object height 20 mm"), "-");
  EXPECT_EQ(named_by("objects 3"), "-");
  EXPECT_EQ(named_by("object = 3"), "-");
  EXPECT_EQ(named_by("begin object name = fern"), "-");
  EXPECT_EQ(named_by("print objects one by one"), "-");
  EXPECT_EQ(named_by("the object fern"), "-");
  EXPECT_EQ(named_by("object"), "-");
  EXPECT_EQ(named_by("start object"), "-");
  EXPECT_EQ(named_by("; object 3"), "-");
}

TEST(ObjectMarks, GoOnUntilTheEndOrAnotherObject) {
  const Dialect dialect;
  ObjectMarks marks(dialect);
  EXPECT_EQ(named_by(marks, "object fern"), "fern");
  EXPECT_EQ(named_by(marks, "object fern"), "-");
  EXPECT_EQ(named_by(marks, "start of object moss"), "moss");
  EXPECT_EQ(named_by(marks, "end object moss"), "");
  EXPECT_EQ(named_by(marks, "end of object"), "-");
  EXPECT_EQ(named_by(marks, "print object fern"), "fern");
  EXPECT_EQ(named_by(marks, "object end"), "");
  EXPECT_EQ(marks.names().size(), 2U);
}

TEST(ObjectMarks, AreNotTakenBehindACommandNorWhereTradeWordsAreOff) {
  Dialect dialect;
  ObjectMarks marks(dialect);
  EXPECT_EQ(named_by(marks, "object 3", false), "-");
  dialect.use_trade_words = false;
  EXPECT_EQ(named_by(marks, "object 3"), "-");
}

TEST(ObjectMarks, FollowTheMachinesOwnPatterns) {
  Dialect dialect;
  dialect.use_trade_words = false;
  dialect.comments = {{"piece>", CommentMeaning::begin_object},
                      {"piece done", CommentMeaning::end_object},
                      {"rinse", CommentMeaning::begin_purge}};
  ObjectMarks marks(dialect);
  EXPECT_EQ(named_by(marks, " Piece> rose 1"), "rose 1");
  EXPECT_EQ(named_by(marks, "rinse"), "-");
  EXPECT_EQ(named_by(marks, "PIECE DONE"), "");
}

TEST(ObjectMarks, NamesAreBounded) {
  const Dialect dialect;
  ObjectMarks marks(dialect);
  for (std::size_t i = 0; i < ObjectMarks::kMostNames; ++i)
    marks.take("object n" + std::to_string(i), true);
  EXPECT_EQ(named_by(marks, "object one-more"), "");
  EXPECT_EQ(marks.names().size(), ObjectMarks::kMostNames);
  EXPECT_EQ(named_by(marks, ("object " + std::string(500, 'x')).c_str()), "-");  // none still
  EXPECT_EQ(named_by(("object " + std::string(500, 'x')).c_str()).size(), 80U);
}

}  // namespace
}  // namespace platetally::interpreter
