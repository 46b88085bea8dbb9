// platetally explain: what a code means.
#include <fmt/format.h>

#include <memory>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/output.hpp"
#include "output/cli/terminal.hpp"
#include "output/cli/usage.hpp"
#include "platetally/explain.hpp"

namespace platetally::cli {

namespace {

/// Paragraphs, wrapped at blanks.
std::string wrapped(const std::string& text, std::size_t width) {
  std::string out;
  std::size_t column = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    if (text[at] == '\n') {
      out += '\n';
      column = 0;
      ++at;
      continue;
    }
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::size_t length = end - at;
    if (column > 0 && column + 1 + length > width) {
      out += '\n';
      column = 0;
    }
    if (column > 0) {
      out += ' ';
      ++column;
    }
    out.append(text, at, length);
    column += length;
    at = end < text.size() && text[end] == ' ' ? end + 1 : end;
  }
  return out;
}

/// Of findings, then of verdicts and remarks.
std::vector<std::string> all_codes() {
  std::vector<std::string> codes = finding_codes();
  for (const CodePage& page : code_pages())
    codes.emplace_back(page.code);
  return codes;
}

int explain(const std::string& code) {
  Output output("", "");
  if (code.empty()) {
    std::string list;
    for (const std::string& known : all_codes())
      list += known + '\n';
    output.write(list);
    return kDone;
  }
  const auto page = explain_code(code);
  if (!page) {
    const std::string meant = nearest(code, all_codes());
    throw UsageError(fmt::format("nothing has the code '{}'; {}", code,
                                 meant.empty() ? "'platetally explain' lists all of them"
                                               : fmt::format("did you mean '{}'?", meant)));
  }
  output.write(wrapped(*page, static_cast<std::size_t>(prose_width(true))));
  return kDone;
}

}  // namespace

Run add_explain(Program& program) {
  const auto code = std::make_shared<std::string>();
  const Command command =
      program.command("explain", "what a finding, a verdict or a remark means, by its code");
  command.option("CODE", *code, "as the report gives it; none lists all")
      .takes("")
      .in_group("Input");
  command.footer("Example: platetally explain tower-without-need");
  return [code] { return explain(*code); };
}

}  // namespace platetally::cli
