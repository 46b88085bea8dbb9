/// @file
/// Findings by what the reader wants to save.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace platetally {

struct Account;
struct Finding;

/// What is to be saved.
enum class Aim : std::uint8_t { time, money, grams, energy };

/// "time", "money", "grams" or "energy".
std::string_view name_of(Aim aim);
/// The aim of that name; nothing for another word.
std::optional<Aim> aim_named(std::string_view name);

/// Money where the account has prices, else time.
Aim usual_aim(const Account& account);

/// What a finding saves of that: seconds, money, grams of purge or watt-hours. 0 without prices.
double saved(const Finding& finding, Aim aim);

/// The largest share of the plate's time, material, energy or cost that a finding saves; 0 where it
/// saves nothing, or was not tried.
double largest_share(const Finding& finding, const Account& account);

/// Savings below this share of everything are not worth a line of their own.
inline constexpr double kMinorShare = 0.01;

/// Puts what spoils something first, then what saves most of the aim; what saves equal amounts of
/// it by the largest share of anything.
void rank_findings(Account& account, Aim aim);

}  // namespace platetally
