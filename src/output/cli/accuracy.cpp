#include "output/cli/accuracy.hpp"

#include <fmt/format.h>

#include "base/counted.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/messages.hpp"

namespace platetally::cli {

AccuracyBook accuracy_of(const std::string& history, const std::string& machine) {
  try {
    std::size_t unknown = 0;
    AccuracyBook book = read_accuracy(history, machine, &unknown);
    if (unknown > 0)
      say(harmless(
          fmt::format("{}: left out: {} of before their machine was kept; reconcile them again",
                      history, base::counted(unknown, "measurement"))));
    return book;
  } catch (const std::runtime_error& error) {
    throw RunError(error.what());
  }
}

}  // namespace platetally::cli
