// Marks of purge in comments: plain words of the trade, and the patterns of a machine file.
//
// A mark counts only at the start of a comment, after blanks and at most one "word:" prefix, or a
// word like "feature" or "type". Case does not matter, nor whether blanks, hyphens or underscores
// stand between the words: "PURGE_START", "wipe tower", "feature prime-tower". A
// comment that is a setting ("key = value"), a sentence, or a comment put out of use ("; ; ...")
// marks nothing.
//
// Behind a command on the same line a mark is good for that line. Alone on its line it begins a
// section, which ends with
//  - a comment that ends it, always;
//  - material laid at another height, as a purge lies within one layer;
//  - and, unless the mark said "start" or "begin": the next comment that stands alone in the same
//    form (the same prefix), whatever it says; or another tool, once material was laid in the
//    section.
// A machine's own begin pattern is ended by its own end pattern alone, where it has one.
#pragma once

#include <string>
#include <string_view>

#include "platetally/machine.hpp"

namespace platetally::interpreter {

class CommentMarks {
 public:
  explicit CommentMarks(const Dialect& dialect);

  /// Each line begins without a mark of its own.
  void begin_line() { line_marked_ = false; }
  void take(std::string_view comment, bool alone);

  bool active() const { return line_marked_ || outlasts_line(); }
  /// The mark in force holds for the lines behind it too.
  bool outlasts_line() const { return by_word_ || in_section(); }
  bool in_section() const { return section_ != Section::none; }
  /// A word of the machine's own begins purge, or ends it.
  void mark_by_word(bool begins) { by_word_ = begins; }
  bool is_marked_by_word() const { return by_word_; }

  /// Material is about to be laid at this height: may end the section.
  void lay(double z_mm);
  /// Another tool than before is selected: may end the section.
  void select_other_tool();

 private:
  enum class Section : unsigned char {
    none,
    implicit,   ///< ends by what comes next
    until_end,  ///< waits for its end mark, within one height
    bracketed,  ///< waits for the machine's own end mark, whatever comes
  };

  bool take_pattern(std::string_view text, bool alone);
  void begin(Section section, bool alone, std::string_view prefix);

  const Dialect& dialect_;
  bool has_end_pattern_ = false;
  bool line_marked_ = false;
  bool by_word_ = false;
  Section section_ = Section::none;
  std::string prefix_;
  bool laid_ = false;
  double z_mm_ = 0.0;
};

}  // namespace platetally::interpreter
