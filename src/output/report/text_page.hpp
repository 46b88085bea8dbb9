// A page of text under way: headings, prose with an amount in front, colour where it is wanted.
#pragma once

#include <string>
#include <string_view>

#include "platetally/report.hpp"

namespace platetally::report {

enum class Style { plain, heading, error, warning, note, faint };

Style style_of(Severity severity);

class TextPage {
 public:
  explicit TextPage(const TextOptions& options) : options_(options) {}

  const TextOptions& options() const { return options_; }

  /// `text` between the escape sequences of `style`, or as it is where no colour is wanted.
  std::string styled(std::string_view text, Style style) const;

  /// A blank line and a heading, with a remark behind it that explains what follows.
  void heading(std::string_view title, std::string_view remark = "");

  /// Prose, wrapped, each line behind `indent` blanks.
  void prose(std::string_view text, int indent);

  /// The same in at most `lines` lines; what is cut off ends with "...".
  void clipped(std::string_view text, int indent, int lines);

  /// `front` as it is, which takes `front_columns` columns (0: as many as the indent), then the
  /// text, in at most `lines` lines, later ones behind `indent` blanks.
  void hanging(std::string_view front, std::string_view text, int indent, int lines,
               int front_columns = 0);

  /// A figure flush right in a column of its own, and what it is beside it.
  void amount(std::string_view figure, std::string_view words);

  /// Lines as they are; each must end with a newline.
  void lines(std::string_view text) { out_ += text; }

  std::string take() { return std::move(out_); }

 private:
  TextOptions options_;
  std::string out_;
};

}  // namespace platetally::report
