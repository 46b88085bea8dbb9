#include "output/report/doubts.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

std::string shown(const StatedFigure& figure, double value) {
  constexpr std::string_view kFilament = "filament_";
  if (figure.what == "time_s")
    return duration(value);
  if (figure.what == "layers")
    return fmt::format("{:.0f}", value);
  return fmt::format("{:.2f} {}", value, std::string_view(figure.what).substr(kFilament.size()));
}

std::string say(const StatedFigure& figure) {
  const std::string_view what = figure.what == "time_s"   ? "time"
                                : figure.what == "layers" ? "layers"
                                                          : "filament";
  const double apart = figure.stated != 0.0 ? 100.0 * (figure.found / figure.stated - 1.0) : 0.0;
  return fmt::format("{}{} {} (found {}, {:+.1f} %{})", what,
                     figure.tool < 0 ? "" : fmt::format(" of T{}", figure.tool),
                     shown(figure, figure.stated), shown(figure, figure.found), apart,
                     figure.differs ? ", too far" : "");
}

}  // namespace

std::string stated_line(const Account& account) {
  if (account.stated.empty())
    return {};
  std::vector<std::string> figures;
  for (const StatedFigure& figure : account.stated)
    figures.push_back(say(figure));
  return fmt::format("the file's own figures: {}", fmt::join(figures, ", "));
}

std::vector<std::string> words_that_may_matter(const Account& account) {
  std::vector<std::string> lines;
  for (const UnaccountedWord& word : account.unaccounted)
    if (!word.why.empty())
      lines.push_back(fmt::format("{} {}x (from line {}): {}", printable(word.word), word.count,
                                  word.first_line, printable(word.why)));
  return lines;
}

std::string partial_line(const Account& account) {
  const ReadingAccount& reading = account.reading;
  if (!reading.is_partial())
    return {};
  std::string line = "a part of the plate only: ";
  if (!reading.broken.empty())
    line += fmt::format("the file {}; ", printable(reading.broken));
  if (!reading.broken.empty() && reading.source_bytes_in_all > 0)
    line += fmt::format("{} of its {} bytes were read; ", reading.source_bytes,
                        reading.source_bytes_in_all);
  return line + fmt::format("{} moves taken, {} left out; no limit passes on it", reading.moves,
                            reading.moves_left_out);
}

}  // namespace platetally::report
