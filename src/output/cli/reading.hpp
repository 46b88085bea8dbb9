// A number out of a plug's message.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace platetally::cli {

/// The number that the text is, or that lies in its JSON at the pointer (RFC 6901); with a pointer
/// that leads nowhere, nothing.
std::optional<double> read_payload(std::string_view text, const std::string& pointer);

}  // namespace platetally::cli
