// A queue from TOML. What is wrong with a job leaves that job out; what is wrong with anything else
// leaves nothing to plan.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <utility>

#include "base/nearest.hpp"
#include "base/toml_reader.hpp"
#include "base/units.hpp"
#include "plan/hours/moments.hpp"
#include "platetally/plan.hpp"

namespace platetally {

namespace {

constexpr std::int64_t kMostCopies = 10000;
constexpr std::int64_t kMostMachines = 32;  // of one description
constexpr std::size_t kMostEntries = 2000;  // of [[jobs]]
constexpr std::size_t kMostKinds = 32;      // of [[machines]]
constexpr double kMostMoney = 1e6;
constexpr double kMostMinutes = 600.0;

class FileReader {
 public:
  FileReader(QueueLoad& load, std::string folder)
      : load_(load), queue_(load.queue), folder_(std::move(folder)), reader_(load.diagnostics) {}

  void read(const toml::table& root);

 private:
  base::TomlKey moment_key(const char* name, std::optional<std::int64_t>& place,
                           const char* required = nullptr);
  base::TomlKey texts_key(const char* name, std::vector<std::string>& place);
  base::TomlKey whole_key(const char* name, std::int64_t low, std::int64_t high, int& place,
                          const char* required = nullptr);
  void read_machine(const toml::table& row, const std::string& path);
  void read_hours(const toml::node& value, const std::string& path, QueueMachine& machine);
  void read_job(const toml::table& row, const std::string& path);
  void check_job(const toml::table& row, const std::vector<std::string>& machines,
                 const std::string& sliced_for, QueueJob& job);
  std::optional<std::size_t> machine_index(const toml::table& row, const std::string& name,
                                           const std::string& job);
  std::optional<Prices> read_prices(const toml::table& table, const std::string& path);
  std::string beside(const std::string& path) const {
    return (std::filesystem::path(folder_) / path).string();
  }
  void fault(const toml::table& at, const char* code, const std::string& message) {
    reader_.fault(at.source(), code, message);
  }

  QueueLoad& load_;
  Queue& queue_;
  std::string folder_;
  base::TomlReader reader_;
};

base::TomlKey FileReader::moment_key(const char* name, std::optional<std::int64_t>& place,
                                     const char* required) {
  const auto read = [this, &place](const toml::node& value, const std::string& path) {
    const auto text = reader_.text(value, path);
    if (text && !(place = parse_moment(*text)))
      reader_.fault(value.source(), "key-moment",
                    fmt::format("{}: found \"{}\"; expected a moment such as \"2026-05-04 07:30\"",
                                path, *text));
  };
  return {name, read, required};
}

base::TomlKey FileReader::texts_key(const char* name, std::vector<std::string>& place) {
  const auto read = [this, &place](const toml::node& value, const std::string& path) {
    const toml::array* texts = value.as_array();
    if (texts == nullptr)
      return reader_.wrong_type(value, path, "texts in brackets");
    for (const toml::node& entry : *texts)
      if (const auto text = reader_.text(entry, path))
        place.push_back(*text);
  };
  return {name, read};
}

base::TomlKey FileReader::whole_key(const char* name, std::int64_t low, std::int64_t high,
                                    int& place, const char* required) {
  const auto read = [this, low, high, &place](const toml::node& value, const std::string& path) {
    if (const auto found = reader_.whole_number(value, path, low, high))
      place = static_cast<int>(*found);
  };
  return {name, read, required};
}

std::optional<Prices> FileReader::read_prices(const toml::table& table, const std::string& path) {
  if (path.empty())
    return std::nullopt;
  PricesLoad prices = load_prices(beside(path));
  if (prices.ok())
    return std::move(prices.prices);
  const Diagnostic& first = prices.diagnostics.front();
  fault(
      table, "prices-file",
      first.line == 0 ? first.message : fmt::format("{}:{}: {}", path, first.line, first.message));
  return std::nullopt;
}

void FileReader::read_hours(const toml::node& value, const std::string& path,
                            QueueMachine& machine) {
  const toml::array* rows = value.as_array();
  if (rows == nullptr)
    return reader_.wrong_type(value, path, "texts such as \"mon-fri 07:30-17:00\" in brackets");
  for (const toml::node& row : *rows) {
    const auto text = reader_.text(row, path);
    if (!text)
      continue;
    const auto spans = hours::parse_hours(*text);
    if (!spans) {
      reader_.fault(row.source(), "key-hours",
                    fmt::format("{}: found \"{}\"; expected \"mon-fri 07:30-17:00\", one day, or "
                                "\"always\"",
                                path, *text));
      continue;
    }
    machine.attended.insert(machine.attended.end(), spans->begin(), spans->end());
  }
  if (rows->empty())
    reader_.fault(value.source(), "no-hours",
                  fmt::format("{}: no hours: nobody is there to start a plate", path));
}

void FileReader::read_machine(const toml::table& row, const std::string& path) {
  QueueMachine machine;
  double change_min = base::min_from_s(machine.spool_change_s);
  double handling_min = base::min_from_s(machine.handling_s);
  std::string prices;
  const auto hours = [&](const toml::node& value, const std::string& name) {
    read_hours(value, name, machine);
  };
  const auto unattended = [&](const toml::node& value, const std::string& name) {
    machine.unattended = reader_.flag(value, name).value_or(machine.unattended);
  };
  reader_.keys(
      row, path + ".",
      {reader_.text_key("name", machine.name, "its name"),
       reader_.text_key("machine", machine.source, "a machine: a name, or a file ending in .toml"),
       whole_key("count", 1, kMostMachines, machine.count),
       {"attended", hours, "hours in which somebody is there: [\"mon-fri 07:30-17:00\"]"},
       {"unattended", unattended},
       texts_key("loaded", machine.loaded),
       reader_.number_key("spool_change_min", 0, kMostMinutes, change_min),
       reader_.number_key("handling_min", 0, kMostMinutes, handling_min),
       moment_key("down_until", machine.down_until_s),
       reader_.text_key("prices", prices)});
  machine.spool_change_s = change_min * base::kSecondsPerMinute;
  machine.handling_s = handling_min * base::kSecondsPerMinute;
  machine.prices = read_prices(row, prices);
  if (machine.source.empty())
    return;
  const bool is_file = machine.source.ends_with(".toml");
  MachineLoad loaded = load_machine(is_file ? beside(machine.source) : machine.source);
  if (!loaded.ok())
    return fault(
        row, "machine-file",
        fmt::format("machine '{}': {}", machine.source, loaded.diagnostics.front().message));
  machine.machine = std::move(loaded).machine();
  if (machine.loaded.size() > machine.machine.tools.size())
    fault(row, "too-many-loaded",
          fmt::format("machine '{}': loaded names {} filaments; it holds {}", machine.name,
                      machine.loaded.size(), machine.machine.tools.size()));
  if (std::ranges::any_of(queue_.machines,
                          [&](const QueueMachine& one) { return one.name == machine.name; }))
    fault(row, "name-twice", fmt::format("two machines are called '{}'", machine.name));
  queue_.machines.push_back(std::move(machine));
}

std::optional<std::size_t> FileReader::machine_index(const toml::table& row,
                                                     const std::string& name,
                                                     const std::string& job) {
  std::vector<std::string> names;
  for (const QueueMachine& machine : queue_.machines)
    names.push_back(machine.name);
  const auto found = std::ranges::find(names, name);
  if (found != names.end())
    return static_cast<std::size_t>(found - names.begin());
  fault(row, "machine-unknown",
        fmt::format("job '{}': no machine is called '{}'; expected one like '{}'; the job is left "
                    "out",
                    job, name, base::nearest(name, names)));
  return std::nullopt;
}

void FileReader::check_job(const toml::table& row, const std::vector<std::string>& machines,
                           const std::string& sliced_for, QueueJob& job) {
  for (const std::string& name : machines)
    if (const auto index = machine_index(row, name, job.name))
      job.machines.push_back(*index);
  std::ranges::sort(job.machines);
  job.machines.erase(std::ranges::unique(job.machines).begin(), job.machines.end());
  if (machines.empty())
    for (std::size_t i = 0; i < queue_.machines.size(); ++i)
      job.machines.push_back(i);
  if (!sliced_for.empty())
    job.sliced_for = machine_index(row, sliced_for, job.name).value_or(0);
  else if (!job.machines.empty())
    job.sliced_for = job.machines.front();
  std::error_code error;
  job.path = beside(job.plate);
  if (!job.plate.empty() && !std::filesystem::is_regular_file(job.path, error))
    fault(
        row, "plate-unknown",
        fmt::format("job '{}': there is no plate '{}'; the job is left out", job.name, job.plate));
  if (std::ranges::any_of(queue_.jobs, [&](const QueueJob& one) { return one.name == job.name; }))
    fault(row, "name-twice",
          fmt::format("two jobs are called '{}'; the second is left out", job.name));
  if (job.most_parts > 0 && job.most_parts < job.parts)
    fault(
        row, "plate-too-full",
        fmt::format("job '{}': most_parts is {}, but the plate as it is holds {}; the job is left "
                    "out",
                    job.name, job.most_parts, job.parts));
}

void FileReader::read_job(const toml::table& row, const std::string& path) {
  QueueJob job;
  std::vector<std::string> machines;
  std::string sliced_for;
  job.line = row.source().begin.line;
  const std::size_t faults = load_.diagnostics.size();
  reader_.keys(
      row, path + ".",
      {reader_.text_key("name", job.name, "its name"),
       reader_.text_key("plate", job.plate, "a sliced plate"),
       whole_key("copies", 1, kMostCopies, job.copies),
       whole_key("parts", 1, kMostCopies, job.parts), moment_key("due", job.due_s),
       texts_key("machines", machines), reader_.text_key("sliced_for", sliced_for),
       reader_.number_key("priority", 0.01, 100, job.priority), texts_key("colours", job.colours),
       whole_key("most_parts", 1, kMostCopies, job.most_parts)});
  check_job(row, machines, sliced_for, job);
  if (load_.diagnostics.size() > faults)
    return;
  if (job.due_s && *job.due_s < queue_.start_s) {
    fault(
        row, "due-in-the-past",
        fmt::format("job '{}': it was due {}, before the plan begins ({}); it is planned, and late",
                    job.name, moment_text(*job.due_s), moment_text(queue_.start_s)));
    load_.diagnostics.back().severity = Severity::warning;
  }
  queue_.jobs.push_back(std::move(job));
}

void FileReader::read(const toml::table& root) {
  std::optional<std::int64_t> start_s;
  std::string prices;
  const toml::node* machines = nullptr;
  const toml::node* jobs = nullptr;
  const auto keep = [](const toml::node*& place) {
    return [&place](const toml::node& value, const std::string&) { place = &value; };
  };
  reader_.keys(root, "",
               {moment_key("start", start_s, "the moment at which the plan begins"),
                reader_.number_key("power_limit_w", 1, 1e6, queue_.power_limit_w),
                reader_.text_key("prices", prices),
                reader_.number_key("late_per_h", 0, kMostMoney, queue_.late_per_h),
                reader_.number_key("labour_per_h", 0, kMostMoney, queue_.labour_per_h),
                {"machines", keep(machines), "tables in double brackets"},
                {"jobs", keep(jobs), "tables in double brackets"}});
  queue_.start_s = start_s.value_or(0);
  queue_.prices = read_prices(root, prices);
  // The machines first, wherever they stand: jobs name them.
  if (machines != nullptr)
    for (const toml::table* row : reader_.tables(*machines, "machines"))
      if (queue_.machines.size() < kMostKinds)
        read_machine(*row, "machines");
  const bool sound = load_.diagnostics.empty() && !queue_.machines.empty();
  if (jobs == nullptr || !sound)
    return;
  for (const toml::table* row : reader_.tables(*jobs, "jobs")) {
    if (queue_.jobs.size() >= kMostEntries) {
      fault(*row, "too-many-jobs",
            fmt::format("more than {} jobs; this one and those behind it are left out",
                        kMostEntries));
      break;
    }
    read_job(*row, "jobs");
  }
  load_.usable = !queue_.jobs.empty();
  if (!load_.usable)
    fault(root, "nothing-to-plan", "no job can be planned");
}

}  // namespace

QueueLoad parse_queue(std::string_view toml_text, const std::string& origin,
                      const std::string& folder) {
  QueueLoad load;
  load.queue.path = origin;
  if (const auto root = base::parse_toml(toml_text, origin, "queue", load.diagnostics))
    FileReader(load, folder).read(*root);
  return load;
}

QueueLoad load_queue(const std::string& path) {
  QueueLoad load;
  load.queue.path = path;
  if (const auto root = base::load_toml(path, "queue", load.diagnostics))
    FileReader(load, std::filesystem::path(path).parent_path().string()).read(*root);
  return load;
}

}  // namespace platetally
