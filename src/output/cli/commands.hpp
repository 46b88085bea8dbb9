// The commands: each adds its arguments to the parser and gives what runs it once they are parsed.
#pragma once

#include <functional>
#include <stdexcept>

namespace platetally::cli {

class Program;

/// Gives the exit code. Throws UsageError, RunError, or what the library throws.
using Run = std::function<int()>;

Run add_tally(Program& program);
Run add_order(Program& program);
Run add_compare(Program& program);
Run add_payback(Program& program);
Run add_audit(Program& program);
Run add_printed(Program& program);
Run add_record(Program& program);
Run add_calibrate(Program& program);
Run add_reconcile(Program& program);
Run add_plan(Program& program);
Run add_machines(Program& program);
Run add_explain(Program& program);

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
