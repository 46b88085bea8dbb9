// Audits that were shared out, as one.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>

#include "output/audit/lines.hpp"
#include "output/audit/record.hpp"
#include "output/audit/sums.hpp"
#include "output/report/lookup.hpp"
#include "platetally/audit.hpp"

namespace platetally {

namespace {

using namespace audit_stage;

constexpr std::size_t kLongestLine = 1 << 24;

[[noreturn]] void fail(const std::string& file, std::uint64_t line, std::string_view message) {
  throw std::runtime_error(fmt::format("{}:{}: {}", file, line, message));
}

class Merge {
 public:
  explicit Merge(const AuditOptions& options) : options_(options) {}
  AuditReport run(const std::vector<std::string>& files);

 private:
  void read(const std::string& file);
  void take_begin(const std::string& file, const std::string& text);
  void require_every_file() const;
  /// Whether the line was the end.
  bool take(const std::string& file, std::uint64_t number, const std::string& text);

  const AuditOptions& options_;
  Begin begin_;
  bool begun_ = false;
  std::set<int> shards_;
  std::vector<std::pair<AuditRow, std::string>> rows_;  ///< and their lines, if they are asked for
  AuditReport report_;
};

void Merge::take_begin(const std::string& file, const std::string& text) {
  Begin begin;
  try {
    begin = begin_of(text);
  } catch (const std::invalid_argument& error) {
    fail(file, 1, error.what());
  }
  if (begun_ && (begin.setting != begin_.setting || begin.shards != begin_.shards))
    fail(file, 1,
         "is of another machine, materials, prices, version or number of shares than the files "
         "before it");
  if (!shards_.insert(begin.shard).second)
    fail(file, 1, fmt::format("share {} was in an earlier file", begin.shard));
  if (begun_ && begin.listing != begin_.listing)
    fail(file, 1,
         fmt::format("saw {} files, and the first share {}, not all of them the same: a file that "
                     "only some computers see can be in no share",
                     begin.files, begin_.files));
  if (!begun_)
    begin_ = begin;
  begun_ = true;
  if (options_.value)
    begin_.wanted.value = options_.value;
  begin_.wanted.partial = begin_.wanted.partial || options_.partial;
  begin_.wanted.strict = begin_.wanted.strict || options_.strict;
  if (!options_.sort.empty())
    begin_.wanted.sort = report::full_key(options_.sort);
  if (!options_.limits.empty()) {
    begin_.wanted.limits.clear();
    for (const auto& [key, limit] : options_.limits)
      begin_.wanted.limits.emplace_back(report::full_key(key), limit);
  }
}

bool Merge::take(const std::string& file, std::uint64_t number, const std::string& text) {
  if (auto row = row_of(text, begin_.wanted)) {
    rows_.emplace_back(std::move(*row), options_.on_record ? text : std::string());
    return false;
  }
  const nlohmann::json record = nlohmann::json::parse(text, nullptr, false);
  const std::string type =
      record.is_object() && record.contains("type") && record["type"].is_string()
          ? record["type"].get<std::string>()
          : "";
  if (type == "unread" && record.contains("path") && record["path"].is_string() &&
      record.contains("error") && record["error"].is_string()) {
    report_.faults.emplace_back(record["path"].get<std::string>(),
                                record["error"].get<std::string>());
    return false;
  }
  if (type != "end")
    fail(file, number, "is no record of an audit");
  if (const auto passed = record.find("passed_over");
      passed != record.end() && passed->is_number_unsigned())
    report_.passed_over += passed->get<std::uint64_t>();
  return true;
}

void Merge::read(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in)
    throw std::runtime_error(fmt::format("{}: cannot be read", file));
  std::uint64_t number = 0;
  std::string text;
  bool ended = false;
  while (true) {
    text.clear();
    int c = 0;
    while ((c = in.rdbuf()->sbumpc()) != std::char_traits<char>::eof() && c != '\n') {
      if (text.size() == kLongestLine)
        fail(file, number + 1, "is longer than any record of an audit");
      text += static_cast<char>(c);
    }
    if (text.empty() && c != '\n')
      break;
    ++number;
    if (ended)
      fail(file, number, "expected nothing behind the end of the audit");
    if (number == 1)
      take_begin(file, text);
    else
      ended = take(file, number, text);
  }
  if (!ended)
    fail(file, number, "ends before the audit did; run that share again");
}

/// Every file that was listed is in some share: each has a record, if only one of its error.
void Merge::require_every_file() const {
  std::set<std::uint64_t> there;
  for (const auto& [row, line] : rows_)
    there.insert(row.index);
  if (there.size() != begin_.files || (!there.empty() && *there.rbegin() >= begin_.files))
    throw std::runtime_error(
        fmt::format("of the {} files that were listed the shares hold {}; do the shares again",
                    begin_.files, there.size()));
}

AuditReport Merge::run(const std::vector<std::string>& files) {
  for (const std::string& file : files)
    read(file);
  std::vector<std::string> missing;
  for (int shard = 1; shard <= begin_.shards; ++shard)
    if (!shards_.contains(shard) && missing.size() < 10)
      missing.push_back(fmt::format("{}", shard));
  if (!missing.empty())
    throw std::runtime_error(
        fmt::format("of {} shares these are missing: {}", begin_.shards, fmt::join(missing, ", ")));
  require_every_file();
  // Rows of one file stay in their order: they lie in one share.
  std::stable_sort(rows_.begin(), rows_.end(),
                   [](const auto& a, const auto& b) { return a.first.index < b.first.index; });
  report_.machine = begin_.machine;
  report_.made_from = begin_.made_from;
  report_.sort = begin_.wanted.sort;
  report_.value = begin_.wanted.value;
  begin_.shard = begin_.shards = 1;
  const auto say = [&](const std::string& line) {
    if (options_.on_record)
      options_.on_record(line);
  };
  say(line_of(begin_));
  for (auto& [row, line] : rows_) {
    say(line);
    report_.rows.push_back(std::move(row));
  }
  for (const auto& [path, error] : report_.faults)
    say(line_of_fault(path, error));
  sum_up(report_);
  say(line_of_end(report_));
  return std::move(report_);
}

}  // namespace

AuditReport merge_audits(const std::vector<std::string>& files, const AuditOptions& options) {
  return Merge(options).run(files);
}

}  // namespace platetally
