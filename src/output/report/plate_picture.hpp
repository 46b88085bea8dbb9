// The bed from above: its zones with their heat, what lies on it, and where it would be heated
// least. One plate, or several beside each other on one scale.
#pragma once

#include <span>
#include <string>

#include "platetally/account.hpp"

namespace platetally::report {

struct PagePlate {
  std::string name;  ///< above the picture, where there are several
  const Account* account = nullptr;
  std::string caption;
};

/// An SVG; empty where nothing is known of the bed. `largest_mm`: of the beds beside it, so that
/// all have one scale; 0: its own. `with_patterns`: those of purge and start-up go along, for the
/// first picture of a document.
std::string drawn_plate(const Account& account, double largest_mm = 0.0, bool with_patterns = true);

/// What its signs mean, as HTML.
std::string key_of_plate(const Account& account);

/// What the picture shows, in words.
std::string words_of_plate(const Account& account);

}  // namespace platetally::report
