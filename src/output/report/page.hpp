// Building a page: one self-contained HTML file, nothing fetched. Without its script it says the
// same; the script makes charts zoom and tables sort.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::report {

/// Text that means nothing to HTML, in elements and in attributes.
std::string html_text(std::string_view text);

/// A figure that matters, what it is, and what it stands on.
struct Verdict {
  std::string figure;
  std::string meaning;
  std::string assumes;
};

class Page {
 public:
  Page(std::string_view title, std::string_view subtitle);

  void heading(std::string_view title, std::string_view remark = "");
  void subheading(std::string_view title);
  void paragraph(std::string_view text);
  void list(std::span<const std::string> lines);
  /// Figures that matter most, each with what it is.
  void figures(const std::vector<std::pair<std::string, std::string>>& figures);
  void verdicts(const std::vector<Verdict>& verdicts);
  /// The first `words` columns hold words, the others figures. A row whose index is `marked` is
  /// marked, by a word and by weight.
  void table(const std::vector<std::string>& head,
             const std::vector<std::vector<std::string>>& rows, std::size_t words,
             std::ptrdiff_t marked = -1);
  /// A bar for each row, as long as its value, which is printed beside it.
  void bars(const std::vector<std::pair<std::string, double>>& rows, std::string_view unit);

  /// HTML as it is; every text in it must have gone through html_text.
  void raw(std::string_view html) { body_ += html; }
  /// A drawing with its words; `id` if the script may put something livelier in its place.
  void figure(std::string_view id, std::string_view svg, std::string_view caption);

  /// A table of plates: a name, a small picture of values in order, and figures, each as shown and
  /// as a number to sort by.
  void begin_plate_table(const std::vector<std::string>& head);
  void plate_row(std::string_view name, std::span<const double> strip,
                 const std::vector<std::pair<std::string, double>>& cells);
  void end_plate_table();

  /// Data for the script, as JSON; `<` is escaped.
  void data(std::string_view json);
  /// The page; with the script only if it has something to do.
  std::string take();

 private:
  std::string title_;
  std::string body_;
  std::string data_;
  bool sortable_ = false;
};

}  // namespace platetally::report
