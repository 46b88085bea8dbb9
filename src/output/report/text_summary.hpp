// The report of one screen: can it be printed, what does it cost, where does that go, what should
// be changed, what was left out.
#pragma once

#include "output/report/text_page.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

/// At most kSummaryLines lines at 100 columns, whatever the plate.
inline constexpr int kSummaryLines = 40;

void write_summary(const Account& account, TextPage& page);

/// Plate and machine, and the verdict with its reasons: what both reports begin with.
void write_verdict(const Account& account, TextPage& page);

/// "a hot machine is attended ...": what both end with.
void write_caution(TextPage& page);

}  // namespace platetally::report
