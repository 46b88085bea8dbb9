// The Python module's compiled half: the C interface, with Python's types. The rest is
// platetally/__init__.py.
//
// Long calls run in a thread of their own, which never touches Python. The calling thread waits
// without the interpreter's lock, and takes it now and then: to tell the progress, and so that an
// interrupt is heard. What is raised there cancels the call.
#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "platetally/platetally.h"

namespace py = pybind11;

namespace {

struct FreeText {
  void operator()(char* text) const { platetally_free_text(text); }
};
using Text = std::unique_ptr<char, FreeText>;

struct FreeAccount {
  void operator()(platetally_account* account) const { platetally_free_account(account); }
};

struct DropFeed {
  void operator()(platetally_feed* feed) const { platetally_drop(feed); }
};

using Texts = std::vector<std::string>;
using Maybe = std::optional<std::string>;

/// C's texts end at the first zero byte, so none may hold one.
const char* c_text(const std::string& text) {
  if (text.find('\0') != std::string::npos)
    throw py::value_error("a text with a zero byte in it cannot be a path, a name or a key");
  return text.c_str();
}

const char* c_text(const Maybe& text) {
  return text ? c_text(*text) : nullptr;
}

std::vector<const char*> c_texts(const Texts& texts) {
  std::vector<const char*> out;
  out.reserve(texts.size());
  for (const std::string& text : texts)
    out.push_back(c_text(text));
  return out;
}

/// Python's text; its MemoryError where there is none.
py::str text_or_memory_error(Text text) {
  if (!text)
    throw std::bad_alloc();
  return {text.get()};
}

/// What a call in another thread says of itself.
struct Progress {
  std::atomic<unsigned long long> bytes{0};
  std::atomic<bool> cancelled{false};

  static int told(void* self_pointer, unsigned long long bytes) {
    auto& self = *static_cast<Progress*>(self_pointer);
    self.bytes = bytes;
    return self.cancelled ? 1 : 0;
  }
};

/// Runs `work` in a thread. `tell`: a callable, or None.
template <typename Work>
void run_waiting(Progress& progress, const py::object& tell, const Work& work) {
  constexpr auto kEvery = std::chrono::milliseconds(50);
  std::mutex mutex;
  std::condition_variable ended;
  bool is_over = false;
  std::thread worker([&] {
    work();
    const std::scoped_lock lock(mutex);
    is_over = true;
    ended.notify_one();
  });
  std::optional<py::error_already_set> raised;
  const auto look_after = [&] {
    if (raised)
      return;
    try {
      if (PyErr_CheckSignals() != 0)
        throw py::error_already_set();
      if (!tell.is_none())
        tell(progress.bytes.load());
    } catch (py::error_already_set& error) {
      raised.emplace(error);
      progress.cancelled = true;
    }
  };
  for (bool over = false; !over;) {
    {
      const py::gil_scoped_release others_may_run;
      std::unique_lock lock(mutex);
      over = ended.wait_for(lock, kEvery, [&] { return is_over; });
    }
    look_after();
  }
  worker.join();
  if (raised)
    throw py::error_already_set(*raised);
}

/// Python's own: the C type is opaque, and pybind11 wants to see what it holds.
class Account {
 public:
  explicit Account(platetally_account* account) : account_(account) {}
  explicit operator bool() const { return account_ != nullptr; }

  py::str json() const { return text_or_memory_error(Text(platetally_json(account_.get()))); }
  py::str text() const { return text_or_memory_error(Text(platetally_text(account_.get()))); }
  py::array_t<double> column(const std::string& key) const;
  py::str limits(const Texts& keys, const std::vector<double>& highest) const;

 private:
  std::unique_ptr<platetally_account, FreeAccount> account_;
};

struct Asked {
  Maybe materials, prices, member;
  Texts colours;
  int copies = 1;
  int threads = 2;
  bool partial = false;
  bool objects = false;
  py::object progress = py::none();
};

/// The options for C; what they point to lives as long as this.
class Options {
 public:
  Options(const Asked& asked, Progress& progress) : colours_(c_texts(asked.colours)) {
    c_.size = sizeof(c_);
    c_.materials = c_text(asked.materials);
    c_.prices = c_text(asked.prices);
    c_.member = c_text(asked.member);
    c_.colours = colours_.empty() ? nullptr : colours_.data();
    c_.colour_count = colours_.size();
    c_.copies = asked.copies;
    c_.threads = asked.threads;
    c_.partial = asked.partial ? 1 : 0;
    c_.objects = asked.objects ? 1 : 0;
    c_.progress = &Progress::told;
    c_.progress_user = &progress;
  }
  const platetally_options* get() const { return &c_; }

 private:
  std::vector<const char*> colours_;
  platetally_options c_{};
};

[[noreturn]] void fail(const Text& reason) {
  throw std::runtime_error(reason ? reason.get() : "out of memory");
}

Account account_or_reason(platetally_account* read, char* why) {
  Account account(read);
  const Text reason(why);
  if (!account)
    fail(reason);
  return account;
}

/// Calls a function of C that gives JSON.
template <typename Call>
py::str json_of(const Asked& asked, const Call& call) {
  Progress progress;
  const Options options(asked, progress);
  char* why = nullptr;
  Text json;
  run_waiting(progress, asked.progress, [&] { json.reset(call(options.get(), &why)); });
  const Text reason(why);
  if (!json)
    fail(reason);
  return text_or_memory_error(std::move(json));
}

Account tally(const Maybe& path, std::string_view bytes, const std::string& machine,
              const Asked& asked) {
  Progress progress;
  const Options options(asked, progress);
  const char* const plate = c_text(path);
  const char* const on = c_text(machine);
  char* why = nullptr;
  platetally_account* read = nullptr;
  run_waiting(progress, asked.progress, [&] {
    read = plate != nullptr
               ? platetally_tally(plate, on, options.get(), &why)
               : platetally_tally_bytes(bytes.data(), bytes.size(), on, options.get(), &why);
  });
  return account_or_reason(read, why);
}

/// A plate that comes in pieces.
class Feed {
 public:
  Feed(const std::string& machine, const Asked& asked) : tell_(asked.progress) {
    const Options options(asked, *progress_);
    char* why = nullptr;
    feed_.reset(platetally_begin(c_text(machine), options.get(), &why));
    const Text reason(why);
    if (!feed_)
      fail(reason);
  }

  /// False where no more are of use.
  bool push(const py::buffer& piece) {
    const py::buffer_info info = piece.request();
    if (info.ndim != 1 || info.itemsize != 1 || (info.size > 0 && info.strides[0] != 1))
      throw py::type_error("expected bytes in one row");
    char* why = nullptr;
    int goes_on = 0;
    {
      const py::gil_scoped_release others_may_run;
      goes_on = platetally_push(feed_.get(), static_cast<const char*>(info.ptr),
                                static_cast<std::size_t>(info.size), &why);
    }
    const Text reason(why);
    if (reason)
      fail(reason);
    if (!tell_.is_none())
      tell_(progress_->bytes.load());
    return goes_on == 1;
  }

  Account finish() {
    char* why = nullptr;
    platetally_account* read = nullptr;
    run_waiting(*progress_, tell_, [&] { read = platetally_finish(feed_.release(), &why); });
    return account_or_reason(read, why);
  }

 private:
  std::unique_ptr<Progress> progress_ = std::make_unique<Progress>();
  py::object tell_;
  std::unique_ptr<platetally_feed, DropFeed> feed_;  // last: it tells the progress while it lives
};

py::array_t<double> Account::column(const std::string& key) const {
  const char* const name = c_text(key);
  py::array_t<double> numbers(
      static_cast<py::ssize_t>(platetally_column(account_.get(), name, nullptr, 0)));
  platetally_column(account_.get(), name, numbers.mutable_data(),
                    static_cast<std::size_t>(numbers.size()));
  return numbers;
}

py::str Account::limits(const Texts& keys, const std::vector<double>& highest) const {
  const std::vector<const char*> names = c_texts(keys);
  if (names.size() != highest.size())
    throw py::value_error("expected a highest value for each key");
  char* why = nullptr;
  Text json(platetally_limits(account_.get(), names.data(), highest.data(), names.size(), &why));
  const Text reason(why);
  if (!json)
    fail(reason);
  return text_or_memory_error(std::move(json));
}

py::str order(const std::string& path, const std::string& machine, const Maybe& by,
              const Maybe& heads, std::optional<int> first, std::optional<int> kept,
              const std::vector<std::pair<int, int>>& before, const Asked& asked) {
  std::vector<int> pairs;
  for (const auto& [one, other] : before) {
    pairs.push_back(one);
    pairs.push_back(other);
  }
  platetally_order_options options{};
  options.size = sizeof(options);
  options.by = c_text(by);
  options.heads = c_text(heads);
  options.first = first ? &*first : nullptr;
  options.kept = kept ? &*kept : nullptr;
  options.before = pairs.data();
  options.before_count = before.size();
  const char* const plate = c_text(path);
  const char* const on = c_text(machine);
  return json_of(asked, [&](const platetally_options* of_plate, char** why) {
    return platetally_order(plate, on, of_plate, &options, why);
  });
}

py::str compare(const Texts& paths, const Texts& machines, const Asked& asked) {
  const std::vector<const char*> plates = c_texts(paths);
  const std::vector<const char*> names = c_texts(machines);
  return json_of(asked, [&](const platetally_options* options, char** why) {
    return platetally_compare(plates.data(), plates.size(), names.data(), names.size(), options,
                              why);
  });
}

struct AuditAsked {
  Texts include, exclude, keys;
  std::vector<double> highest;
  Maybe sort, history;
  bool strict = false;
  int threads = 1;
  long long now_s = 0;
};

py::str audit(const Texts& paths, const std::string& machine, const AuditAsked& audit,
              const Asked& asked) {
  const std::vector<const char*> places = c_texts(paths);
  const std::vector<const char*> include = c_texts(audit.include);
  const std::vector<const char*> exclude = c_texts(audit.exclude);
  const std::vector<const char*> keys = c_texts(audit.keys);
  const char* const on = c_text(machine);
  platetally_audit_options options{};
  options.size = sizeof(options);
  options.include = include.data();
  options.include_count = include.size();
  options.exclude = exclude.data();
  options.exclude_count = exclude.size();
  options.limits = keys.data();
  options.highest = audit.highest.data();
  options.limit_count = keys.size();
  options.sort = c_text(audit.sort);
  options.strict = audit.strict ? 1 : 0;
  options.threads = audit.threads;
  options.history = c_text(audit.history);
  options.now_s = audit.now_s;
  return json_of(asked, [&](const platetally_options* of_plates, char** why) {
    return platetally_audit(places.data(), places.size(), on, of_plates, &options, why);
  });
}

}  // namespace

PYBIND11_MODULE(_core, module) {
  py::class_<Asked>(module, "Asked")
      .def(py::init([](Maybe materials, Maybe prices, Maybe member, Texts colours, int copies,
                       int threads, bool partial, bool objects, py::object progress) {
        return Asked{std::move(materials),
                     std::move(prices),
                     std::move(member),
                     std::move(colours),
                     copies,
                     threads,
                     partial,
                     objects,
                     std::move(progress)};
      }));
  py::class_<AuditAsked>(module, "AuditAsked")
      .def(py::init([](Texts include, Texts exclude, Texts keys, std::vector<double> highest,
                       Maybe sort, Maybe history, bool strict, int threads, long long now_s) {
        return AuditAsked{std::move(include),
                          std::move(exclude),
                          std::move(keys),
                          std::move(highest),
                          std::move(sort),
                          std::move(history),
                          strict,
                          threads,
                          now_s};
      }));
  py::class_<Account>(module, "Account")
      .def("json", &Account::json)
      .def("text", &Account::text)
      .def("limits", &Account::limits)
      .def("column", &Account::column);
  py::class_<Feed>(module, "Feed")
      .def(py::init<const std::string&, const Asked&>())
      .def("push", &Feed::push)
      .def("finish", &Feed::finish);
  module.def("tally", [](const Maybe& path, const py::bytes& bytes, const std::string& machine,
                         const Asked& asked) { return tally(path, bytes, machine, asked); });
  module.def("order", &order);
  module.def("compare", &compare);
  module.def("audit", &audit);
  module.def("fields", [] { return text_or_memory_error(Text(platetally_fields())); });
  module.def("schema", [] { return text_or_memory_error(Text(platetally_schema())); });
  module.def("machines", [] { return text_or_memory_error(Text(platetally_machines())); });
  module.def("history", [](const std::string& file, const std::string& since) {
    const char* const from = c_text(file);
    const char* const date = c_text(since);
    char* why = nullptr;
    Text json;
    {
      const py::gil_scoped_release others_may_run;
      json.reset(platetally_history(from, date, &why));
    }
    const Text reason(why);
    if (!json)
      fail(reason);
    return text_or_memory_error(std::move(json));
  });
  module.attr("version") = platetally_version();
}
