// The Python module's compiled half: the C interface, with Python's types. The rest is
// platetally/__init__.py.
#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/account.hpp"
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

/// Python's own: the C type is opaque, and pybind11 wants to see what it holds.
class Account {
 public:
  explicit Account(platetally_account* account) : account_(account) {}
  explicit operator bool() const { return account_ != nullptr; }

  py::str json() const;
  py::str text() const;
  py::array_t<double> column(const std::string& key) const;

 private:
  std::unique_ptr<platetally_account, FreeAccount> account_;
};

/// Python's text; its MemoryError where there is none.
py::str text_or_memory_error(Text text) {
  if (!text)
    throw std::bad_alloc();
  return {text.get()};
}

struct Asked {
  std::optional<std::string> materials, prices, member;
  std::vector<std::string> colours;
  int copies = 1;
  int threads = 2;
  bool partial = false;
  bool objects = false;
};

Account tally(const std::optional<std::string>& path, std::string_view bytes,
              const std::string& machine, const Asked& asked) {
  std::vector<const char*> colours;
  for (const std::string& colour : asked.colours)
    colours.push_back(colour.c_str());
  const auto named = [](const std::optional<std::string>& text) {
    return text ? text->c_str() : nullptr;
  };
  platetally_options options{};
  options.size = sizeof(options);
  options.materials = named(asked.materials);
  options.prices = named(asked.prices);
  options.member = named(asked.member);
  options.colours = colours.empty() ? nullptr : colours.data();
  options.colour_count = colours.size();
  options.copies = asked.copies;
  options.threads = asked.threads;
  options.partial = asked.partial ? 1 : 0;
  options.objects = asked.objects ? 1 : 0;
  char* why = nullptr;
  platetally_account* read = nullptr;
  {
    const py::gil_scoped_release others_may_run;
    read =
        path ? platetally_tally(path->c_str(), machine.c_str(), &options, &why)
             : platetally_tally_bytes(bytes.data(), bytes.size(), machine.c_str(), &options, &why);
  }
  Account account(read);
  const Text reason(why);
  if (!account)
    throw std::runtime_error(reason ? reason.get() : "out of memory");
  return account;
}

py::str Account::json() const {
  return text_or_memory_error(Text(platetally_json(account_.get())));
}

py::str Account::text() const {
  return text_or_memory_error(Text(platetally_text(account_.get())));
}

py::array_t<double> Account::column(const std::string& key) const {
  py::array_t<double> numbers(
      static_cast<py::ssize_t>(platetally_column(account_.get(), key.c_str(), nullptr, 0)));
  platetally_column(account_.get(), key.c_str(), numbers.mutable_data(),
                    static_cast<std::size_t>(numbers.size()));
  return numbers;
}

}  // namespace

PYBIND11_MODULE(_core, module) {
  py::class_<Account>(module, "Account")
      .def("json", &Account::json)
      .def("text", &Account::text)
      .def("column", &Account::column);
  module.def("tally", [](const std::optional<std::string>& path, const py::bytes& bytes,
                         const std::string& machine, std::optional<std::string> materials,
                         std::optional<std::string> prices, std::optional<std::string> member,
                         std::vector<std::string> colours, int copies, int threads, bool partial,
                         bool objects) {
    return tally(path, bytes, machine,
                 {std::move(materials), std::move(prices), std::move(member), std::move(colours),
                  copies, threads, partial, objects});
  });
  module.def("fields", [] { return text_or_memory_error(Text(platetally_fields())); });
  module.def("schema", [] { return text_or_memory_error(Text(platetally_schema())); });
  module.def("machines", [] { return text_or_memory_error(Text(platetally_machines())); });
  module.def("history", [](const std::string& file, const std::string& since) {
    char* why = nullptr;
    Text json;
    {
      const py::gil_scoped_release others_may_run;
      json.reset(platetally_history(file.c_str(), since.c_str(), &why));
    }
    const Text reason(why);
    if (!json)
      throw std::runtime_error(reason ? reason.get() : "out of memory");
    return text_or_memory_error(std::move(json));
  });
  module.attr("version") = platetally_version();
}
