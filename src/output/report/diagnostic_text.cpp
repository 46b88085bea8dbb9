// A diagnostic for people: where, what, the line with a caret, what to do about it.
#include <fmt/format.h>

#include <algorithm>

#include "output/report/strings.hpp"
#include "output/report/text_page.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::TextPage;

constexpr int kIndent = 4;

std::string place_of(const Diagnostic& diagnostic, std::string_view path) {
  std::string place = report::printable(path);
  if (diagnostic.line > 0)
    place += fmt::format(":{}", diagnostic.line);
  if (diagnostic.line > 0 && diagnostic.column > 0)
    place += fmt::format(":{}", diagnostic.column);
  return place;
}

/// The excerpt, cut to `width` columns so that the caret below it stays inside.
void show_excerpt(const Diagnostic& diagnostic, int width, TextPage& page) {
  const std::string_view excerpt = diagnostic.excerpt;
  const std::uint64_t offset = diagnostic.excerpt_offset;
  const bool has_caret =
      diagnostic.column > offset && diagnostic.column - offset <= excerpt.size() + 1;
  const std::size_t byte = has_caret ? static_cast<std::size_t>(diagnostic.column - offset - 1) : 0;
  const int caret = report::display_width(report::printable(excerpt.substr(0, byte)));
  const int first = std::max(0, caret - width / 2);
  const std::string shown = report::columns(report::printable(excerpt), first, width);
  page.lines(fmt::format("{:{}}{}\n", "", kIndent, shown));
  if (has_caret)
    page.lines(fmt::format("{:{}}{}\n", "", kIndent + caret - first,
                           page.styled("^", report::style_of(diagnostic.severity))));
}

}  // namespace

std::string to_text(const Diagnostic& diagnostic, std::string_view path,
                    const TextOptions& options) {
  TextPage page(options);
  const std::string severity(name_of(diagnostic.severity));
  const std::string first = fmt::format("{}: {}: ", place_of(diagnostic, path), severity);
  const std::vector<std::string> lines = report::wrap(
      fmt::format("{}{} [{}]", first, report::printable(diagnostic.message), diagnostic.code),
      options.width - kIndent);
  for (std::size_t i = 0; i < lines.size(); ++i)
    page.lines(i == 0 ? lines[i] + '\n' : fmt::format("{:{}}{}\n", "", kIndent, lines[i]));
  if (!diagnostic.excerpt.empty())
    show_excerpt(diagnostic, std::max(options.width, 2 * kIndent) - kIndent, page);
  if (!diagnostic.help.empty())
    page.prose("help: " + report::printable(diagnostic.help), kIndent);
  if (diagnostic.count > 1)
    page.prose(fmt::format("and {} more like this", diagnostic.count - 1), kIndent);
  std::string text = page.take();
  if (options.colour) {
    const std::size_t at = text.find(severity, text.find(": "));
    if (at != std::string::npos)
      text.replace(at, severity.size(),
                   page.styled(severity, report::style_of(diagnostic.severity)));
  }
  return text;
}

}  // namespace platetally
