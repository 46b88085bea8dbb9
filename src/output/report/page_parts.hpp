// Verdict, figures and levers: what the first screen of a page is made of.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "output/report/hue.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

/// The answer to the page's question, and why.
struct PageVerdict {
  Grade grade = Grade::ready;  ///< ready: good news; look: with care; cannot: bad news
  std::string words;           ///< "Look before you print"
  std::vector<std::string>
      reasons;             ///< short clauses, weightiest first; two are shown, more folded
  bool is_plain = false;   ///< no answer, only a statement: no sign, and no colour of success
  std::string link;        ///< id of the card that says more; may be empty
  std::string link_words;  ///< "see the pairs"
};

/// The usual words for a plate's grade.
std::string words_of(Grade grade);
/// A plate's verdict; `links` are (code of a reason, id of the card about it).
PageVerdict verdict_of(const Account& account);

/// A part of a whole, or one of several things side by side.
struct FigurePart {
  std::string name;
  double amount = 0.0;
  std::string text;  ///< the amount for people, with its unit
  Hue hue = Hue::other;
};

/// Where a figure may lie.
struct FigureBand {
  double low = 0.0, expected = 0.0, high = 0.0;
  std::string text;  ///< "1 h 13 min to 1 h 37 min"
};

/// One number that matters.
struct Figure {
  std::string name;   ///< "Time"
  std::string value;  ///< "1 h 21 min"
  std::string aside;  ///< what belongs beside it: "213 swaps"
  std::optional<FigureBand> band;
  std::vector<FigurePart> parts;   ///< what the whole is made of: one bar of segments
  std::vector<FigurePart> beside;  ///< or things held against each other: a bar each
  std::string remark;              ///< a line below
};

/// One thing to do, and what comes of it.
struct Lever {
  std::string advice;
  std::string why;
  std::vector<std::string> gains;   ///< "-0.30 EUR"
  std::vector<std::string> losses;  ///< "+0.26 s": what following it costs
  std::vector<std::string> facts;   ///< neither: "low: 13 months"
  std::string trial;                ///< "tried in the model: ..."; or why it was not
  std::string assumes;
  bool is_minor = false;  ///< folded, however few there are
};

/// Ratios around 1 as dots in a row: measured over predicted, print by print.
struct DotRow {
  struct Dot {
    double ratio = 1.0;
    std::string words;       ///< said of it
    bool is_hollow = false;  ///< counts little
  };
  std::string name;
  std::vector<Dot> dots;
};

/// The levers of a plate by what each saves; with prices by money.
std::vector<Lever> levers_of(const Account& account);
/// "by money, each tried alone"
std::string remark_on_levers(const Account& account);

}  // namespace platetally::report
