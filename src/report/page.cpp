// The look: dark text on light or light on dark as the reader's system has it, one hue for bars,
// figures in columns. Bars are SVG with the value as text, so nothing depends on colour.
#include "report/page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "report/strings.hpp"

namespace platetally::report {

namespace {

// The policy allows this style alone, by its own place in the document's head.
constexpr std::string_view kHead =
    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
    "'unsafe-inline'\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";

constexpr std::string_view kStyle =
    "<style>\n"
    ":root{color-scheme:light dark;--ink:#1d2b24;--paper:#fbfaf6;--line:#c9cfc6;--bar:#2f7d5b}\n"
    "@media(prefers-color-scheme:dark){:root{--ink:#e6ece4;--paper:#16201b;--line:#3b4a42;"
    "--bar:#63b892}}\n"
    "body{font:16px/1.5 Georgia,serif;color:var(--ink);background:var(--paper);max-width:60rem;"
    "margin:2rem auto;padding:0 1rem}\n"
    "h1{font-size:1.5rem;margin:0}h2{font-size:1.15rem;margin:2rem 0 .5rem}\n"
    ".wide{overflow-x:auto}table{border-collapse:collapse;font-variant-numeric:tabular-nums}\n"
    "th,td{padding:.25rem .8rem .25rem 0;text-align:right;border-bottom:1px solid var(--line)}\n"
    "th.w,td.w{text-align:left}tr.m{font-weight:bold}\n"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.2rem 1rem}dt{font-size:1.2rem;"
    "font-weight:bold;text-align:right}dd{margin:0;align-self:center}\n"
    "svg text{fill:var(--ink);font:14px Georgia,serif}svg "
    "rect{fill:var(--bar)}svg{max-width:100%}\n"
    "footer{margin-top:3rem;border-top:1px solid var(--line);padding-top:.5rem}\n"
    "@media print{body{margin:0;max-width:none}h2{break-after:avoid}tr{break-inside:avoid}}\n"
    "</style>\n</head>\n<body>\n";

constexpr std::string_view kFoot =
    "<footer>Predicted from a description of the machine, not measured. A hot machine is attended; "
    "what feeds it follows the local electrical code and is a licensed electrician's work. Before "
    "you change a print, check adhesion, ooze and colour on a small sample.</footer>\n"
    "</body>\n</html>\n";

}  // namespace

std::string html_text(std::string_view text) {
  std::string out;
  for (const char c : printable(text))
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  return out;
}

Page::Page(std::string_view title, std::string_view subtitle) {
  body_ = fmt::format("{}<title>{}</title>\n{}<h1>{}</h1>\n", kHead, html_text(title), kStyle,
                      html_text(title));
  paragraph(subtitle);
}

void Page::heading(std::string_view title, std::string_view remark) {
  body_ += fmt::format("<h2>{}</h2>\n", html_text(title));
  if (!remark.empty())
    paragraph(remark);
}

void Page::paragraph(std::string_view text) {
  body_ += fmt::format("<p>{}</p>\n", html_text(text));
}

void Page::list(std::span<const std::string> lines) {
  body_ += "<ul>\n";
  for (const std::string& line : lines)
    body_ += fmt::format("<li>{}</li>\n", html_text(line));
  body_ += "</ul>\n";
}

void Page::figures(const std::vector<std::pair<std::string, std::string>>& figures) {
  body_ += "<dl>\n";
  for (const auto& [figure, meaning] : figures)
    body_ += fmt::format("<dt>{}</dt><dd>{}</dd>\n", html_text(figure), html_text(meaning));
  body_ += "</dl>\n";
}

void Page::table(const std::vector<std::string>& head,
                 const std::vector<std::vector<std::string>>& rows, std::size_t words,
                 std::ptrdiff_t marked) {
  const auto css = [words](std::size_t column) { return column < words ? " class=\"w\"" : ""; };
  body_ += "<div class=\"wide\"><table>\n<thead><tr>";
  for (std::size_t i = 0; i < head.size(); ++i)
    body_ += fmt::format("<th scope=\"col\"{}>{}</th>", css(i), html_text(head[i]));
  body_ += "</tr></thead>\n<tbody>\n";
  for (std::size_t r = 0; r < rows.size(); ++r) {
    body_ += static_cast<std::ptrdiff_t>(r) == marked ? "<tr class=\"m\">" : "<tr>";
    for (std::size_t i = 0; i < rows[r].size(); ++i)
      body_ += fmt::format("<td{}>{}</td>", css(i), html_text(rows[r][i]));
    body_ += "</tr>\n";
  }
  body_ += "</tbody></table></div>\n";
}

void Page::bars(const std::vector<std::pair<std::string, double>>& rows, std::string_view unit) {
  constexpr int kRow = 24;
  constexpr double kLongest = 320.0;
  constexpr int kWords = 150;
  double most = 0.0;
  for (const auto& [name, value] : rows)
    most = std::max(most, value);
  body_ += fmt::format("<svg role=\"img\" viewBox=\"0 0 620 {0}\" width=\"620\" height=\"{0}\">\n",
                       kRow * static_cast<int>(rows.size()));
  int y = 0;
  for (const auto& [name, value] : rows) {
    const double length = most > 0.0 ? kLongest * std::max(value, 0.0) / most : 0.0;
    body_ += fmt::format(
        "<text x=\"0\" y=\"{}\">{}</text><rect x=\"{}\" y=\"{}\" width=\"{:.1f}\" height=\"14\"/>"
        "<text x=\"{:.1f}\" y=\"{}\">{} {}</text>\n",
        y + 16, html_text(name), kWords, y + 4, length, kWords + length + 8.0, y + 16,
        rounded(value, unit), html_text(unit));
    y += kRow;
  }
  body_ += "</svg>\n";
}

void Page::begin_plate_table(const std::vector<std::string>& head) {
  body_ += "<div class=\"wide\"><table id=\"plates\">\n<thead><tr>";
  for (std::size_t i = 0; i < head.size(); ++i)
    body_ +=
        fmt::format("<th scope=\"col\"{}>{}</th>", i < 2 ? " class=\"w\"" : "", html_text(head[i]));
  body_ += "</tr></thead>\n<tbody>\n";
}

void Page::plate_row(std::string_view name, std::span<const double> strip,
                     const std::vector<std::pair<std::string, double>>& cells) {
  constexpr double kWide = 96.0;
  constexpr double kHigh = 16.0;
  body_ += fmt::format("<tr><td class=\"w\">{}</td><td class=\"w\">", html_text(name));
  const double most = strip.empty() ? 0.0 : *std::max_element(strip.begin(), strip.end());
  if (most > 0.0) {
    body_ += fmt::format(
        "<svg role=\"img\" aria-label=\"purge by height, at most {:.2f} g in one of {} parts\" "
        "width=\"{}\" height=\"{}\">",
        most, strip.size(), kWide, kHigh);
    const double step = kWide / static_cast<double>(strip.size());
    for (std::size_t i = 0; i < strip.size(); ++i)
      if (strip[i] > 0.0)
        body_ += fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>",
                             static_cast<double>(i) * step, kHigh * (1.0 - strip[i] / most),
                             step * 0.85, kHigh * strip[i] / most);
    body_ += "</svg>";
  } else {
    body_ += "none";
  }
  body_ += "</td>";
  for (const auto& [text, value] : cells)
    body_ += fmt::format("<td data-v=\"{}\">{}</td>", exact_number(value), html_text(text));
  body_ += "</tr>\n";
}

void Page::end_plate_table() {
  body_ += "</tbody></table></div>\n";
}

std::string Page::take() {
  body_ += kFoot;
  return std::move(body_);
}

}  // namespace platetally::report
