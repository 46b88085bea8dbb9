// Marks in comments: where purge begins and ends.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::interpreter {

/// A comment counts only by how it starts, after blanks and one "word:" in front. The machine
/// file's patterns come first; then the trade's plain words ("prime tower", "purge", ...), unless
/// the comment assigns something ("purge = 30") or is itself commented out ("; ; purge"). A mark
/// with "end", "done" or "finished" ends purge. Without one, purge ends at the next comment that
/// stands alone with the same word in front, at the next swap and at the next layer.
class CommentMarks {
 public:
  explicit CommentMarks(const Dialect& dialect);

  /// Looks at a comment's text; `alone`: nothing else stands on its line.
  void see(std::string_view comment, bool alone);
  /// A swap or a new layer: ends what no mark has ended, unless nothing was laid under it yet.
  void boundary() {
    if (until_boundary_ && used_)
      set(false, false);
  }
  /// Something was laid under the present mark.
  void laid() { used_ = true; }
  void set(bool in_purge, bool until_boundary) {
    in_purge_ = in_purge;
    until_boundary_ = in_purge && until_boundary;
    used_ = false;
  }
  bool in_purge() const { return in_purge_; }

 private:
  bool see_patterns(std::string_view comment);

  std::vector<CommentPattern> patterns_;
  bool use_trade_words_;
  bool in_purge_ = false;
  bool until_boundary_ = false;
  bool used_ = false;
  std::string prefix_;
};

}  // namespace platetally::interpreter
