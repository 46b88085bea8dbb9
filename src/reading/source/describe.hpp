// What bytes look like that are no plate.
#pragma once

#include <string>
#include <string_view>

namespace platetally::source {

/// A phrase that goes on after "it looks like ", from the first bytes of a file (a few hundred are
/// enough), with what can be done where there is something.
std::string describe_head(std::string_view head);

}  // namespace platetally::source
