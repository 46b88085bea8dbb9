// Options that several commands share.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace platetally::cli {

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

}  // namespace platetally::cli
