// The style and script of pages, written into the program by src/output/report/html/embed.cmake.
#pragma once

#include <string_view>

namespace platetally::report {

struct PageAsset {
  std::string_view text;           ///< empty if the program was built without it
  std::string_view sha256_base64;  ///< of the text, for the content policy
};

extern const PageAsset css_asset;     ///< src/output/report/html/page.css
extern const PageAsset script_asset;  ///< the bundle of src/output/report/html/src

}  // namespace platetally::report
