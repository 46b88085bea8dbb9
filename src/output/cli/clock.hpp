// The computer's clock, for what is kept or written with a date. The library has none.
#pragma once

#include <cstdint>
#include <string>

namespace platetally::cli {

/// Seconds since 1970, UTC.
double now_exact_s();
std::int64_t now_s();

/// "2026-11-25" and "2026-11-25T15:17:12Z" of seconds since 1970.
std::string utc_date(double epoch_s);
std::string utc_moment(double epoch_s);

}  // namespace platetally::cli
