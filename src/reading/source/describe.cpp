#include "reading/source/describe.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::source {

namespace {

using std::string_view_literals::operator""sv;

struct Signature {
  std::string_view begins;
  const char* looks_like;
};

// Registered media types and the formats' own specifications; from memory.
constexpr Signature kSignatures[] = {
    {"\xFF\xFE"sv, "text in UTF-16; write it as UTF-8"},
    {"\xFE\xFF"sv, "text in UTF-16; write it as UTF-8"},
    {"\x1f\x8b"sv, "a packed file within a packed file; unpack it once"},
    {"\x28\xb5\x2f\xfd"sv, "a packed file within a packed file; unpack it once"},
    {"PK\x03\x04"sv, "a zip within a container; unpack it once"},
    {"PK\x05\x06"sv, "an empty zip"},
    {"BZh"sv, "a file packed with bzip2; pack it with gzip, zstd, xz or zip"},
    {"7z\xBC\xAF\x27\x1C"sv, "a 7z container; pack it with gzip, zstd, xz or zip"},
    {"Rar!\x1A"sv, "a RAR container; pack it with gzip, zstd, xz or zip"},
    {"\x89PNG"sv, "a picture (PNG)"},
    {"\xFF\xD8\xFF"sv, "a picture (JPEG)"},
    {"GIF8"sv, "a picture (GIF)"},
    {"%PDF-"sv, "a PDF document"},
    {"\x7F"
     "ELF"sv,
     "a program"},
    {"SQLite format 3"sv, "a database"},
    {"solid "sv, "a model (STL); it has to be sliced first"},
    {"<"sv, "a document of markup (XML, HTML)"},
    {"{"sv, "JSON"},
};

bool is_text(unsigned char byte) {
  return (byte >= 0x20 && byte != 0x7f) || byte == '\t' || byte == '\n' || byte == '\r';
}

std::string printable(std::string_view bytes) {
  std::string out(bytes);
  std::replace_if(
      out.begin(), out.end(), [](char c) { return c < 0x20 || c > 0x7e; }, '.');
  return out;
}

}  // namespace

std::string describe_head(std::string_view head) {
  constexpr std::size_t kShownBytes = 8;
  constexpr std::size_t kShownText = 40;
  if (head.starts_with("\xEF\xBB\xBF"sv))
    head.remove_prefix(3);
  for (const Signature& signature : kSignatures)
    if (head.starts_with(signature.begins))
      return signature.looks_like;
  const auto other = static_cast<std::size_t>(std::count_if(
      head.begin(), head.end(), [](char c) { return !is_text(static_cast<unsigned char>(c)); }));
  constexpr std::size_t kFew = 20;  // of how many bytes one may be no text
  if (other * kFew > head.size()) {
    std::string hex;
    for (const char c : head.substr(0, kShownBytes))
      hex += fmt::format("{}{:02x}", hex.empty() ? "" : " ", static_cast<unsigned char>(c));
    return fmt::format(
        "binary data (its first bytes are {}, '{}'); where it is a binary kind of G-code, write it "
        "as text",
        hex, printable(head.substr(0, kShownBytes)));
  }
  const std::string_view first = head.substr(0, std::min(head.find_first_of("\r\n"), kShownText));
  return fmt::format("text that begins with '{}'", printable(first));
}

}  // namespace platetally::source
