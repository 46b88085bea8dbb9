// What measured pairs told of the purge that a machine needs.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>
#include <tuple>

#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::exact_number;
using report::json_string;
using report::printable;

std::array<std::tuple<const char*, double, double>, 2> fitted(const NeedCalibration& report) {
  const Need& after = report.machine.need;
  return {{{"need.washout_mm3", report.before.washout_mm3, after.washout_mm3},
           {"need.dead_mm3", report.before.dead_mm3, after.dead_mm3}}};
}

constexpr const char* kCaution =
    "Volumes judged clean by eye hold for this filament, nozzle and speed. Check the first plate.";

}  // namespace

std::string to_text(const NeedCalibration& report) {
  std::string out = fmt::format("Purge that {} needs, from {} measured changes\n\n",
                                printable(report.machine.name), report.pairs.size());
  for (const auto& [key, before, after] : fitted(report))
    out += fmt::format("  {:<18} {:>8.1f} mm3, was {:.1f}\n", key, after, before);
  out += fmt::format("\n  {:<12} {:<12} {:>9} {:>9} {:>9}  mm3\n", "from", "to", "measured",
                     "before", "fitted");
  for (const MeasuredPair& pair : report.pairs)
    out += fmt::format("  {:<12} {:<12} {:>9.1f} {:>9.1f} {:>9.1f}\n", printable(pair.from),
                       printable(pair.to), pair.measured_mm3, pair.before_mm3, pair.after_mm3);
  out += "\n";
  for (const std::string& note : report.notes)
    out += fmt::format("  {}\n", printable(note));
  return out + fmt::format("  {}\n", kCaution);
}

std::string to_json(const NeedCalibration& report) {
  std::vector<std::string> values;
  for (const auto& [key, before, after] : fitted(report))
    values.push_back(fmt::format(R"({{"key": {}, "unit": "mm3", "before": {}, "value": {}}})",
                                 json_string(key), exact_number(before), exact_number(after)));
  std::vector<std::string> pairs;
  for (const MeasuredPair& pair : report.pairs)
    pairs.push_back(fmt::format(
        R"({{"from": {}, "to": {}, "measured_mm3": {}, "before_mm3": {}, "after_mm3": {}}})",
        json_string(pair.from), json_string(pair.to), exact_number(pair.measured_mm3),
        exact_number(pair.before_mm3), exact_number(pair.after_mm3)));
  std::vector<std::string> notes;
  for (const std::string& note : report.notes)
    notes.push_back(json_string(note));
  return fmt::format(
      "{{\n  \"schema\": \"platetally.calibrate-pairs/1\",\n  \"made_from\": {},\n  \"machine\": "
      "{},\n  \"fitted\": [\n"
      "    {}\n  ],\n  \"pairs\": [\n    {}\n  ],\n  \"notes\": [{}]\n}}\n",
      to_json(report.made_from), json_string(report.machine.name), fmt::join(values, ",\n    "),
      fmt::join(pairs, ",\n    "), fmt::join(notes, ", "));
}

std::string to_html(const NeedCalibration& report, const PageStamp& stamp) {
  report::Page page({report.machine.name,
                     "Purge that a change of colour needs",
                     {fmt::format("{} measured changes", report.pairs.size())},
                     stamp});
  std::vector<report::Figure> figures;
  for (const auto& [key, before, after] : fitted(report)) {
    report::Figure figure{report::capital(report::label_of_entry(key)),
                          report::with_unit(after, "mm3"),
                          "",
                          {},
                          {},
                          {},
                          ""};
    figure.beside = {{"before", before, report::with_unit(before, "mm3"), report::Hue::other},
                     {"fitted", after, report::with_unit(after, "mm3"), report::Hue::measured}};
    figure.remark = fmt::format("{} in the machine file", key);
    figures.push_back(std::move(figure));
  }
  report::PageVerdict verdict;
  verdict.words = fmt::format("Fitted to {} measured changes", report.pairs.size());
  verdict.reasons = report.notes;
  page.verdict(verdict);
  page.figures(figures);
  report::PageTable table;
  table.caption = "measured changes";
  table.columns = {report::words_column("from, to"),
                   {"measured", "mm3", false, true},
                   {"before", "mm3"},
                   {"fitted", "mm3", false, true}};
  for (const MeasuredPair& pair : report.pairs)
    table.rows.push_back({{{fmt::format("{} to {}", pair.from, pair.to)},
                           {report::significant(pair.measured_mm3), pair.measured_mm3},
                           {report::significant(pair.before_mm3)},
                           {report::significant(pair.after_mm3), pair.after_mm3}}});
  page.begin_row(report::Row::one);
  page.begin_card("Change by change");
  page.table(table);
  page.note(kCaution);
  page.end_card();
  page.end_row();
  return page.take();
}

}  // namespace platetally
