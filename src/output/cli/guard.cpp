#include "output/cli/commands.hpp"

namespace platetally::cli {

int told_as_run_error(const std::function<int()>& work) {
  try {
    return work();
  } catch (const UsageError&) {
    throw;
  } catch (const RunError&) {
    throw;
  } catch (const std::invalid_argument& error) {
    throw RunError(error.what());
  } catch (const std::runtime_error& error) {
    throw RunError(error.what());
  }
}

}  // namespace platetally::cli
