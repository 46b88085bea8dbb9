// The commands: each adds its arguments to the parser and gives what runs it once they are parsed.
#pragma once

#include <functional>
#include <stdexcept>

namespace CLI {
class App;
}

namespace platetally::cli {

/// Gives the exit code. Throws UsageError, RunError, or what the library throws.
using Run = std::function<int()>;

Run add_tally(CLI::App& app);
Run add_order(CLI::App& app);
Run add_compare(CLI::App& app);
Run add_payback(CLI::App& app);
Run add_audit(CLI::App& app);
Run add_record(CLI::App& app);
Run add_calibrate(CLI::App& app);
Run add_reconcile(CLI::App& app);
Run add_machines(CLI::App& app);
Run add_explain(CLI::App& app);

/// The arguments make no sense; what() says why, in one line.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// What was asked for cannot be done: unreadable, unwritable.
class RunError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Runs `work`; what the library throws because of its input becomes a RunError.
int told_as_run_error(const std::function<int()>& work);

}  // namespace platetally::cli
