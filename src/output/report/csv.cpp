// The layers, or the objects, as comma-separated values (RFC 4180, but for line ends of one byte).
#include <string>
#include <string_view>

#include "output/report/fields.hpp"
#include "output/report/strings.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

/// A value that is not known stays empty, as spreadsheets expect; names come from the plate, so
/// they must not become formulas.
std::string cell(const report::Value& value) {
  if (const auto* text = std::get_if<std::string>(&value))
    return report::csv_text(*text);
  const std::string text = report::plain(value);
  return text == "null" ? "" : text;
}

std::string csv_of(const Account& account, std::string_view section) {
  const report::Section& rows = report::section(section);
  std::string out;
  for (const report::Field& field : rows.fields) {
    out += out.empty() ? "" : ",";
    out += field.key;
  }
  out += '\n';
  for (std::size_t row = 0; row < rows.rows(account); ++row) {
    bool first = true;
    for (const report::Field& field : rows.fields) {
      out += first ? "" : ",";
      out += cell(field.get(account, row));
      first = false;
    }
    out += '\n';
  }
  return out;
}

}  // namespace

std::string to_csv(const Account& account) {
  return csv_of(account, "layers");
}

std::string objects_to_csv(const Account& account) {
  return csv_of(account, "objects");
}

}  // namespace platetally
