#include "output/report/page_parts.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "output/report/bed_drawing.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/advice.hpp"

namespace platetally::report {

namespace {

constexpr std::size_t kReasonsShown = 2;
constexpr std::size_t kLong = 110;     // letters: two lines beside a chart, about
constexpr double kWorthAChip = 0.005;  // of what the plate takes: smaller changes are not named

std::string_view css_of(Grade grade) {
  return grade == Grade::ready ? "ready" : grade == Grade::look ? "look" : "cannot";
}

/// A shape beside the words, so that nothing depends on colour.
std::string_view sign_of(Grade grade) {
  switch (grade) {
    case Grade::ready:
      return "<path d=\"M2 8.5l4 4 8-9\"/>";
    case Grade::look:
      return "<path d=\"M8 2l6.5 12h-13zM8 6.5v3.5M8 11.8v.4\"/>";
    case Grade::cannot:
      break;
  }
  return "<path d=\"M3 3l10 10M13 3L3 13\"/>";
}

/// Segments of one bar, each as wide as its share.
std::string make_up_bar(const Figure& figure) {
  double whole = 0.0;
  for (const FigurePart& part : figure.parts)
    whole += std::max(0.0, part.amount);
  if (whole <= 0.0)
    return "";
  std::string bar = "<svg class=\"bar\" height=\"12\" aria-hidden=\"true\">";
  std::string key = "<ul class=\"key\">";
  double from = 0.0;
  for (const FigurePart& part : figure.parts) {
    if (!(part.amount > 0.0))
      continue;
    const double share = 100.0 * part.amount / whole;
    bar += fmt::format("<rect class=\"{}\" x=\"{:.2f}%\" width=\"{:.2f}%\" height=\"12\"/>",
                       report::css_of(part.hue), from, share);
    from += share;
    key += fmt::format("<li><i class=\"{}\"></i>{} <b>{}</b></li>", report::css_of(part.hue),
                       html_text(part.name), html_prose(part.text));
  }
  return bar + "</svg>" + key + "</ul>";
}

/// Rows of bars on one scale.
std::string bars_beside(const Figure& figure) {
  double most = 0.0;
  for (const FigurePart& part : figure.beside)
    most = std::max(most, part.amount);
  if (figure.beside.empty())
    return "";
  std::string out = "<ul class=\"beside\">";
  for (const FigurePart& part : figure.beside)
    out += fmt::format(
        "<li><span class=\"name\">{}</span> <b>{}</b><svg class=\"bar\" height=\"8\" "
        "aria-hidden=\"true\"><rect "
        "class=\"rail\" width=\"100%\" height=\"8\"/><rect class=\"{}\" width=\"{:.2f}%\" "
        "height=\"8\"/></svg></li>",
        html_name(part.name), html_prose(part.text), report::css_of(part.hue),
        most > 0.0 ? 100.0 * std::max(0.0, part.amount) / most : 0.0);
  return out + "</ul>";
}

/// A rail from nothing of the band's width below it to as much above, the band, and the figure.
std::string band_html(const FigureBand& band) {
  const double width = band.high - band.low;
  if (!(width > 0.0))
    return "";
  const double from = std::max(0.0, band.low - 0.5 * width);
  const double to = band.high + 0.5 * width;
  const auto at = [&](double value) { return 100.0 * (value - from) / (to - from); };
  return fmt::format(
      "<div class=\"band\"><svg height=\"10\" aria-hidden=\"true\"><rect class=\"rail\" y=\"4\" "
      "width=\"100%\" height=\"2\"/><rect class=\"reach\" x=\"{:.1f}%\" width=\"{:.1f}%\" "
      "y=\"1.5\" "
      "height=\"7\" rx=\"3.5\"/><rect class=\"here\" x=\"{:.1f}%\" width=\"3\" "
      "height=\"10\"/></svg><p>{}</p></div>",
      at(band.low), at(band.high) - at(band.low), at(band.expected), html_prose(band.text));
}

std::string lever_html(const Lever& lever) {
  std::string chips;
  for (const std::string& gain : lever.gains)
    chips += fmt::format("<li class=\"gain\">{}</li>", html_text(gain));
  for (const std::string& loss : lever.losses)
    chips += fmt::format("<li class=\"loss\">{}</li>", html_text(loss));
  for (const std::string& fact : lever.facts)
    chips += fmt::format("<li class=\"fact\">{}</li>", html_text(fact));
  // On the first screen two lines of advice and of why; all of it in the fold.
  const auto css_of_length = [](const std::string& text) {
    return text.size() > kLong ? " class=\"clip\"" : "";
  };
  std::string more;
  for (const std::string* text : {&lever.advice, &lever.why})
    if (text->size() > kLong)
      more += fmt::format("<p>{}</p>", html_prose(capital(*text)));
  if (!lever.trial.empty())
    more += fmt::format("<p>{}</p>", html_prose(capital(lever.trial)));
  if (!lever.assumes.empty())
    more += fmt::format("<p>If {}</p>", html_prose(lever.assumes));
  if (!chips.empty())
    chips = fmt::format("<ul class=\"chips\">{}</ul>", chips);
  if (!more.empty())
    more = fmt::format("<details><summary>basis</summary>{}</details>", more);
  const std::string foot = chips.empty() && more.empty()
                               ? ""
                               : fmt::format("<div class=\"foot\">{}{}</div>", chips, more);
  const std::string why = lever.why.empty() ? ""
                                            : fmt::format("<p{}>{}</p>", css_of_length(lever.why),
                                                          html_prose(capital(lever.why)));
  return fmt::format("<li><b{}>{}</b>{}{}</li>\n", css_of_length(lever.advice),
                     html_prose(capital(lever.advice)), why, foot);
}

double whole_of(const Account& account, Aim aim) {
  const Totals& totals = account.totals;
  switch (aim) {
    case Aim::time:
      return totals.time.expected;
    case Aim::grams:
      return totals.part_g + totals.purge_g + totals.start_up_g;
    case Aim::energy:
      return totals.energy_wh;
    case Aim::money:
      break;
  }
  return account.cost ? account.cost->total() : 0.0;
}

std::string size_of(double change, Aim aim, const Account& account) {
  const double size = std::abs(change);
  switch (aim) {
    case Aim::time:
      return duration(size);
    case Aim::grams:
      return with_unit(size, "g");
    case Aim::energy:
      return with_unit(size, "Wh");
    case Aim::money:
      break;
  }
  return fmt::format("{:.2f}{}{}", size, account.cost ? " " : "",
                     account.cost ? account.cost->currency : "");
}

}  // namespace

std::string words_of(Grade grade) {
  switch (grade) {
    case Grade::ready:
      return "Ready to print";
    case Grade::look:
      return "Look before you print";
    case Grade::cannot:
      break;
  }
  return "Cannot be printed as it is";
}

PageVerdict verdict_of(const Account& account) {
  PageVerdict verdict;
  verdict.grade = account.verdict.grade;
  verdict.words = words_of(account.verdict.grade);
  for (const VerdictReason& reason : account.verdict.reasons) {
    verdict.reasons.push_back(reason.text);
    if (!verdict.link.empty())
      continue;
    // A link to a card that the page has not would lead nowhere.
    if ((reason.code == "purge-short" || reason.code == "purge-undecided") &&
        !account.swap_pairs.empty()) {
      verdict.link = "pairs";
      verdict.link_words = "see the swaps";
    } else if (reason.code == "leaves-area" && has_bed(account.bed_picture)) {
      verdict.link = "bed";
      verdict.link_words = "see the bed";
    } else if (reason.code == "left-out" || reason.code == "words-unknown" ||
               reason.code == "file-broken") {
      verdict.link = "doubts";
      verdict.link_words = "see what is left out";
    }
  }
  if (verdict.reasons.empty())
    verdict.reasons.emplace_back("no objections found");
  return verdict;
}

std::vector<Lever> levers_of(const Account& account) {
  std::vector<Lever> levers;
  const Aim first = usual_aim(account);
  for (const Finding& finding : account.findings) {
    Lever lever{finding.advice,
                finding.message,
                {},
                {},
                {},
                finding.trial,
                finding.assumes,
                finding.severity == Severity::note && finding.tried &&
                    largest_share(finding, account) < kMinorShare};
    std::vector<Aim> aims{first};
    for (const Aim aim : {Aim::money, Aim::time, Aim::grams, Aim::energy})
      if (aim != first && (aim != Aim::money || finding.saves_money))
        aims.push_back(aim);
    for (const Aim aim : aims) {
      const double saves = saved(finding, aim);
      if (!(std::abs(saves) > kWorthAChip * whole_of(account, aim)))
        continue;
      const std::string size = size_of(saves, aim, account);
      if (size.find_first_of("123456789") == std::string::npos)
        continue;
      (saves > 0.0 ? lever.gains : lever.losses)
          .push_back(fmt::format("{}{}", saves > 0.0 ? "\xE2\x88\x92" : "+", size));
    }
    levers.push_back(std::move(lever));
  }
  return levers;
}

std::string remark_on_levers(const Account& account) {
  return fmt::format("by {}, each tried alone", name_of(usual_aim(account)));
}

void Page::verdict(const PageVerdict& verdict) {
  std::string reasons;
  std::string more;
  for (std::size_t i = 0; i < verdict.reasons.size(); ++i)
    (i < kReasonsShown ? reasons : more) +=
        fmt::format("<li>{}</li>", html_prose(verdict.reasons[i]));
  body_ += fmt::format(
      "<section class=\"verdict {}\" aria-label=\"verdict\">{}<b>{}</b>{}{}{}</section>\n",
      verdict.is_plain ? "plain" : css_of(verdict.grade),
      verdict.is_plain ? ""
                       : fmt::format("<svg class=\"sign\" viewBox=\"0 0 16 16\" "
                                     "aria-hidden=\"true\">{}</svg>",
                                     sign_of(verdict.grade)),
      html_prose(verdict.words), reasons.empty() ? "" : fmt::format("<ul>{}</ul>", reasons),
      more.empty() ? ""
                   : fmt::format("<details><summary>{} more</summary><ul>{}</ul></details>",
                                 verdict.reasons.size() - kReasonsShown, more),
      verdict.link.empty() ? ""
                           : fmt::format("<a href=\"#{}\">{}</a>", html_text(verdict.link),
                                         html_text(verdict.link_words)));
}

void Page::figures(std::span<const Figure> figures) {
  body_ += "<div class=\"figures\">\n";
  for (const Figure& figure : figures)
    body_ += fmt::format(
        "<section class=\"card figure\"><h2>{}</h2><p class=\"value\"><b>{}</b> "
        "<span>{}</span></p>{}"
        "{}{}{}</section>\n",
        html_prose(figure.name), html_text(held_together(figure.value, true)),
        html_prose(figure.aside), figure.band ? band_html(*figure.band) : "", make_up_bar(figure),
        bars_beside(figure),
        figure.remark.empty()
            ? ""
            : fmt::format("<p class=\"remark\">{}</p>", html_prose(figure.remark)));
  body_ += "</div>\n";
}

void Page::levers(std::span<const Lever> levers, std::string_view none, std::size_t open) {
  std::string shown;
  std::string folded;
  std::size_t count = 0;
  for (const Lever& lever : levers) {
    const bool is_open = !lever.is_minor && count < open;
    count += is_open ? 1U : 0U;
    (is_open ? shown : folded) += lever_html(lever);
  }
  if (shown.empty())
    paragraph(none);
  else
    body_ += fmt::format("<ol class=\"levers\">\n{}</ol>\n", shown);
  if (!folded.empty())
    body_ += fmt::format(
        "<details class=\"more\"><summary>{} more, of less weight</summary>\n<ol "
        "class=\"levers\">\n{}</ol></details>\n",
        levers.size() - count, folded);
}

void Page::dots(std::span<const DotRow> rows, std::string_view label, std::string_view caption) {
  constexpr double kMostShown = 1.1;  // of a logarithm; what is farther lies at the edge
  constexpr double kLeast = 0.01;
  double most = kLeast;
  for (const DotRow& row : rows)
    for (const DotRow::Dot& dot : row.dots)
      most = std::max(most, std::abs(std::log(dot.ratio)));
  most = std::min(most, kMostShown);
  const auto at = [&](double ratio) {
    return 50.0 + 42.0 * std::clamp(std::log(ratio) / most, -1.0, 1.0);
  };
  body_ += fmt::format("<figure class=\"chart\" aria-label=\"{}\"><div class=\"panels\">\n",
                       html_text(label));
  for (const DotRow& row : rows) {
    body_ += fmt::format(
        "<div class=\"panel\"><div class=\"name\"><b>{}</b></div><svg class=\"plot dots\" "
        "height=\"26\" aria-hidden=\"true\"><line class=\"mark\" x1=\"50%\" x2=\"50%\" "
        "y2=\"100%\"/>",
        html_text(row.name));
    for (const DotRow::Dot& dot : row.dots)
      body_ += fmt::format(
          "<circle class=\"{}\" cx=\"{:.1f}%\" cy=\"13\" r=\"4.5\"><title>{}</title></circle>",
          dot.is_hollow ? "hollow" : "full", at(dot.ratio), html_prose(dot.words));
    body_ += "</svg><div></div></div>\n";
  }
  body_ +=
      "<div class=\"panel axis\"><div class=\"name\"></div><svg class=\"plot\" height=\"17\" "
      "aria-hidden=\"true\">";
  for (const double ratio : {std::exp(-most), 1.0, std::exp(most)})
    body_ += fmt::format("<text x=\"{:.1f}%\" y=\"12\" text-anchor=\"middle\">{:.2f}</text>",
                         at(ratio), ratio);
  body_ += fmt::format("</svg><div></div></div>\n</div><figcaption>{}</figcaption></figure>\n",
                       html_prose(caption));
}

}  // namespace platetally::report
