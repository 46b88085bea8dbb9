// A page: one self-contained HTML file, nothing fetched, made of a few parts that all kinds of
// pages share. Without its script it says the same; the script gives charts a cursor and lets
// tables sort.
//
// The parts, and where each is declared:
//   head, cards in rows, fold, paragraph, list, note    here
//   verdict, figure with band and make-up bar, lever     page_parts.hpp
//   table                                                page_table.hpp
//   panels and lanes on one shared axis                  chart.hpp
//   plate picture                                        plate_picture.hpp
// Colours and spacing are tokens in html/page.css; a part names a Hue and never a colour. No part
// takes HTML: what goes in is text, and means nothing to HTML whatever it holds.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "output/report/hue.hpp"
#include "platetally/page_stamp.hpp"

namespace platetally::report {

struct Chart;
struct DotRow;
struct Figure;
struct Lever;
struct PagePlate;
struct PageTable;
struct PageVerdict;

/// Text that means nothing to HTML, in elements and in attributes.
std::string html_text(std::string_view text);

/// The same for running text: a number and its unit never part at the end of a line.
std::string html_prose(std::string_view text);

/// The name of a file: a line may end behind / - _ or a blank, and nowhere else; what is too long
/// between them is shortened in its middle, and told in full when pointed at.
std::string html_name(std::string_view name);

/// What stands on top, on screen and on paper.
struct PageHead {
  std::string title;               ///< the subject: a plate, a folder, a machine
  std::string kind;                ///< what the page says of it: "what the plate costs"
  std::vector<std::string> facts;  ///< short: the machine, "71 layers", "5 tools"
  PageStamp stamp;                 ///< empty parts are left out
};

/// Cards side by side, below each other where there is no room.
enum class Row {
  one,        ///< the whole width
  wide_slim,  ///< two: the first takes about two thirds
  halves      ///< two alike
};

class Page {
 public:
  explicit Page(const PageHead& head);

  void verdict(const PageVerdict& verdict);
  void figures(std::span<const Figure> figures);
  /// `none` says what there is to say without any; levers past `open` are folded.
  void levers(std::span<const Lever> levers, std::string_view none, std::size_t open = 3);
  void chart(const Chart& chart);
  void table(const PageTable& table);
  void plates(std::span<const PagePlate> plates);
  /// Rows of ratios on one axis of logarithms with 1 in the middle.
  void dots(std::span<const DotRow> rows, std::string_view label, std::string_view caption);

  /// A row holds cards; a card holds parts. Each begin has its end.
  void begin_row(Row row);
  void end_row();
  /// `id` names it for links, such as a verdict's.
  void begin_card(std::string_view title, std::string_view remark = "", std::string_view id = "");
  void end_card();
  /// What few readers need: closed at first, left off paper.
  void begin_fold(std::string_view summary);
  void end_fold();

  void paragraph(std::string_view text);
  void list(std::span<const std::string> lines);
  /// Something to mind: stands out from the text around it.
  void note(std::string_view text);
  /// A caption in a card of several parts.
  void subheading(std::string_view title);

  /// The page; with the script only if it has something to do.
  std::string take();

 private:
  std::string title_;
  std::string body_;
  std::string charts_;  ///< JSON of each, joined by commas
  bool is_live_ = false;
  bool has_patterns_ = false;  ///< those of the first plate picture serve all others
};

}  // namespace platetally::report
