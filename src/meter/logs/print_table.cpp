// Files of finished prints.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <fstream>
#include <sstream>

#include "base/hash.hpp"
#include "base/units.hpp"
#include "meter/logs/table.hpp"
#include "platetally/meter.hpp"
#include "platetally/prints.hpp"
#include "reading/source/content.hpp"

namespace platetally {

namespace {

using meter::Table;
using meter::TableCell;
using meter::TableRow;

constexpr double kMost = 1e9;              // of any number in such a file
constexpr std::size_t kMostFaults = 20;    // that are said one by one
constexpr std::size_t kEnoughToJudge = 4;  // values that have to agree on a coarser step; assumed

/// "1h 23m 45s", or "1:23:45".
std::optional<double> seconds_in_words(const Table& table, std::string_view text) {
  double seconds = 0.0;
  double last = 1e9;
  bool any = false;
  while (!text.empty()) {
    const std::size_t digits = std::min(text.find_first_not_of("0123456789.,"), text.size());
    const auto value = table.number(text.substr(0, digits));
    if (!value || digits == text.size())
      return std::nullopt;
    text.remove_prefix(digits);
    while (text.starts_with(' '))
      text.remove_prefix(1);
    const char unit =
        text.empty() ? ' '
                     : static_cast<char>(std::tolower(static_cast<unsigned char>(text.front())));
    const double scale = unit == 'd'   ? base::kSecondsPerDay
                         : unit == 'h' ? base::kSecondsPerHour
                         : unit == 'm' ? base::kSecondsPerMinute
                                       : 1.0;
    if ((unit != 's' && scale == 1.0) || scale >= last)
      return std::nullopt;
    last = scale;
    seconds += scale * *value;
    any = true;
    text.remove_prefix(std::min(text.find_first_of("0123456789"), text.size()));
  }
  return any ? std::optional(seconds) : std::nullopt;
}

std::optional<double> seconds_of(const Table& table, std::string_view text) {
  if (const auto plain = table.number(text))
    return plain;
  const std::size_t first = text.find(':');
  const std::size_t second = first == std::string_view::npos ? first : text.find(':', first + 1);
  if (second == std::string_view::npos)
    return seconds_in_words(table, text);
  const auto hours = table.number(text.substr(0, first));
  const auto minutes = table.number(text.substr(first + 1, second - first - 1));
  const auto seconds = table.number(text.substr(second + 1));
  if (!hours || !minutes || !seconds || *minutes >= base::kSecondsPerMinute ||
      *seconds >= base::kSecondsPerMinute || *minutes < 0.0 || *seconds < 0.0)
    return std::nullopt;
  return *hours * base::kSecondsPerHour + *minutes * base::kSecondsPerMinute + *seconds;
}

/// The coarsest of these steps that every value is a whole number of; `finest` where none is.
double step_of_all(const std::vector<double>& values, double finest,
                   std::initializer_list<double> coarser) {
  double step = finest;
  if (values.size() < kEnoughToJudge)
    return step;
  for (const double tried : coarser)
    if (tried > step && std::all_of(values.begin(), values.end(), [&](double value) {
          return std::abs(value / tried - std::round(value / tried)) < 1e-6;
        }))
      step = tried;
  return step;
}

class PrintsReader {
 public:
  PrintsReader(std::string_view text, const std::string& path) : table_(text, path) {
    file_.path = path;
    file_.hash = base::hash_of_text(text);
  }

  FinishedPrints read() {
    find_columns();
    for (const TableRow& row : table_.rows())
      read_row(row);
    if (more_faults_ > 0)
      fault(0, 0, fmt::format("{} more were left out", more_faults_));
    if (file_.prints.empty())
      throw UnreadableLog(fmt::format(
          "{}: no print in it that can be used; expected lines such as \"tags.gcode,5400\"",
          file_.path));
    find_steps();
    return std::move(file_);
  }

 private:
  void find_columns();
  void read_row(const TableRow& row);
  std::optional<double> read_positive(const TableRow& row, std::optional<std::size_t> column,
                                      const char* what, bool is_time);
  void read_span(const TableRow& row, FinishedPrint& print);
  void find_steps();
  void fault(std::uint64_t line, std::uint64_t column, std::string message);

  Table table_;
  FinishedPrints file_;
  std::optional<std::size_t> plate_, seconds_, span_, kwh_, wh_, grams_;
  double finest_s_ = 1.0;
  double finest_wh_ = base::kWhPerKwh;
  std::size_t more_faults_ = 0;
};

void PrintsReader::fault(std::uint64_t line, std::uint64_t column, std::string message) {
  if (line > 0 && file_.faults.size() >= kMostFaults) {
    ++more_faults_;
    return;
  }
  Diagnostic said;
  said.code = "print-left-out";
  said.line = line;
  said.column = column;
  said.message = std::move(message);
  file_.faults.push_back(std::move(said));
}

void PrintsReader::find_columns() {
  plate_ = table_.column({"plate", "file", "gcode", "path"});
  seconds_ = table_.column({"seconds", "time_s", "duration_s", "measured_s", "s", "time"});
  span_ = table_.column({"span"});
  kwh_ = table_.column({"kwh", "energy_kwh", "mains_kwh"});
  wh_ = table_.column({"wh", "energy_wh"});
  grams_ = table_.column({"grams", "g", "weight_g"});
  if (!plate_)
    throw UnreadableLog(fmt::format(
        "{}:1: no column of plates; expected a heading such as \"plate,seconds,span,kwh,grams\", "
        "found \"{}\"",
        file_.path, fmt::join(table_.headings(), ", ")));
  if (!seconds_ && !kwh_ && !wh_ && !grams_)
    throw UnreadableLog(fmt::format(
        "{}:1: nothing that was measured; expected a column seconds, kwh, wh or grams, found "
        "\"{}\"",
        file_.path, fmt::join(table_.headings(), ", ")));
  if (kwh_ && wh_)
    throw UnreadableLog(
        fmt::format("{}:1: expected a column kwh or a column wh, found both", file_.path));
  std::vector<std::string> passed_over;
  for (std::size_t i = 0; i < table_.headings().size(); ++i) {
    const auto known = {plate_, seconds_, span_, kwh_, wh_, grams_};
    if (std::none_of(known.begin(), known.end(), [&](const auto& one) { return one == i; }))
      passed_over.push_back(table_.headings()[i]);
  }
  if (seconds_ && !span_)
    file_.readings.emplace_back(
        "there is no column span: seconds are taken from the first line of the plate to its end, "
        "heat waits included; 'first-extrusion' says that they begin with the first extrusion");
  if (!passed_over.empty())
    file_.readings.push_back(
        fmt::format("columns that mean nothing here: {}", fmt::join(passed_over, ", ")));
}

std::optional<double> PrintsReader::read_positive(const TableRow& row,
                                                  std::optional<std::size_t> column,
                                                  const char* what, bool is_time) {
  const TableCell* const cell = Table::cell(row, column);
  if (cell == nullptr)
    return std::nullopt;
  const auto value = is_time ? seconds_of(table_, cell->text) : table_.number(cell->text);
  if (value && *value > 0.0 && *value <= kMost)
    return value;
  fault(row.line, cell->column,
        fmt::format("'{}' is no {}; expected a number above 0{}, left it out", cell->text, what,
                    is_time ? ", 1:23:45 or 1h 23m 45s" : ""));
  return std::nullopt;
}

void PrintsReader::read_span(const TableRow& row, FinishedPrint& print) {
  const TableCell* const cell = Table::cell(row, span_);
  if (cell == nullptr || cell->text == name_of(PrintSpan::start))
    return;
  if (cell->text == name_of(PrintSpan::first_extrusion)) {
    print.span = PrintSpan::first_extrusion;
    return;
  }
  fault(row.line, cell->column,
        fmt::format("'{}' is no span; expected first-extrusion or start, left the seconds out",
                    cell->text));
  print.seconds.reset();
}

void PrintsReader::read_row(const TableRow& row) {
  const TableCell* const plate = Table::cell(row, plate_);
  if (plate == nullptr)
    return fault(row.line, 1, "no plate is named; left the line out");
  FinishedPrint print;
  print.plate = plate->text;
  print.line = row.line;
  print.seconds = read_positive(row, seconds_, "time", true);
  read_span(row, print);
  print.energy_wh = read_positive(row, kwh_ ? kwh_ : wh_, "energy", false);
  print.grams = read_positive(row, grams_, "weight", false);
  if (const TableCell* const cell = Table::cell(row, seconds_);
      print.seconds && table_.number(cell->text))
    finest_s_ = std::min(finest_s_, table_.step_of(cell->text));
  if (print.energy_wh) {
    const double scale = kwh_ ? base::kWhPerKwh : 1.0;
    *print.energy_wh *= scale;
    finest_wh_ =
        std::min(finest_wh_, scale * table_.step_of(Table::cell(row, kwh_ ? kwh_ : wh_)->text));
  }
  if (print.seconds || print.energy_wh || print.grams)
    file_.prints.push_back(std::move(print));
  else
    fault(row.line, 1, "nothing was measured of it; left the line out");
}

void PrintsReader::find_steps() {
  std::vector<double> seconds, energies;
  for (const FinishedPrint& print : file_.prints) {
    if (print.seconds)
      seconds.push_back(*print.seconds);
    if (print.energy_wh)
      energies.push_back(*print.energy_wh);
  }
  file_.seconds_step_s = step_of_all(seconds, finest_s_, {60.0, 300.0, 3600.0});
  file_.energy_step_wh = step_of_all(energies, finest_wh_, {0.1, 1.0, 10.0, 100.0, 1000.0});
  if (file_.seconds_step_s > 1.0)
    file_.readings.push_back(
        fmt::format("all seconds are whole steps of {:g} s", file_.seconds_step_s));
  if (!energies.empty())
    file_.readings.push_back(
        fmt::format("energy is written in steps of {:g} Wh", file_.energy_step_wh));
}

}  // namespace

std::string_view name_of(PrintSpan span) {
  return span == PrintSpan::start ? "start" : "first-extrusion";
}

FinishedPrints parse_finished_prints(std::string_view text, const std::string& path) {
  return PrintsReader(text, path).read();
}

FinishedPrints load_finished_prints(const std::string& path) {
  return parse_finished_prints(meter::text_of_file(path), path);
}

}  // namespace platetally
