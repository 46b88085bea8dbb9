// Audits that were shared out, as one. The files are read three times at most, so that their
// records need not be kept: where each lies; in the order of the input, for sums; in that of the
// report.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <stdexcept>

#include "meter/history/store.hpp"
#include "output/audit/lines.hpp"
#include "output/audit/record.hpp"
#include "output/audit/share_files.hpp"
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

/// The index of a plate's line as we write it, without reading the rest.
std::optional<std::uint64_t> index_in(std::string_view line) {
  constexpr std::string_view kPlate = R"({"type": "plate", "index": )";
  std::uint64_t index = 0;
  if (!line.starts_with(kPlate) ||
      std::from_chars(line.data() + kPlate.size(), line.data() + line.size(), index).ec !=
          std::errc{})
    return std::nullopt;
  return index;
}

/// Keeps the plates of every file that none of them failed in, all or none of the merge.
class Keeping {
 public:
  Keeping(const AuditOptions& options, const history::Setting& setting)
      : store_(options.history),
        setting_(setting),
        now_s_(options.now_s ? options.now_s() : 0),
        transaction_(store_) {}

  void add(const AuditRow& row, const std::string& line) {
    if (row.index != index_)
      flush();
    index_ = row.index;
    path_ = row.path;
    content_ = row.content_hash;
    failed_ = failed_ || !row.error.empty() || row.content_hash.empty();
    bodies_.push_back(body_in(line));
  }
  void commit() {
    flush();
    transaction_.commit();
  }

 private:
  void flush() {
    if (!bodies_.empty() && !failed_)
      store_.put(path_, content_, setting_, bodies_, now_s_);
    bodies_.clear();
    failed_ = false;
  }

  history::Store store_;
  history::Setting setting_;
  std::int64_t now_s_;
  history::Store::Transaction transaction_;
  std::uint64_t index_ = 0;
  std::string path_, content_;
  std::vector<std::string> bodies_;
  bool failed_ = false;
};

class Merge {
 public:
  Merge(const std::vector<std::string>& files, const AuditOptions& options)
      : options_(options), files_(files) {}
  AuditReport run();

 private:
  void read(std::uint32_t file);
  void take_begin(const std::string& file, const std::string& text);
  void require_every_share() const;
  void require_every_file() const;
  /// Whether the line was the end.
  bool take(const LinePlace& place, const std::string& text);
  AuditRow row_at(const LinePlace& place, const std::string& text) const;
  void sum();
  void give_rows();
  void say(const std::string& line) const {
    if (options_.on_record)
      options_.on_record(line);
  }

  const AuditOptions& options_;
  ShareFiles files_;
  Begin begin_;
  bool begun_ = false;
  std::set<int> shards_;
  std::vector<LinePlace> places_;
  std::vector<Rank> ranks_;  // of places_, if the rows are asked for
  AuditReport report_;
};

void Merge::take_begin(const std::string& file, const std::string& text) {
  Begin begin;
  try {
    begin = begin_of(text);
  } catch (const std::invalid_argument& error) {
    fail(file, 1, error.what());
  }
  if (begun_ && (begin.setting.hash != begin_.setting.hash || begin.shards != begin_.shards))
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

bool Merge::take(const LinePlace& place, const std::string& text) {
  if (const auto index = index_in(text)) {
    places_.push_back(place);
    places_.back().index = *index;
    return false;
  }
  if (const auto row = row_of(text, begin_.wanted)) {  // not as we write it, but a record
    places_.push_back(place);
    places_.back().index = row->index;
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
    fail(files_.name(place.file), place.line, "is no record of an audit");
  if (const auto passed = record.find("passed_over");
      passed != record.end() && passed->is_number_unsigned())
    report_.passed_over += passed->get<std::uint64_t>();
  return true;
}

void Merge::read(std::uint32_t file) {
  const std::string& name = files_.name(file);
  std::ifstream in(name, std::ios::binary);
  if (!in)
    throw std::runtime_error(fmt::format("{}: cannot be read", name));
  LinePlace place{0, file, 0, 0, 0};
  std::string text;
  bool ended = false;
  // A line is never longer than any record, whatever the file holds.
  const auto next = [&] {
    text.clear();
    int c = 0;
    while ((c = in.rdbuf()->sbumpc()) != std::char_traits<char>::eof() && c != '\n') {
      if (text.size() == kLongestLine)
        fail(name, place.line + 1, "is longer than any record of an audit");
      text += static_cast<char>(c);
    }
    return !text.empty() || c == '\n';
  };
  while (next()) {
    ++place.line;
    place.bytes = static_cast<std::uint32_t>(text.size());
    if (ended)
      fail(name, place.line, "expected nothing behind the end of the audit");
    if (place.line == 1)
      take_begin(name, text);
    else
      ended = take(place, text);
    place.offset += text.size() + 1;
  }
  if (!ended)
    fail(name, place.line, "ends before the audit did; run that share again");
}

void Merge::require_every_share() const {
  std::vector<std::string> missing;
  for (int shard = 1; shard <= begin_.shards; ++shard)
    if (!shards_.contains(shard) && missing.size() < 10)
      missing.push_back(fmt::format("{}", shard));
  if (!missing.empty())
    throw std::runtime_error(
        fmt::format("of {} shares these are missing: {}", begin_.shards, fmt::join(missing, ", ")));
}

/// Every file that was listed is in one share: each has a record, if only one of its error. The
/// places are in the order of the input.
void Merge::require_every_file() const {
  std::uint64_t there = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (i > 0 && places_[i].index == places_[i - 1].index && places_[i].file != places_[i - 1].file)
      fail(files_.name(places_[i].file), places_[i].line,
           fmt::format("is of a file that {} holds, too", files_.name(places_[i - 1].file)));
    there += i == 0 || places_[i].index != places_[i - 1].index;
  }
  if (there != begin_.files || (!places_.empty() && places_.back().index >= begin_.files))
    throw std::runtime_error(
        fmt::format("of the {} files that were listed the shares hold {}; do the shares again",
                    begin_.files, there));
}

AuditRow Merge::row_at(const LinePlace& place, const std::string& text) const {
  auto row = row_of(text, begin_.wanted);
  if (!row)
    fail(files_.name(place.file), place.line, "is no record of an audit");
  return std::move(*row);
}

/// In the order of the input: what comes out is the same however the work was shared.
void Merge::sum() {
  Summing summing(options_.most_rows);
  std::optional<Keeping> keeping;
  if (!options_.history.empty())
    keeping.emplace(options_, begin_.setting);
  for (const LinePlace& place : places_) {
    const std::string text = files_.line(place);
    AuditRow row = row_at(place, text);
    say(text);
    if (keeping)
      keeping->add(row, text);
    const Rank rank = summing.add(std::move(row));
    if (options_.on_row)
      ranks_.push_back(rank);
  }
  if (keeping)
    keeping->commit();
  summing.finish(report_);
}

void Merge::give_rows() {
  std::ranges::sort(ranks_);
  for (const Rank& rank : ranks_) {
    const LinePlace& place = places_[rank.at];
    options_.on_row(report_, row_at(place, files_.line(place)));
  }
}

AuditReport Merge::run() {
  for (std::size_t file = 0; file < files_.count(); ++file)
    read(static_cast<std::uint32_t>(file));
  require_every_share();
  // Rows of one file stay in their order: they lie in one share.
  std::stable_sort(places_.begin(), places_.end(),
                   [](const LinePlace& a, const LinePlace& b) { return a.index < b.index; });
  require_every_file();
  report_.machine = begin_.setting.machine;
  report_.made_from = begin_.made_from;
  report_.sort = begin_.wanted.sort;
  report_.value = begin_.wanted.value;
  begin_.shard = begin_.shards = 1;
  say(line_of(begin_));
  sum();
  for (const auto& [path, error] : report_.faults)
    say(line_of_fault(path, error));
  say(line_of_end(report_));
  if (options_.on_row)
    give_rows();
  return std::move(report_);
}

}  // namespace

AuditReport merge_audits(const std::vector<std::string>& files, const AuditOptions& options) {
  return Merge(files, options).run();
}

}  // namespace platetally
