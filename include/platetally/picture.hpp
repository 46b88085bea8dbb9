/// @file
/// The plate from above as a drawing: what lies where, by tool and object, on the zones of the bed.
#pragma once

#include <string>

namespace platetally {

struct Account;

/// What a picture shows.
struct PictureOptions {
  bool of_layer = false;  ///< of Account::layer_picture instead of the whole plate
  std::string date;       ///< below the title, as it stands; may be empty
};

/// An SVG file of its own, with title, scale in mm and a legend in words: areas in the colours of
/// their filaments, purge hatched, zones by the heat that they take over the whole plate. The same
/// account gives the same bytes. Without the picture asked for (AnalyzeOptions::objects and
/// picture_at_mm) it shows the bed alone.
std::string to_svg(const Account& account, const PictureOptions& options = {});

}  // namespace platetally
