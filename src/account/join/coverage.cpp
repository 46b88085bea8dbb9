#include "account/join/coverage.hpp"

#include <fmt/format.h>

#include "platetally/analyze.hpp"
#include "reading/source/describe.hpp"

namespace platetally {

namespace {

constexpr const char* kPartial = "--partial tallies what could be read";

std::string how_far(const ReadingAccount& reading) {
  return reading.source_bytes_in_all > 0
             ? fmt::format("{} of {} bytes of the file were read", reading.source_bytes,
                           reading.source_bytes_in_all)
             : fmt::format("{} bytes of it were read", reading.source_bytes);
}

/// What is missing, as a phrase; empty where it is not much.
std::string what_is_missing(const Coverage& coverage) {
  const ReadingAccount& reading = coverage.reading;
  if (!reading.broken.empty())
    return fmt::format("{}; {}", reading.broken, how_far(reading));
  if (reading.moves_left_out > reading.moves)
    return fmt::format("{} of its {} moves could not be read", reading.moves_left_out,
                       reading.moves + reading.moves_left_out);
  if (reading.lines_left_out > reading.commands)
    return fmt::format("{} of its {} lines could not be read, and {} commands were understood",
                       reading.lines_left_out, coverage.lines, reading.commands);
  return {};
}

}  // namespace

void require_plate(const Coverage& coverage, bool partial) {
  if (coverage.bytes == 0 && coverage.reading.broken.empty())
    throw UnreadablePlate("the file is empty");
  const std::string missing = what_is_missing(coverage);
  const bool broken = !coverage.reading.broken.empty();
  if (coverage.reading.commands == 0) {
    if (broken)
      throw UnreadablePlate(missing);
    throw UnreadablePlate(
        fmt::format("no G-code command{} in any of its {} lines; it looks like {}",
                    coverage.commands > 0 ? " that is known" : "", coverage.lines,
                    source::describe_head(coverage.head)));
  }
  if (missing.empty() || partial)
    return;
  if (broken)
    throw UnreadablePlate(fmt::format("{}; {}", missing, kPartial));
  throw UnreadablePlate(fmt::format("{}; it looks like {}; {}", missing,
                                    source::describe_head(coverage.head), kPartial));
}

Diagnostic describe_part(const Coverage& coverage) {
  Diagnostic part;
  part.code = coverage.reading.broken.empty() ? "plate-partial" : "source-broken";
  part.severity = Severity::error;
  part.line = coverage.reading.broken.empty() ? 0 : coverage.lines;
  part.message = fmt::format("{}; expected all of the plate; what was read is accounted for",
                             what_is_missing(coverage));
  part.help = "no figure stands for the whole plate, and no limit passes on it";
  return part;
}

}  // namespace platetally
