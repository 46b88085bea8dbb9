// Options that several commands share, and what goes with them.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace platetally::cli {

/// An option in a group of the help text.
template <typename Place>
CLI::Option* add_to(CLI::App& command, const char* group, const char* name, Place& place,
                    const char* what, const char* type) {
  return command.add_option(name, place, what)->type_name(type)->group(group);
}
template <typename Place>
CLI::Option* add_input(CLI::App& command, const char* name, Place& place, const char* what,
                       const char* type) {
  return add_to(command, "Input", name, place, what, type);
}

/// --machine, for commands that take one.
inline void add_machine(CLI::App& command, std::string& machine) {
  add_input(command, "--machine", machine, "one that comes with it, or a machine file",
            "NAME|FILE");
}

/// --colours
inline void add_colours(CLI::App& command, std::string& colours) {
  add_input(command, "--colours", colours, "of the tools: 0=black,1=#f0c814", "LIST");
}

/// --partial
inline void add_partial(CLI::App& command, bool& partial) {
  command
      .add_flag("--partial", partial,
                "also where only a part of the plate can be read; no limit passes then")
      ->group("Input");
}

/// --copies
inline void add_copies(CLI::App& command, int& copies, const char* what) {
  add_input(command, "--copies", copies, what, "N")->check(CLI::Range(1, 100000));
}

/// --progress and --no-progress
inline void add_progress_options(CLI::App& command, bool& progress, bool& no_progress) {
  CLI::Option* wanted =
      command.add_flag("--progress", progress, "show it even without a terminal")->group("Output");
  command.add_flag("--no-progress", no_progress, "never show it")
      ->excludes(wanted)
      ->group("Output");
}

/// --format text, json or html, --json and -o.
inline void add_report_options(CLI::App& command, std::string& format, bool& json,
                               std::string& output) {
  command.add_option("--format", format, "text, json or html (one page, offline)")
      ->check(CLI::IsMember({"text", "json", "html"}))
      ->type_name("FORMAT")
      ->group("Output");
  command.add_flag("--json", json, "short for --format json")->group("Output");
  command.add_option("-o,--output", output, "write there; all or nothing")
      ->type_name("FILE")
      ->group("Output");
}

/// What the caller asked for, of a report that can be written in all three ways.
template <typename Report>
std::string written(const Report& report, const std::string& format, bool json) {
  if (json || format == "json")
    return to_json(report);
  return format == "html" ? to_html(report) : to_text(report);
}

/// The reports of the plates of one container, one behind the other; a single one as it is.
inline std::string joined(const std::vector<std::string>& reports, bool json) {
  if (reports.size() == 1)
    return reports.front();
  std::string out = json ? "{\"schema\": \"platetally.tallies/1\", \"plates\": [\n" : "";
  for (std::size_t i = 0; i < reports.size(); ++i)
    out += (i == 0 ? "" : json ? ",\n" : "\n") + reports[i];
  return json ? out + "]}\n" : out;
}

}  // namespace platetally::cli
