// A diagnostic for people, in a form of our own: first, for grep and editors, file, line and
// column; then the code, how much it matters, and what was met and done. The line itself follows
// with its place marked inside it, then what can be mended and how often the same was met.
#include <fmt/format.h>

#include <algorithm>

#include "output/report/strings.hpp"
#include "output/report/text_page.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::TextPage;

constexpr int kIndent = 4;
constexpr std::string_view kLine = "line: ";
constexpr std::string_view kPlace = ">>";

std::string place_of(const Diagnostic& diagnostic, std::string_view path) {
  std::string place = report::printable(path);
  if (diagnostic.line > 0)
    place += fmt::format(":{}", diagnostic.line);
  if (diagnostic.line > 0 && diagnostic.column > 0)
    place += fmt::format(":{}", diagnostic.column);
  return place;
}

/// "    line: ", the text before the place, ">>", the text from the place on; cut to `width`
/// columns around the place. Without a place in the excerpt, the text alone.
void show_excerpt(const Diagnostic& diagnostic, int width, TextPage& page) {
  const std::string_view excerpt = diagnostic.excerpt;
  const std::uint64_t offset = diagnostic.excerpt_offset;
  const bool has_place =
      diagnostic.column > offset && diagnostic.column - offset <= excerpt.size() + 1;
  const std::size_t byte = has_place ? static_cast<std::size_t>(diagnostic.column - offset - 1) : 0;
  const std::string before = report::printable(excerpt.substr(0, byte));
  const std::string behind = report::printable(excerpt.substr(byte));
  const int room = width - static_cast<int>(kLine.size() + kPlace.size());
  const int place = report::display_width(before);
  const int first = std::max(0, place - room / 2);
  const int shown = place - first;
  std::string line = fmt::format("{:{}}{}", "", kIndent, kLine);
  if (has_place)
    line += report::columns(before, first, shown) +
            page.styled(kPlace, report::style_of(diagnostic.severity));
  page.lines(line + report::columns(behind, 0, room - shown) + '\n');
}

}  // namespace

std::string to_text(const Diagnostic& diagnostic, std::string_view path,
                    const TextOptions& options) {
  TextPage page(options);
  const std::string severity(name_of(diagnostic.severity));
  const std::string first =
      fmt::format("{}: {}({}): ", place_of(diagnostic, path),
                  diagnostic.code.empty() ? "" : diagnostic.code + ' ', severity);
  const std::vector<std::string> lines =
      report::wrap(first + report::printable(diagnostic.message), options.width - kIndent);
  for (std::size_t i = 0; i < lines.size(); ++i)
    page.lines(i == 0 ? lines[i] + '\n' : fmt::format("{:{}}{}\n", "", kIndent, lines[i]));
  if (!diagnostic.excerpt.empty())
    show_excerpt(diagnostic, std::max(options.width, 2 * kIndent) - kIndent, page);
  if (!diagnostic.help.empty())
    page.prose("mend: " + report::printable(diagnostic.help), kIndent);
  if (diagnostic.count > 1)
    page.prose(fmt::format("{} more of this kind", diagnostic.count - 1), kIndent);
  std::string text = page.take();
  if (options.colour) {
    const std::size_t at = text.find('(' + severity + ')', text.find(": "));
    if (at != std::string::npos)
      text.replace(at + 1, severity.size(),
                   page.styled(severity, report::style_of(diagnostic.severity)));
  }
  return text;
}

}  // namespace platetally
