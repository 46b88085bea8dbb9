// Options that several commands share, and what goes with them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "output/cli/command_line.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

/// An option in a group of the help text.
template <typename Place>
Option add_to(Command command, const char* group, const char* name, Place& place, const char* what,
              const char* type) {
  return command.option(name, place, what).takes(type).in_group(group);
}
template <typename Place>
Option add_input(Command command, const char* name, Place& place, const char* what,
                 const char* type) {
  return add_to(command, "Input", name, place, what, type);
}

/// --machine, for commands that take one.
inline void add_machine(Command command, std::string& machine) {
  add_input(command, "--machine", machine, "one that comes with it, or a machine file",
            "NAME|FILE");
}

/// --colours
inline void add_colours(Command command, std::string& colours) {
  add_input(command, "--colours", colours, "of the tools: 0=black,1=#f0c814", "LIST");
}

/// --start-bed-c
inline void add_start_bed(Command command, std::optional<double>& start_bed_c) {
  command
      .option("--start-bed-c", start_bed_c,
              "the bed's temperature at the first line, still warm from the print before")
      .between(-20.0, 300.0)
      .takes("DEGC")
      .in_group("Input");
}

/// --partial
inline void add_partial(Command command, bool& partial) {
  command
      .flag("--partial", partial,
            "also where only a part of the plate can be read; no limit passes then. What was left "
            "out of a whole plate passes")
      .in_group("Input");
}

/// --strict; with --partial it would have no plain meaning.
inline void add_strict(Command command, bool& strict) {
  command.flag("--strict", strict, "exit 1 where anything was left out or warned of")
      .in_group("Output");
}

/// --copies
inline void add_copies(Command command, int& copies, const char* what) {
  add_input(command, "--copies", copies, what, "N").between(1, 100000);
}

/// --value
inline void add_value(Command command, std::string& value) {
  command
      .option("--value", value,
              "rank advice by time, money, grams or energy; without it by money where there are "
              "prices, else by time")
      .one_of({"time", "money", "grams", "energy"})
      .takes("WHAT")
      .in_group("Output");
}

/// --progress and --no-progress
inline void add_progress_options(Command command, bool& progress, bool& no_progress) {
  const Option wanted =
      command.flag("--progress", progress, "show it even without a terminal").in_group("Output");
  command.flag("--no-progress", no_progress, "never show it").not_with(wanted).in_group("Output");
}

/// --date
inline void add_date(Command command, std::string& date) {
  command.option("--date", date, "in the head of a page, as it stands")
      .takes("DATE")
      .in_group("Output");
}

/// The head of a page about that file; a plate from standard input has no hash.
inline PageStamp stamp_of(const std::string& date, const std::string& path = "") {
  return {date, path.empty() || path == "-" ? "" : content_hash(path).value_or("")};
}

/// --format text, json, html or, where there is a table to write, csv; --json, --date and -o.
inline void add_report_options(Command command, std::string& format, bool& json, std::string& date,
                               std::string& output, bool with_csv = false) {
  const Option formats = command.option("--format", format,
                                        with_csv ? "text, json, csv or html (one page, offline)"
                                                 : "text, json or html (one page, offline)");
  (with_csv ? formats.one_of({"text", "json", "csv", "html"})
            : formats.one_of({"text", "json", "html"}))
      .takes("FORMAT")
      .in_group("Output");
  command.flag("--json", json, "short for --format json").in_group("Output");
  add_date(command, date);
  command.option("-o,--output", output, "write there; all or nothing")
      .takes("FILE")
      .in_group("Output");
}

/// What the caller asked for, of a report that can be written in all three ways.
template <typename Report>
std::string written(const Report& report, const std::string& format, bool json,
                    const std::string& date, const std::string& plate = "") {
  if (json || format == "json")
    return to_json(report);
  return format == "html" ? to_html(report, stamp_of(date, plate)) : to_text(report);
}

/// The reports of the plates of one container, one behind the other; a single one as it is.
/// `made_from`: of any of them.
inline std::string joined(const std::vector<std::string>& reports, bool json,
                          const MadeFrom& made_from) {
  if (reports.size() == 1)
    return reports.front();
  std::string out =
      json ? "{\"schema\": \"platetally.tallies/1\", \"made_from\": " + to_json(made_from) +
                 ", \"plates\": [\n"
           : "";
  for (std::size_t i = 0; i < reports.size(); ++i)
    out += (i == 0 ? "" : json ? ",\n" : "\n") + reports[i];
  return json ? out + "]}\n" : out;
}

}  // namespace platetally::cli
