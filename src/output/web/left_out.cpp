// What needs a database, a broker, a solver or a fit of many entries is no part of the program for
// WebAssembly; whoever asks for it is told so in one line.
#include <fmt/format.h>

#include <exception>

#include "meter/history/store.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "platetally/print_log.hpp"

namespace platetally {

namespace history {

Store::Store(const std::string& file, Access) : file_(file) {
  throw HistoryError(fmt::format(
      "{}: the history is left out of the program for browsers and Node.js; the native one has it",
      file_));
}

// Nothing below is reached, since there is no Store.
Store::~Store() = default;
void Store::Finish::operator()(sqlite3_stmt*) const {}
void Store::Close::operator()(sqlite3*) const {}
std::optional<std::string> Store::content_at(const std::string&, const source::FileState&) {
  std::terminate();
}
std::optional<std::vector<std::string>> Store::find(const std::string&, const std::string&) {
  std::terminate();
}
void Store::keep(const std::string&, const source::FileState&, const std::string&, const Setting&,
                 const std::vector<std::string>&, std::int64_t) {
  std::terminate();
}
void Store::put(const std::string&, const std::string&, const Setting&,
                const std::vector<std::string>&, std::int64_t) {
  std::terminate();
}
void Store::since(std::int64_t, const std::function<void(const Kept&)>&) {
  std::terminate();
}
void Store::keep_measured(const Measurement&) {
  std::terminate();
}
std::vector<Measured> Store::measured(const std::string&, std::size_t&) {
  std::terminate();
}
Store::Transaction::Transaction(Store& store) : store_(store) {
  std::terminate();
}
Store::Transaction::~Transaction() = default;
void Store::Transaction::commit() {
  std::terminate();
}

void Store::prints_since(std::int64_t, const std::function<void(const Print&)>&) {
  std::terminate();
}

}  // namespace history

/// Of `audit --watch --finished`; --history is refused before.
std::vector<LoggedPrint> log_finished_folder(const std::string&, const Machine*,
                                             const AuditOptions&) {
  std::terminate();
}

namespace cli {

namespace {

Run left_out(Program& program, const char* name) {
  program.command(name, "left out of the program for browsers and Node.js").passes_over_the_rest();
  return [name]() -> int {
    throw RunError(fmt::format(
        "{} is left out of the program for browsers and Node.js; the native one has it", name));
  };
}

}  // namespace

Run add_plan(Program& program) {
  return left_out(program, "plan");
}
Run add_printed(Program& program) {
  return left_out(program, "printed");
}
Run add_record(Program& program) {
  return left_out(program, "record");
}
Run add_calibrate(Program& program) {
  return left_out(program, "calibrate");
}
Run add_reconcile(Program& program) {
  return left_out(program, "reconcile");
}

}  // namespace cli

}  // namespace platetally
