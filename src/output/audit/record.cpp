#include "output/audit/record.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <unordered_map>

#include "output/report/fields.hpp"
#include "output/report/flat.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"

namespace platetally::audit_stage {

namespace {

using nlohmann::json;
using report::exact_number;
using report::json_string;

constexpr std::size_t kStripParts = 24;
constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

/// Purge along the plate; a layer that lies over the border of two parts counts to both by share.
std::vector<double> strip_of(const std::vector<LayerAccount>& layers) {
  const std::size_t parts = std::min(kStripParts, layers.size());
  std::vector<double> strip(parts, 0.0);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const double from = static_cast<double>(i * parts) / static_cast<double>(layers.size());
    const double to = static_cast<double>((i + 1) * parts) / static_cast<double>(layers.size());
    const auto first = static_cast<std::size_t>(from);
    const double inside = std::min(to, static_cast<double>(first + 1)) - from;
    strip[first] += layers[i].purge_g * inside / (to - from);
    if (first + 1 < parts)
      strip[first + 1] += layers[i].purge_g * (1.0 - inside / (to - from));
  }
  return strip;
}

std::string finding_json(const Finding& finding) {
  return fmt::format(
      R"({{"code": {}, "spoils": {}, "saves_time_s": {}, "saves_purge_g": {}, "saves_energy_wh": {}, "saves_money": {}}})",
      json_string(finding.code), finding.severity != Severity::note,
      exact_number(finding.saves_time_s), exact_number(finding.saves_purge_g),
      exact_number(finding.saves_energy_wh),
      finding.saves_money ? exact_number(*finding.saves_money) : "null");
}

std::string reason_json(const VerdictReason& reason) {
  return fmt::format(R"({{"code": {}, "grade": {}, "text": {}}})", json_string(reason.code),
                     json_string(name_of(reason.grade)), json_string(reason.text));
}

std::string times(std::uint64_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

/// Why a plate does not pass, limits apart.
std::string failure_of(const AuditRow& row, const Wanted& wanted) {
  if (row.partial && !wanted.limits.empty())
    return "is a part of a plate; no limit passes on it";
  if (row.left_out > 0 && !wanted.partial)
    return times(row.left_out, "thing was", "things were") +
           " left out of the account; --partial lets it pass";
  if (row.warnings > 0 && wanted.strict)
    return times(row.warnings, "warning", "warnings") + "; --strict lets none pass";
  return {};
}

/// Where the sections of a row's totals stand in it, by their key with its section.
const std::unordered_map<std::string, std::size_t>& total_places() {
  static const std::unordered_map<std::string, std::size_t> places = [] {
    std::unordered_map<std::string, std::size_t> made;
    const std::vector<std::string>& keys = audit_keys();
    for (std::size_t i = 0; i < keys.size(); ++i)
      made.emplace("totals." + keys[i], i);
    return made;
  }();
  return places;
}

/// Reads a record as it comes, without a tree of it: a merge reads every record twice.
class RowReader {
 public:
  explicit RowReader(const Wanted& wanted) : wanted_(wanted), keys_(wanted.keys()) {
    values_.resize(keys_.size());
  }

  /// Nothing for what is no record.
  std::optional<AuditRow> row();

  // What the parser calls; false would end it.
  bool null() { return true_but_seen(std::nullopt); }
  bool boolean(bool value) {
    if (depth_ == 3 && section_ == Section::findings && key_ == "spoils")
      row_.findings.back().spoils = value;
    return true_but_seen(std::nullopt);
  }
  bool number_integer(std::int64_t value) { return number(static_cast<double>(value)); }
  bool number_unsigned(std::uint64_t value) {
    if (depth_ == 1)
      count(value);
    return number(static_cast<double>(value));
  }
  bool number_float(double value, const std::string&) { return number(value); }
  bool string(std::string& value) {
    text(value);
    return true_but_seen(std::nullopt);
  }
  bool binary(std::vector<std::uint8_t>&) { return true; }
  bool start_object(std::size_t) {
    if (++depth_ == 2)
      enter(key_ == "values" ? Section::values : Section::other);
    if (depth_ == 3 && section_ == Section::findings)
      row_.findings.emplace_back();
    if (depth_ == 3 && section_ == Section::reasons)
      row_.reasons.push_back({"", Grade::ready, ""});
    return true;
  }
  bool end_object() {
    --depth_;
    return true;
  }
  bool start_array(std::size_t) {
    if (++depth_ == 1)
      return false;
    if (depth_ == 2)
      enter(key_ == "findings"          ? Section::findings
            : key_ == "verdict_because" ? Section::reasons
            : key_ == "purge_strip_g"   ? Section::strip
                                        : Section::other);
    return true;
  }
  bool end_array() {
    --depth_;
    return true;
  }
  bool key(std::string& value) {
    key_.swap(value);
    return true;
  }
  template <typename Fault>
  bool parse_error(std::size_t, const std::string&, const Fault&) {
    return false;
  }

 private:
  enum class Section : std::uint8_t { other, values, findings, reasons, strip };
  struct Value {
    bool is_there = false;
    std::optional<double> number;
  };

  void enter(Section section) {
    section_ = section;
    if (section == Section::values) {
      has_values_ = true;
      row_.totals.assign(audit_keys().size(), kNotKnown);
    }
  }
  bool number(double value) {
    if (depth_ == 2 && section_ == Section::strip && row_.purge_strip_g.size() < kStripParts)
      row_.purge_strip_g.push_back(value);
    if (depth_ == 3 && section_ == Section::findings)
      saving(row_.findings.back(), value);
    return true_but_seen(value);
  }
  /// A value among the others, if this is one.
  bool true_but_seen(const std::optional<double>& value) {
    if (depth_ != 2 || section_ != Section::values)
      return true;
    if (value)
      if (const auto place = total_places().find(key_); place != total_places().end())
        row_.totals[place->second] = *value;
    if (key_ == "reading.partial")
      row_.partial = value == 1.0;
    for (std::size_t i = 0; i < keys_.size(); ++i)
      if (keys_[i] == key_)
        values_[i] = {true, value};
    return true;
  }
  void saving(AuditFinding& finding, double value) const {
    if (key_ == "saves_time_s")
      finding.saves_time_s = value;
    else if (key_ == "saves_purge_g")
      finding.saves_purge_g = value;
    else if (key_ == "saves_energy_wh")
      finding.saves_energy_wh = value;
    else if (key_ == "saves_money")
      finding.saves_money = value;
  }
  void count(std::uint64_t value) {
    if (key_ == "index")
      row_.index = value;
    else if (key_ == "left_out")
      row_.left_out = value;
    else if (key_ == "warnings")
      row_.warnings = value;
    else if (key_ == "unknown_words")
      row_.unknown_words = value;
  }
  void text(const std::string& value);
  std::optional<double> wanted(const std::string& key) const;

  const Wanted& wanted_;
  std::vector<std::string> keys_;
  std::vector<Value> values_;  // of keys_
  AuditRow row_;
  std::string type_;
  std::string key_;
  int depth_ = 0;
  Section section_ = Section::other;
  bool has_values_ = false;
};

void RowReader::text(const std::string& value) {
  if (depth_ == 1) {
    std::string* const place = key_ == "type"           ? &type_
                               : key_ == "path"         ? &row_.path
                               : key_ == "content_hash" ? &row_.content_hash
                               : key_ == "member"       ? &row_.member
                               : key_ == "error"        ? &row_.error
                               : key_ == "verdict"      ? &row_.verdict
                               : key_ == "machine"      ? &row_.machine
                               : key_ == "machine_hash" ? &row_.machine_hash
                               : key_ == "currency"     ? &row_.currency
                                                        : nullptr;
    if (place != nullptr)
      *place = value;
  }
  if (depth_ == 3 && section_ == Section::findings && key_ == "code")
    row_.findings.back().code = value;
  if (depth_ != 3 || section_ != Section::reasons)
    return;
  VerdictReason& reason = row_.reasons.back();
  if (key_ == "code")
    reason.code = value;
  else if (key_ == "text")
    reason.text = value;
  else if (key_ == "grade")
    reason.grade = value == name_of(Grade::cannot) ? Grade::cannot
                   : value == name_of(Grade::look) ? Grade::look
                                                   : Grade::ready;
}

/// The value under a key with its section; rows that are not there count as zero.
std::optional<double> RowReader::wanted(const std::string& key) const {
  const auto place = static_cast<std::size_t>(std::ranges::find(keys_, key) - keys_.begin());
  if (values_[place].is_there)
    return values_[place].number;
  if (!report::is_flat(key) || key.starts_with("totals.") || key.starts_with("job."))
    return std::nullopt;
  return 0.0;
}

std::optional<AuditRow> RowReader::row() {
  if (type_ != "plate" || (!has_values_ && row_.error.empty()))
    return std::nullopt;
  if (has_values_) {
    row_.sort_value = wanted(wanted_.sort);
    for (const auto& [key, limit] : wanted_.limits) {
      const std::optional<double> value = wanted(key);
      if (!value)
        row_.limit_errors.push_back(
            fmt::format("the limit {} of '{}' cannot be checked: its value is not known",
                        exact_number(limit), key));
      else if (*value > limit)
        row_.breaches.push_back({key, *value, limit});
    }
  }
  row_.fails_because = row_.error.empty() ? failure_of(row_, wanted_) : "";
  row_.limits_fail = !row_.fails_because.empty();
  return std::move(row_);
}

}  // namespace

std::vector<std::string> Wanted::keys() const {
  std::vector<std::string> all{sort};
  for (const auto& [key, limit] : limits)
    all.push_back(key);
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  return all;
}

std::string body_of(const Account& account, const std::string& member,
                    const std::vector<std::string>& keys, const std::string& machine_hash) {
  std::vector<std::string> strip;
  for (const double purge_g : strip_of(account.layers))
    strip.push_back(exact_number(purge_g));
  std::vector<std::string> findings;
  for (const Finding& finding : account.findings)
    findings.push_back(finding_json(finding));
  std::vector<std::string> reasons;
  for (const VerdictReason& reason : account.verdict.reasons)
    reasons.push_back(reason_json(reason));
  std::uint64_t left_out = 0;
  std::uint64_t warnings = 0;
  for (const Diagnostic& diagnostic : account.diagnostics) {
    left_out += diagnostic.severity == Severity::error ? diagnostic.count : 0;
    warnings += diagnostic.severity == Severity::warning ? diagnostic.count : 0;
  }
  std::uint64_t unknown = 0;
  for (const UnaccountedWord& word : account.unaccounted)
    unknown += word.count;
  return fmt::format(
      R"({{"member": {}, "machine": {}, "machine_hash": {}, "currency": {}, "verdict": {}, "verdict_because": [{}], "left_out": {}, "warnings": {}, "unknown_words": {}, "findings": [{}], "purge_strip_g": [{}], "values": {}}})",
      json_string(member), json_string(account.machine), json_string(machine_hash),
      json_string(account.cost ? account.cost->currency : ""),
      json_string(name_of(account.verdict.grade)), fmt::join(reasons, ", "), left_out, warnings,
      unknown, fmt::join(findings, ", "), fmt::join(strip, ", "), report::flat_json(account, keys));
}

std::string body_of_error(const std::string& member, const std::string& error) {
  return fmt::format(R"({{"member": {}, "error": {}}})", json_string(member), json_string(error));
}

std::string line_of(std::uint64_t index, const std::string& path, const std::string& content,
                    const std::string& body) {
  return fmt::format(R"({{"type": "plate", "index": {}, "path": {}, "content_hash": {}, {})", index,
                     json_string(path), json_string(content), body.substr(1));
}

std::string body_in(const std::string& line) {
  // A quote inside a string is escaped, so nothing in the path can look like this.
  const std::size_t member = line.find(R"("member": )");
  return member == std::string::npos ? "" : "{" + line.substr(member);
}

std::optional<AuditRow> row_of(std::string_view line, const Wanted& wanted) {
  RowReader reader(wanted);
  if (!json::sax_parse(line, &reader))
    return std::nullopt;
  return reader.row();
}

bool holds_all(std::string_view body, const Wanted& wanted) {
  const std::vector<std::string> keys = wanted.keys();
  return std::all_of(keys.begin(), keys.end(), [&](const std::string& key) {
    return report::is_flat(key) || body.find(json_string(key) + ": ") != std::string_view::npos;
  });
}

}  // namespace platetally::audit_stage
