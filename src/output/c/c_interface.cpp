// The C interface. No exception leaves it: whatever goes wrong becomes one line of text.
#include "platetally/platetally.h"

#include <algorithm>
#include <cstddef>
#include <cstdlib>
#include <cstring>
#include <new>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

#include "output/report/strings.hpp"
#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"
#include "platetally/prices.hpp"
#include "platetally/report.hpp"

struct platetally_account {
  platetally::Account account;
};

namespace {

using namespace platetally;
using platetally::report::json_string;

/// A copy that C can free; null without memory.
char* text_for_c(std::string_view text) noexcept {
  auto* copy = static_cast<char*>(std::malloc(text.size() + 1));
  if (copy == nullptr)
    return nullptr;
  std::memcpy(copy, text.data(), text.size());
  copy[text.size()] = '\0';
  return copy;
}

/// What `work` returns; null if it throws, and then the reason in `error`.
template <typename Work>
auto guarded(char** error, const Work& work) noexcept -> decltype(work()) {
  if (error != nullptr)
    *error = nullptr;
  const auto fail = [error](std::string_view why) {
    if (error != nullptr)
      *error = text_for_c(why);
    return decltype(work()){};
  };
  try {
    return work();
  } catch (const std::bad_alloc&) {
    return fail("out of memory");
  } catch (const std::exception& failure) {
    return fail(failure.what());
  }
}

template <typename Work>
char* text_of(const Work& work) noexcept {
  return guarded(nullptr, [&work] { return text_for_c(work()); });
}

[[noreturn]] void refuse(const std::string& path, const Diagnostic& fault) {
  std::string place = path;
  if (fault.line != 0)
    place += ':' + std::to_string(fault.line) + ':' + std::to_string(fault.column);
  throw std::runtime_error(place + ": " + fault.message);
}

/// The first fault of a file that cannot be used.
template <typename Load>
Load sound(Load load, const std::string& path) {
  if (load.ok())
    return load;
  for (const Diagnostic& fault : load.diagnostics)
    if (fault.severity == Severity::error)
      refuse(path, fault);
  throw std::runtime_error(path + ": cannot be used");
}

/// The caller's, as far as the caller's own version of them goes.
platetally_options known(const platetally_options* given) {
  platetally_options options{};
  if (given != nullptr) {
    if (given->size < offsetof(platetally_options, threads) + sizeof(int))
      throw std::invalid_argument("options: 'size' must be sizeof(platetally_options)");
    std::memcpy(&options, given, std::min(given->size, sizeof(options)));
  }
  return options;
}

struct Job {
  Machine machine;
  AnalyzeOptions options;
  std::optional<Prices> prices;
  int copies = 1;
};

Job job_of(const char* machine, const platetally_options& asked) {
  if (machine == nullptr)
    throw std::invalid_argument("no machine was named");
  Job job{sound(load_machine(machine), machine).machine, {}, {}, std::max(1, asked.copies)};
  job.options.threads = asked.threads == 1 ? 1 : 2;
  job.options.partial = asked.partial != 0;
  job.options.objects = asked.objects != 0;
  if (asked.materials != nullptr)
    job.options.materials = sound(load_materials(asked.materials), asked.materials).materials;
  if (asked.prices != nullptr)
    job.prices = sound(load_prices(asked.prices), asked.prices).prices;
  for (std::size_t tool = 0; asked.colours != nullptr && tool < asked.colour_count; ++tool)
    job.options.tool_colours.emplace_back(asked.colours[tool] == nullptr ? ""
                                                                         : asked.colours[tool]);
  if (job.options.tool_colours.size() > job.machine.tools.size())
    throw std::invalid_argument("more colours than the machine has tools");
  return job;
}

platetally_account* finished(Account account, const Job& job) {
  if (job.prices)
    add_prices(account, *job.prices, job.copies);
  return new platetally_account{std::move(account)};
}

Account account_of_member(const std::string& path, const std::string& member, const Job& job) {
  for (PlateOutcome& outcome : analyze_plates(path, job.machine, job.options))
    if (outcome.member == member) {
      if (outcome.account)
        return std::move(*outcome.account);
      throw UnreadablePlate(member + ": " + outcome.error);
    }
  throw UnreadablePlate("holds no plate '" + member + "'");
}

}  // namespace

extern "C" {

const char* platetally_version(void) {
  return PLATETALLY_VERSION;
}

platetally_account* platetally_tally(const char* path, const char* machine,
                                     const platetally_options* options, char** error) {
  return guarded(error, [&]() -> platetally_account* {
    if (path == nullptr)
      throw std::invalid_argument("no plate was named");
    const platetally_options asked = known(options);
    const Job job = job_of(machine, asked);
    try {
      return finished(asked.member == nullptr ? analyze_file(path, job.machine, job.options)
                                              : account_of_member(path, asked.member, job),
                      job);
    } catch (const UnreadablePlate& fault) {
      throw UnreadablePlate(std::string(path) + ": " + fault.what());
    }
  });
}

platetally_account* platetally_tally_bytes(const char* bytes, size_t size, const char* machine,
                                           const platetally_options* options, char** error) {
  return guarded(error, [&]() -> platetally_account* {
    const platetally_options asked = known(options);
    if (asked.member != nullptr)
      throw std::invalid_argument("options: 'member' goes with a path only");
    if (bytes == nullptr && size > 0)
      throw std::invalid_argument("no bytes were given");
    const Job job = job_of(machine, asked);
    return finished(
        analyze_bytes(size > 0 ? std::string_view(bytes, size) : "", job.machine, job.options),
        job);
  });
}

void platetally_free_account(platetally_account* account) {
  delete account;
}

void platetally_free_text(char* text) {
  std::free(text);
}

char* platetally_json(const platetally_account* account) {
  return text_of([account] { return to_json(account->account); });
}

char* platetally_text(const platetally_account* account) {
  return text_of([account] { return to_text(account->account); });
}

char* platetally_value(const platetally_account* account, const char* key) {
  return guarded(nullptr, [&]() -> char* {
    const auto value = get_field(account->account, key);
    return value ? text_for_c(*value) : nullptr;
  });
}

int platetally_number(const platetally_account* account, const char* key, double* number) {
  return guarded(nullptr, [&] {
    const auto value = get_number(account->account, key);
    if (value)
      *number = *value;
    return value ? 1 : 0;
  });
}

size_t platetally_rows(const platetally_account* account, const char* section) {
  return guarded(nullptr, [&] { return count_rows(account->account, section); });
}

size_t platetally_column(const platetally_account* account, const char* key, double* numbers,
                         size_t room) {
  return guarded(nullptr, [&]() -> size_t {
    const auto column = get_column(account->account, key);
    if (!column)
      return 0;
    std::copy_n(column->begin(), std::min(room, column->size()), numbers);
    return column->size();
  });
}

char* platetally_fields(void) {
  return text_of([] {
    std::string out = "[";
    for (const FieldInfo& field : list_fields())
      out += (out.size() > 1 ? ",\n " : "") + ("{\"key\": " + json_string(field.key)) +
             ", \"unit\": " + json_string(field.unit) + ", \"title\": " + json_string(field.title) +
             ", \"note\": " + json_string(field.note) + "}";
    return out + "]\n";
  });
}

char* platetally_schema(void) {
  return text_of(tally_json_schema);
}

char* platetally_machines(void) {
  return text_of([] {
    std::string out = "[";
    for (const std::string& name : embedded_machine_names())
      out += (out.size() > 1 ? ", " : "") + json_string(name);
    return out + "]\n";
  });
}

char* platetally_history(const char* file, const char* since, char** error) {
  return guarded(error, [&] {
    if (file == nullptr || since == nullptr)
      throw std::invalid_argument("no history or no date was named");
    const auto since_s = parse_utc(since);
    if (!since_s)
      throw std::invalid_argument(std::string("'") + since +
                                  "' is no date, such as 2026-11-01 or 2026-11-01T08:00:00");
    return text_for_c(to_json(read_history(file, *since_s, {}, {})));
  });
}

}  // extern "C"
