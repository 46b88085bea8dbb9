// The C interface: a plate and its account. No exception leaves it: whatever goes wrong becomes one
// line of text.
#include <cmath>
#include <memory>

#include "output/c/c_parts.hpp"
#include "output/report/strings.hpp"
#include "platetally/audit.hpp"
#include "platetally/feed.hpp"
#include "platetally/report.hpp"

struct platetally_feed {
  platetally::PlateFeed feed;
  platetally::c::Job job;
};

namespace {

using namespace platetally;
using namespace platetally::c;
using platetally::report::json_string;

platetally_account* finished(Account account, const Job& job) {
  if (job.prices)
    add_prices(account, *job.prices, job.copies);
  return new platetally_account{std::move(account)};
}

Account account_of_member(const std::string& path, const std::string& member,
                          const Machine& machine, const Job& job) {
  for (PlateOutcome& outcome : analyze_plates(path, machine, job.options))
    if (outcome.member == member) {
      if (outcome.account)
        return std::move(*outcome.account);
      throw UnreadablePlate(member + ": " + outcome.error);
    }
  throw UnreadablePlate("holds no plate '" + member + "'");
}

/// For what is no path.
platetally_options known_without_member(const platetally_options* options) {
  const platetally_options asked = known(options);
  if (asked.member != nullptr)
    throw std::invalid_argument("options: 'member' goes with a path only");
  return asked;
}

std::string limits_json(const LimitCheck& check) {
  std::string over;
  for (const LimitBreach& breach : check.breaches)
    over += (over.empty() ? "" : ", ") + ("{\"key\": " + json_string(breach.key)) +
            ", \"value\": " + report::exact_number(breach.value) +
            ", \"limit\": " + report::exact_number(breach.limit) + "}";
  std::string not_checked;
  for (const std::string& error : check.errors)
    not_checked += (not_checked.empty() ? "" : ", ") + json_string(error);
  const bool passes = over.empty() && not_checked.empty() && !check.partial;
  return std::string("{\"passes\": ") + (passes ? "true" : "false") + ", \"over\": [" + over +
         "], \"not_checked\": [" + not_checked +
         "], \"partial\": " + (check.partial ? "true" : "false") + "}\n";
}

}  // namespace

extern "C" {

const char* platetally_version(void) {
  return PLATETALLY_VERSION;
}

platetally_account* platetally_tally(const char* path, const char* machine,
                                     const platetally_options* options, char** error) {
  return guarded(error, [&]() -> platetally_account* {
    require(path, "plate was named");
    const platetally_options asked = known(options);
    const Machine loaded = machine_of(machine);
    const Job job = job_of(loaded, asked);
    try {
      return finished(asked.member == nullptr ? analyze_file(path, loaded, job.options)
                                              : account_of_member(path, asked.member, loaded, job),
                      job);
    } catch (const UnreadablePlate& fault) {
      throw UnreadablePlate(std::string(path) + ": " + fault.what());
    }
  });
}

platetally_account* platetally_tally_bytes(const char* bytes, size_t size, const char* machine,
                                           const platetally_options* options, char** error) {
  return guarded(error, [&]() -> platetally_account* {
    const platetally_options asked = known_without_member(options);
    if (size > 0)
      require(bytes, "bytes were given");
    const Machine loaded = machine_of(machine);
    const Job job = job_of(loaded, asked);
    return finished(
        analyze_bytes(size > 0 ? std::string_view(bytes, size) : "", loaded, job.options), job);
  });
}

platetally_feed* platetally_begin(const char* machine, const platetally_options* options,
                                  char** error) {
  return guarded(error, [&]() -> platetally_feed* {
    const platetally_options asked = known_without_member(options);
    const Machine loaded = machine_of(machine);
    Job job = job_of(loaded, asked);
    return new platetally_feed{PlateFeed(loaded, job.options), std::move(job)};
  });
}

int platetally_push(platetally_feed* feed, const char* bytes, size_t size, char** error) {
  return guarded(error, [&] {
    require(feed, "feed was given");
    if (size == 0)
      return 1;
    require(bytes, "bytes were given");
    return feed->feed.push({bytes, size}) ? 1 : 0;
  });
}

platetally_account* platetally_finish(platetally_feed* feed, char** error) {
  const std::unique_ptr<platetally_feed> ended(feed);
  return guarded(error, [&]() -> platetally_account* {
    require(feed, "feed was given");
    return finished(feed->feed.finish(), feed->job);
  });
}

void platetally_drop(platetally_feed* feed) {
  delete feed;
}

void platetally_free_account(platetally_account* account) {
  delete account;
}

void platetally_free_text(char* text) {
  std::free(text);
}

char* platetally_json(const platetally_account* account) {
  return text_of([account] {
    require(account, "account was given");
    return to_json(account->account);
  });
}

char* platetally_text(const platetally_account* account) {
  return text_of([account] {
    require(account, "account was given");
    return to_text(account->account);
  });
}

char* platetally_value(const platetally_account* account, const char* key) {
  return guarded(nullptr, [&]() -> char* {
    require(account, "account was given");
    require(key, "key was given");
    const auto value = get_field(account->account, key);
    return value ? text_for_c(*value) : nullptr;
  });
}

int platetally_number(const platetally_account* account, const char* key, double* number) {
  return guarded(nullptr, [&] {
    require(account, "account was given");
    require(key, "key was given");
    require(number, "place for the number was given");
    const auto value = get_number(account->account, key);
    if (value)
      *number = *value;
    return value ? 1 : 0;
  });
}

char* platetally_limits(const platetally_account* account, const char* const* keys,
                        const double* highest, size_t count, char** error) {
  return guarded(error, [&] {
    require(account, "account was given");
    if (count > 0)
      require(highest, "highest values were given");
    const std::vector<std::string> names = texts_of(keys, count, "key was given");
    std::vector<std::pair<std::string, double>> limits;
    for (std::size_t i = 0; i < count; ++i) {
      if (const auto fault = fault_of_limit(names[i]))
        throw std::invalid_argument(*fault);
      if (std::isnan(highest[i]))
        throw std::invalid_argument("the limit of '" + names[i] + "' is no number");
      limits.emplace_back(names[i], highest[i]);
    }
    return text_for_c(limits_json(check_limits(account->account, limits)));
  });
}

size_t platetally_rows(const platetally_account* account, const char* section) {
  return guarded(nullptr, [&] {
    require(account, "account was given");
    require(section, "section was named");
    return count_rows(account->account, section);
  });
}

size_t platetally_column(const platetally_account* account, const char* key, double* numbers,
                         size_t room) {
  return guarded(nullptr, [&]() -> size_t {
    require(account, "account was given");
    require(key, "key was given");
    if (room > 0)
      require(numbers, "room for numbers was given");
    const auto column = get_column(account->account, key);
    if (!column)
      return 0;
    if (room > 0)
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

}  // extern "C"
