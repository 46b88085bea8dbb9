/// @file
/// The page of a tally: what a practitioner reads first and shows to others.
#pragma once

#include <string>

#include "platetally/compare.hpp"
#include "platetally/machine.hpp"
#include "platetally/order.hpp"
#include "platetally/page_stamp.hpp"

namespace platetally {

/// What a page can hold besides the account; null: left out.
struct PageExtras {
  const Machine* machine = nullptr;        ///< that the account is of
  const OrderReport* order = nullptr;      ///< colour order, actual against best
  const Comparison* comparison = nullptr;  ///< machines side by side
  PageStamp stamp = {};                    ///< of the head
};

/// One self-contained HTML file: nothing fetched, a strict content policy, names escaped. Charts
/// zoom if the program was built with Node.js; without script the page says the same.
std::string to_html(const Account& account, const PageExtras& extras = {});

}  // namespace platetally
