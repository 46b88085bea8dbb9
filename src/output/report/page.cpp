// The look is src/output/report/html/page.css. Bars are SVG with the value as text, so nothing
// depends on colour.
#include "output/report/page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "output/report/page_assets.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr std::string_view kFoot =
    "<footer>Predicted from a description of the machine, not measured. A hot machine is attended; "
    "what feeds it follows the local electrical code and is a licensed electrician's work. Before "
    "you change a print, check adhesion, ooze and colour on a small sample.</footer>\n";

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

Page::Page(std::string_view title, std::string_view subtitle) : title_(title) {
  body_ = fmt::format("<h1>{}</h1>\n", html_text(title));
  paragraph(subtitle);
}

void Page::heading(std::string_view title, std::string_view remark) {
  body_ += fmt::format("<h2>{}</h2>\n", html_text(title));
  if (!remark.empty())
    paragraph(remark);
}

void Page::subheading(std::string_view title) {
  body_ += fmt::format("<h3>{}</h3>\n", html_text(title));
}

void Page::data(std::string_view json) {
  for (const char c : json)
    data_ += c == '<' ? std::string("\\u003c") : std::string(1, c);
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
    body_ += head[i].empty()
                 ? fmt::format("<td{}></td>", css(i))
                 : fmt::format("<th scope=\"col\"{}>{}</th>", css(i), html_text(head[i]));
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
  body_ += fmt::format(
      "<div class=\"wide\"><svg viewBox=\"0 0 620 {0}\" width=\"620\" height=\"{0}\">\n",
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
  body_ += "</svg></div>\n";
}

void Page::begin_plate_table(const std::vector<std::string>& head) {
  sortable_ = true;
  body_ +=
      "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"plates\"><table "
      "id=\"plates\">\n<thead><tr>";
  for (std::size_t i = 0; i < head.size(); ++i)
    body_ += fmt::format("<th scope=\"col\"{}>{}</th>",
                         i == 0   ? " class=\"w\""
                         : i == 1 ? " class=\"w\" data-fixed"
                                  : "",
                         html_text(head[i]));
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

void Page::verdicts(const std::vector<Verdict>& verdicts) {
  body_ += "<ul class=\"verdict\">\n";
  for (const Verdict& verdict : verdicts)
    body_ += fmt::format("<li><b>{}</b>{}<small>{}</small></li>\n", html_text(verdict.figure),
                         html_text(verdict.meaning), html_text(verdict.assumes));
  body_ += "</ul>\n";
}

void Page::figure(std::string_view id, std::string_view svg, std::string_view caption) {
  body_ += fmt::format(
      "<figure{}>\n<div class=\"wide\">{}</div><figcaption>{}</figcaption></figure>\n",
      id.empty() ? "" : fmt::format(" id=\"{}\" aria-label=\"{}\"", id, html_text(caption)), svg,
      html_text(caption));
}

std::string Page::take() {
  const bool live = !script_asset.text.empty() && (sortable_ || !data_.empty());
  // Nothing may be fetched, and of what the page holds only these texts may style or run.
  std::string policy = fmt::format(
      "default-src 'none'; base-uri 'none'; form-action 'none'; "
      "style-src 'sha256-{}'",
      css_asset.sha256_base64);
  if (live)
    policy += fmt::format(" 'sha256-{}'; script-src 'sha256-{}'", charts_css_asset.sha256_base64,
                          script_asset.sha256_base64);
  std::string out = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>{}</title>\n<style>{}</style>\n",
      policy, html_text(title_), css_asset.text);
  if (live)
    out += fmt::format("<style>{}</style>\n", charts_css_asset.text);
  out += fmt::format("</head>\n<body>\n<main>\n{}</main>\n{}", body_, kFoot);
  if (live)
    out += fmt::format("{}<script>{}</script>\n",
                       data_.empty() ? ""
                                     : fmt::format("<script type=\"application/json\" "
                                                   "id=\"data\">{}</script>\n",
                                                   data_),
                       script_asset.text);
  return out + "</body>\n</html>\n";
}

}  // namespace platetally::report
