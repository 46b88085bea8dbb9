// The audit: finds the plates, tallies them on several threads, reports in the order of the input.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <condition_variable>
#include <map>
#include <mutex>
#include <thread>

#include "account/join/made_from.hpp"
#include "base/threads.hpp"
#include "meter/history/store.hpp"
#include "output/audit/lines.hpp"
#include "output/audit/record.hpp"
#include "output/audit/setting.hpp"
#include "output/audit/sums.hpp"
#include "output/report/lookup.hpp"
#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"
#include "reading/source/content.hpp"
#include "reading/source/folder.hpp"

namespace platetally {

namespace {

using namespace audit_stage;

constexpr std::size_t kWaitingPerThread = 32;        // results that wait for an earlier one
constexpr std::int64_t kSettled_ns = 2'000'000'000;  // what was changed later than this may change
                                                     // again within one tick of the clock

struct Job {
  std::size_t index = 0;  // of its path in what was found
  std::optional<source::FileState> state;
};

/// The bodies of a file's plates.
struct Done {
  std::vector<std::string> bodies;
  std::string content;  // empty: it could not be told, or nobody asks for it
  bool from_history = false;
};

class Audit {
 public:
  Audit(const Machine& machine, const AuditOptions& options)
      : machine_(machine),
        options_(options),
        setting_(setting_of(machine, options)),
        machine_hash_(machine_hash(machine)),
        summing_(options.most_rows) {
    wanted_.sort = report::full_key(options.sort.empty() ? "purge_g" : options.sort);
    for (const auto& [key, limit] : options.limits)
      wanted_.limits.emplace_back(report::full_key(key), limit);
    wanted_.partial = options.partial;
    wanted_.strict = options.strict;
    wanted_.value = options.value;
    analyze_.materials = options.materials;
    analyze_.tool_colours = options.tool_colours;
    analyze_.partial = options.partial;
    analyze_.variant = options.variant;
    // A thread a plate, unless there is one thread only: then the plate is read in one as well.
    analyze_.threads = 1;
    if (!options.history.empty())
      store_.emplace(options.history);
  }

  AuditReport run(const std::vector<std::string>& paths);

 private:
  void require_plates(const std::vector<std::string>& paths) const;
  /// Gives a hash of what was found.
  std::string choose_jobs();
  void work();
  Done tally(const Job& listed);
  std::optional<Done> look_up(const Job& job, std::string& content);
  const std::string& path_of(const Job& job) const { return found_.paths[job.index]; }
  std::vector<std::string> bodies_of(const Job& job, bool& complete, std::string& content) const;
  void keep(const Job& job, const std::string& content, const std::vector<std::string>& bodies);
  void give_up_history(const history::HistoryError& error);
  /// Call it with the lock held.
  void hand_in(std::size_t at, Done done);
  void emit(const Job& job, const Done& done);
  void say(const std::string& line) const {
    if (options_.on_record)
      options_.on_record(line);
  }

  const Machine& machine_;
  const AuditOptions& options_;
  AnalyzeOptions analyze_;
  history::Setting setting_;
  std::string machine_hash_;
  Wanted wanted_;
  source::FoundPlates found_;
  std::vector<Job> jobs_;
  Summing summing_;
  AuditReport report_;
  AuditProgress progress_;

  std::mutex history_mutex_;
  std::optional<history::Store> store_;

  std::mutex mutex_;  // all below
  std::condition_variable moved_on_;
  std::size_t next_ = 0;
  std::size_t emitted_ = 0;
  std::map<std::size_t, Done> waiting_;
  std::exception_ptr failure_;
};

std::string Audit::choose_jobs() {
  std::vector<std::optional<source::FileState>> states;
  std::vector<std::int64_t> sizes_bytes;
  for (const std::string& path : found_.paths) {
    states.push_back(source::state_of(path));
    sizes_bytes.push_back(states.back() ? states.back()->size_bytes : 0);
  }
  const std::vector<int> shares = shares_of(sizes_bytes, options_.shards);
  for (std::size_t i = 0; i < found_.paths.size(); ++i) {
    if (shares[i] != options_.shard)
      continue;
    jobs_.push_back({i, states[i]});
    progress_.bytes_in_all += static_cast<std::uint64_t>(sizes_bytes[i]);
  }
  progress_.files_in_all = jobs_.size();
  return hash_of_listing(found_.paths, sizes_bytes);
}

/// Fills `content`, if it is not known yet and the plate could be read.
std::vector<std::string> Audit::bodies_of(const Job& job, bool& complete,
                                          std::string& content) const {
  std::vector<std::string> bodies;
  complete = true;
  try {
    for (PlateOutcome& outcome : analyze_plates(path_of(job), machine_, analyze_)) {
      if (outcome.account && options_.prices)
        add_prices(*outcome.account, *options_.prices, options_.copies);
      complete = complete && outcome.account.has_value();
      if (content.empty() && outcome.account && !outcome.account->made_from.plates.empty())
        content = outcome.account->made_from.plates.front().hash;
      if (outcome.account && options_.on_account)
        options_.on_account(path_of(job), outcome.member, *outcome.account);
      bodies.push_back(
          outcome.account ? body_of(*outcome.account, outcome.member, wanted_.keys(), machine_hash_)
                          : body_of_error(outcome.member, outcome.error));
    }
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception& error) {
    complete = false;
    bodies.push_back(body_of_error("", error.what()));
  }
  if (bodies.empty())
    bodies.push_back(body_of_error("", "holds no plate"));
  if (job.state && source::state_of(path_of(job)) != job.state) {
    complete = false;
    bodies = {body_of_error("", "was changed while it was read; audit it again")};
  }
  return bodies;
}

void Audit::give_up_history(const history::HistoryError& error) {
  store_.reset();
  report_.history_failed = true;
  report_.notes.push_back(
      fmt::format("{}; the audit went on without it, and what follows was not kept", error.what()));
}

/// Fills `content` on the way, unless the content could not be told.
std::optional<Done> Audit::look_up(const Job& job, std::string& content) {
  {
    const std::lock_guard lock(history_mutex_);
    if (!store_)
      return std::nullopt;
    if (auto known = store_->content_at(path_of(job), *job.state))
      content = *known;
  }
  if (content.empty())
    content = source::hash_of_file(path_of(job)).value_or("");
  const std::lock_guard lock(history_mutex_);
  if (content.empty() || !store_)
    return std::nullopt;
  if (options_.on_account)
    return std::nullopt;
  auto bodies = store_->find(content, setting_.hash);
  if (!bodies || !std::all_of(bodies->begin(), bodies->end(),
                              [&](const std::string& body) { return holds_all(body, wanted_); }))
    return std::nullopt;
  return Done{std::move(*bodies), content, true};
}

void Audit::keep(const Job& job, const std::string& content,
                 const std::vector<std::string>& bodies) {
  const std::lock_guard lock(history_mutex_);
  if (!store_)
    return;
  const std::int64_t now_s = options_.now_s ? options_.now_s() : 0;
  source::FileState state = *job.state;
  if (state.modified_ns > now_s * 1'000'000'000 - kSettled_ns)
    state.modified_ns = -1;  // matches no file: next time its content is looked at
  store_->keep(path_of(job), state, content, setting_, bodies, now_s);
}

Done Audit::tally(const Job& listed) {
  Job job = listed;
  job.state = source::state_of(path_of(job));  // it may have changed since it was listed
  std::string content;
  const bool keeps = job.state && !options_.history.empty();
  if (keeps) {
    try {
      if (auto known = look_up(job, content))
        return *known;
    } catch (const history::HistoryError& error) {
      const std::lock_guard lock(history_mutex_);
      give_up_history(error);
    }
  }
  bool complete = false;
  std::vector<std::string> bodies = bodies_of(job, complete, content);
  if (content.empty() && options_.on_record)
    content = source::hash_of_file(path_of(job)).value_or("");
  const Done done{std::move(bodies), content, false};
  if (keeps && complete && !content.empty()) {
    try {
      keep(job, content, done.bodies);
    } catch (const history::HistoryError& error) {
      const std::lock_guard lock(history_mutex_);
      give_up_history(error);
    }
  }
  return done;
}

void Audit::emit(const Job& job, const Done& done) {
  for (const std::string& body : done.bodies) {
    const std::string line = line_of(job.index, path_of(job), done.content, body);
    say(line);
    if (auto row = row_of(line, wanted_))
      summing_.add(std::move(*row));
  }
  ++progress_.files;
  progress_.from_history += done.from_history;
  progress_.bytes += job.state ? static_cast<std::uint64_t>(job.state->size_bytes) : 0;
  if (options_.on_progress)
    options_.on_progress(progress_);
}

/// Emits what is next in the order of the input.
void Audit::hand_in(std::size_t at, Done done) {
  waiting_.emplace(at, std::move(done));
  while (!waiting_.empty() && waiting_.begin()->first == emitted_) {
    emit(jobs_[emitted_], waiting_.begin()->second);
    waiting_.erase(waiting_.begin());
    ++emitted_;
  }
  moved_on_.notify_all();
}

void Audit::work() {
  const std::size_t most = kWaitingPerThread * static_cast<std::size_t>(options_.threads);
  std::unique_lock lock(mutex_);
  try {
    for (;;) {
      // The earliest plate is always under way, so this waits for that one alone.
      moved_on_.wait(lock,
                     [&] { return failure_ || next_ == jobs_.size() || next_ < emitted_ + most; });
      if (failure_ || next_ == jobs_.size())
        return;
      const std::size_t at = next_++;
      lock.unlock();
      Done done = tally(jobs_[at]);
      lock.lock();
      hand_in(at, std::move(done));
    }
  } catch (...) {
    if (!lock.owns_lock())
      lock.lock();
    if (!failure_)
      failure_ = std::current_exception();
    moved_on_.notify_all();
  }
}

/// An audit of nothing says nothing of the plates: it is an error, also where a share has none.
void Audit::require_plates(const std::vector<std::string>& paths) const {
  const source::FoundPlates& found = found_;
  if (options_.shards > 1)
    for (const std::string& path : paths)
      if (!source::exists(path))
        throw std::runtime_error(
            fmt::format("{}: there is no such file or folder; no share of it was done", path));
  if (!found.paths.empty() || (options_.shards == 1 && !found.faults.empty()))
    return;
  std::string message = fmt::format("there is no plate to audit in {}", fmt::join(paths, ", "));
  if (!found.faults.empty())
    message += fmt::format("; {}: {}", found.faults.front().path, found.faults.front().message);
  if (!found.matches_none.empty())
    message += fmt::format("; no file is like {}", fmt::join(found.matches_none, ", "));
  else if (found.passed_over > 0)
    message += fmt::format(
        "; {}; --include takes other names",
        found.passed_over == 1
            ? "1 file was not a plate by its name"
            : fmt::format("{} files were not plates by their names", found.passed_over));
  throw std::runtime_error(message);
}

AuditReport Audit::run(const std::vector<std::string>& paths) {
  found_ = source::find_plates(paths, {options_.include, options_.exclude, options_.history});
  require_plates(paths);
  const std::string listing = choose_jobs();
  report_.machine = machine_.name;
  report_.made_from = made_from(machine_, analyze_);
  if (options_.prices) {
    report_.made_from.set("prices", prices_hash(*options_.prices));
    if (options_.copies != 1)
      report_.made_from.set("copies", fmt::format("{}", options_.copies));
  }
  report_.sort = wanted_.sort;
  report_.value = wanted_.value;
  for (const std::string& pattern : found_.matches_none)
    report_.notes.push_back(fmt::format("--include {}: no file is like this", pattern));
  say(line_of(Begin{setting_, found_.paths.size(), listing, options_.shard, options_.shards,
                    wanted_, report_.made_from}));
  std::vector<std::thread> threads;
  for (int i = 1; i < base::threads_of(options_.threads); ++i)
    threads.emplace_back([this] { work(); });
  work();
  for (std::thread& thread : threads)
    thread.join();
  if (failure_)
    std::rethrow_exception(failure_);
  if (options_.shard == 1) {  // the first share says what concerns none
    report_.passed_over = found_.passed_over;
    for (const source::FolderFault& fault : found_.faults) {
      report_.faults.emplace_back(fault.path, fault.message);
      say(line_of_fault(fault.path, fault.message));
    }
  }
  if (options_.shards > 1)
    report_.notes.push_back(fmt::format("share {} of {}: {} of {} files", options_.shard,
                                        options_.shards, jobs_.size(), found_.paths.size()));
  report_.from_history = progress_.from_history;
  summing_.finish(report_);
  say(line_of_end(report_));
  return std::move(report_);
}

}  // namespace

AuditReport audit(const std::vector<std::string>& paths, const Machine& machine,
                  const AuditOptions& options) {
  for (const Diagnostic& fault : validate(machine))
    if (fault.severity == Severity::error)
      throw UnreadablePlate(fmt::format("machine '{}': {}", machine.name, fault.message));
  if (options.shards < 1 || options.shard < 1 || options.shard > options.shards)
    throw std::invalid_argument("expected a share from 1 to the number of shares");
  return Audit(machine, options).run(paths);
}

}  // namespace platetally
