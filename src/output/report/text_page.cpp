#include "output/report/text_page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "output/report/strings.hpp"
#include "output/report/text_table.hpp"

namespace platetally::report {

namespace {

constexpr int kLeastWidth = 60;
constexpr int kFigureColumns = 19;  // "12 h 00 min 00 s" and room before it

bool is_inside_character(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
}

// Graphic renditions of ECMA-48 (8.3.117).
std::string_view rendition(Style style) {
  switch (style) {
    case Style::plain:
      return "";
    case Style::heading:
      return "\x1b[1m";
    case Style::error:
      return "\x1b[1;31m";
    case Style::warning:
      return "\x1b[33m";
    case Style::note:
      return "\x1b[36m";
    case Style::faint:
      return "\x1b[2m";
  }
  return "";
}

}  // namespace

Style style_of(Severity severity) {
  switch (severity) {
    case Severity::note:
      return Style::note;
    case Severity::warning:
      return Style::warning;
    case Severity::error:
      return Style::error;
  }
  return Style::error;
}

std::string TextPage::styled(std::string_view text, Style style) const {
  if (!options_.colour || style == Style::plain)
    return std::string(text);
  return fmt::format("{}{}\x1b[0m", rendition(style), text);
}

void TextPage::heading(std::string_view title, std::string_view remark) {
  out_ += '\n' + styled(title, Style::heading);
  if (remark.empty()) {
    out_ += '\n';
    return;
  }
  const int indent = 2;
  if (display_width(title) + 2 + display_width(remark) <= std::max(options_.width, kLeastWidth)) {
    out_ += fmt::format("  {}\n", styled(remark, Style::faint));
  } else {
    out_ += '\n';
    prose(remark, indent);
  }
}

void TextPage::prose(std::string_view text, int indent) {
  for (const std::string& line : wrap(text, std::max(options_.width, kLeastWidth) - indent))
    out_ += fmt::format("{:{}}{}\n", "", indent, line);
}

void TextPage::clipped(std::string_view text, int indent, int lines) {
  hanging(std::string(static_cast<std::size_t>(indent), ' '), text, indent, lines);
}

void TextPage::hanging(std::string_view front, std::string_view text, int indent, int lines,
                       int front_columns) {
  const int width = std::max(options_.width, kLeastWidth);
  const int first = front_columns > 0 ? front_columns : indent;
  std::vector<std::string> wrapped = wrap(text, width - indent, width - first);
  if (static_cast<int>(wrapped.size()) > lines) {
    wrapped.resize(static_cast<std::size_t>(lines));
    std::string& last = wrapped.back();
    const int room = width - (lines == 1 ? first : indent);
    while (!last.empty() && display_width(last) + 4 > room) {
      std::size_t cut = last.rfind(' ');
      if (cut == std::string::npos)  // before the last character, which may be several bytes
        for (cut = last.size() - 1; cut > 0 && is_inside_character(last[cut]);)
          --cut;
      last.erase(cut);
    }
    last += " ...";
  }
  std::string before(front);
  for (const std::string& line : wrapped) {
    out_ += before + line;
    out_.erase(out_.find_last_not_of(' ') + 1);
    out_ += '\n';
    before = std::string(static_cast<std::size_t>(indent), ' ');
  }
}

void TextPage::amount(std::string_view figure, std::string_view words) {
  const int indent = kFigureColumns + 2;
  std::string front = styled(flush_right(figure, kFigureColumns), Style::heading) + "  ";
  for (const std::string& line : wrap(words, std::max(options_.width, kLeastWidth) - indent)) {
    out_ += front + line + '\n';
    front = std::string(static_cast<std::size_t>(indent), ' ');
  }
}

}  // namespace platetally::report
