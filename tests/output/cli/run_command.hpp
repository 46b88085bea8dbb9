// A command line run as main() runs it, up to where a fault would be said.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <string>
#include <vector>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"

namespace platetally::test {

struct Ran {
  int code = -1;      ///< of what went well
  std::string out;    ///< standard output
  std::string usage;  ///< why the arguments make no sense
  std::string fault;  ///< why it could not be done
};

/// The program with all its commands.
class WholeProgram {
 public:
  WholeProgram() : program_("platetally", "says what a plate costs", "footer") {
    using namespace cli;
    commands_ = {{"tally", add_tally(program_)},         {"order", add_order(program_)},
                 {"compare", add_compare(program_)},     {"payback", add_payback(program_)},
                 {"audit", add_audit(program_)},         {"printed", add_printed(program_)},
                 {"record", add_record(program_)},       {"calibrate", add_calibrate(program_)},
                 {"reconcile", add_reconcile(program_)}, {"plan", add_plan(program_)},
                 {"machines", add_machines(program_)},   {"explain", add_explain(program_)}};
  }

  cli::Program& program() { return program_; }

  Ran run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "platetally");
    std::vector<char*> argv;
    for (std::string& argument : arguments)
      argv.push_back(argument.data());
    argv.push_back(nullptr);
    Ran ran;
    testing::internal::CaptureStdout();
    testing::internal::CaptureStderr();
    try {
      if (!program_.parse(static_cast<int>(arguments.size()), argv.data()))
        ran.out = program_.help();
      for (const auto& [name, command] : commands_)
        if (ran.out.empty() && program_.is_given(name))
          ran.code = command();
    } catch (const cli::UsageError& error) {
      ran.usage = error.what();
    } catch (const cli::RunError& error) {
      ran.fault = error.what();
    } catch (const std::runtime_error& error) {
      ran.fault = error.what();
    } catch (const std::exception& error) {
      ran.fault = std::string("unexpected: ") + error.what();
    }
    testing::internal::GetCapturedStderr();
    ran.out += testing::internal::GetCapturedStdout();
    return ran;
  }

 private:
  cli::Program program_;
  std::map<std::string, cli::Run> commands_;
};

/// In a program of its own, as options keep what they were given.
inline Ran run_command(std::vector<std::string> arguments) {
  return WholeProgram().run(std::move(arguments));
}

}  // namespace platetally::test
