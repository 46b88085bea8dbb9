// What finished prints and counted changes told, as a part of a calibration's reports.
#pragma once

#include <string>
#include <vector>

#include "output/report/page.hpp"
#include "platetally/calibrate.hpp"

namespace platetally::report {

/// What to mind of the fit, a sentence each.
std::vector<std::string> remarks_of(const CalibrationReport& report);

/// "3 logs, 8 prints and counted changes"
std::string evidence_of(const CalibrationReport& report);

/// Errors before, after and left out: a line for each of time and energy; empty without prints.
std::string print_errors_text(const CalibrationReport& report);
/// Every print, and the counted changes; empty without.
std::string prints_text(const CalibrationReport& report);
/// The values of "prints" and "changes", or null.
std::string prints_json(const CalibrationReport& report);
std::string changes_json(const CalibrationReport& report);
void add_prints(const CalibrationReport& report, Page& page);

}  // namespace platetally::report
