// The look is html/page.css. No element has a style of its own: the content policy allows none, so
// lengths that depend on data are attributes of SVG.
#include "output/report/page.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "output/report/chart.hpp"
#include "output/report/page_assets.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr std::size_t kHashShown = 12;

constexpr std::string_view kFoot =
    "<footer>Predicted from a description of the machine, not measured. A hot machine is attended; "
    "what feeds it follows the local electrical code and is a licensed electrician's work. Before "
    "you change a print, check adhesion, ooze and colour on a small sample.</footer>\n";

std::string head_html(const PageHead& head) {
  std::vector<std::string> facts;
  for (const std::string& fact : head.facts)
    if (!fact.empty())
      facts.push_back(fmt::format("<li>{}</li>", html_prose(fact)));
  std::vector<std::string> stamp;
  if (!head.stamp.date.empty())
    stamp.push_back(fmt::format("<li>{}</li>", html_text(head.stamp.date)));
  if (!head.stamp.content_hash.empty())
    stamp.push_back(fmt::format("<li title=\"{}\">content {}</li>",
                                html_text(head.stamp.content_hash),
                                html_text(head.stamp.content_hash.substr(0, kHashShown))));
  return fmt::format(
      "<header>\n<div><p class=\"kind\">{}</p><h1>{}</h1></div>\n<ul class=\"facts\">{}{}</ul>\n"
      "</header>\n",
      html_text(head.kind), html_text(head.title), fmt::join(facts, ""), fmt::join(stamp, ""));
}

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

namespace {

constexpr std::size_t kLongestWord = 28;  // of a name, characters
constexpr std::size_t kWordEnds = 12;     // of one that is longer, on both sides of the ellipsis

/// Where each character of UTF-8 begins, and the end.
std::vector<std::size_t> characters_of(std::string_view text) {
  std::vector<std::size_t> begins;
  for (std::size_t i = 0; i < text.size(); ++i)
    if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U)
      begins.push_back(i);
  begins.push_back(text.size());
  return begins;
}

}  // namespace

std::string html_name(std::string_view name) {
  std::string out;
  bool is_whole = true;
  for (std::size_t from = 0; from < name.size();) {
    const std::size_t end = std::min(name.find_first_of("/-_ ", from), name.size() - 1) + 1;
    const std::string_view word = name.substr(from, end - from);
    const std::vector<std::size_t> characters = characters_of(word);
    const std::size_t count = characters.size() - 1;
    if (count > kLongestWord) {
      is_whole = false;
      out += html_text(word.substr(0, characters[kWordEnds])) + "\xE2\x80\xA6" +
             html_text(word.substr(characters[count - kWordEnds]));
    } else {
      out += html_text(word);
    }
    if (end < name.size() && word.back() != ' ')
      out += "<wbr>";
    from = end;
  }
  return is_whole ? out : fmt::format("<span title=\"{}\">{}</span>", html_text(name), out);
}

std::string html_prose(std::string_view text) {
  return html_text(held_together(text));
}

Page::Page(const PageHead& head) : title_(head.title), body_(head_html(head)) {}

void Page::begin_row(Row row) {
  body_ += row == Row::one      ? "<div class=\"row\">\n"
           : row == Row::halves ? "<div class=\"row halves\">\n"
                                : "<div class=\"row wide-slim\">\n";
}

void Page::end_row() {
  body_ += "</div>\n";
}

void Page::begin_card(std::string_view title, std::string_view remark, std::string_view id) {
  body_ += fmt::format("<section class=\"card\"{}>\n<h2>{}{}</h2>\n",
                       id.empty() ? "" : fmt::format(" id=\"{}\"", html_text(id)), html_text(title),
                       remark.empty() ? "" : fmt::format(" <small>{}</small>", html_prose(remark)));
}

void Page::end_card() {
  body_ += "</section>\n";
}

void Page::begin_fold(std::string_view summary) {
  body_ += fmt::format("<details><summary>{}</summary>\n", html_prose(summary));
}

void Page::end_fold() {
  body_ += "</details>\n";
}

void Page::paragraph(std::string_view text) {
  body_ += fmt::format("<p>{}</p>\n", html_prose(text));
}

void Page::list(std::span<const std::string> lines) {
  if (lines.empty())
    return;
  body_ += "<ul class=\"list\">\n";
  for (const std::string& line : lines)
    body_ += fmt::format("<li>{}</li>\n", html_prose(line));
  body_ += "</ul>\n";
}

void Page::note(std::string_view text) {
  body_ += fmt::format("<p class=\"note\">{}</p>\n", html_prose(text));
}

void Page::subheading(std::string_view title) {
  body_ += fmt::format("<h3>{}</h3>\n", html_prose(title));
}

void Page::chart(const Chart& chart) {
  if (!chart.has_something())
    return;
  is_live_ = true;
  body_ += html_of(chart);
  charts_ += (charts_.empty() ? "" : ",") + json_of(chart);
}

void Page::table(const PageTable& table) {
  is_live_ = is_live_ || table.is_sortable || !table.filter.empty();
  body_ += html_of(table);
}

void Page::plates(std::span<const PagePlate> plates) {
  double largest_mm = 0.0;
  for (const PagePlate& plate : plates)
    largest_mm = std::max({largest_mm, plate.account->bed_picture.bed_width_mm,
                           plate.account->bed_picture.bed_depth_mm});
  body_ += "<div class=\"plates\">\n";
  for (const PagePlate& plate : plates) {
    const std::string drawing = drawn_plate(*plate.account, largest_mm, !has_patterns_);
    has_patterns_ = has_patterns_ || (!drawing.empty() && plate.account->plate_picture);
    if (!drawing.empty())
      body_ +=
          fmt::format("<figure class=\"plate\">{}{}{}<figcaption>{}</figcaption></figure>\n",
                      plate.name.empty() ? "" : fmt::format("<h3>{}</h3>", html_text(plate.name)),
                      drawing, key_of_plate(*plate.account), html_prose(plate.caption));
  }
  body_ += "</div>\n";
}

std::string Page::take() {
  const bool is_live = is_live_ && !script_asset.text.empty();
  // Nothing may be fetched, and of what the page holds only these texts may style or run.
  std::string policy = fmt::format(
      "default-src 'none'; base-uri 'none'; form-action 'none'; "
      "style-src 'sha256-{}'",
      css_asset.sha256_base64);
  if (is_live)
    policy += fmt::format("; script-src 'sha256-{}'", script_asset.sha256_base64);
  std::string out = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n<main>\n{}</main>\n{}",
      policy, html_text(title_), css_asset.text, body_, kFoot);
  if (is_live && !charts_.empty()) {
    out += "<script type=\"application/json\" id=\"data\">";
    for (const char c : charts_.insert(0, "[") + "]")
      out += c == '<' ? std::string("\\u003c") : std::string(1, c);
    out += "</script>\n";
  }
  if (is_live)
    out += fmt::format("<script>{}</script>\n", script_asset.text);
  return out + "</body>\n</html>\n";
}

}  // namespace platetally::report
