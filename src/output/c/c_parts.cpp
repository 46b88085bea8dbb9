#include "output/c/c_parts.hpp"

namespace platetally::c {

namespace {

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

}  // namespace

std::vector<std::string> texts_of(const char* const* given, std::size_t count, const char* what) {
  if (count > 0)
    require(given, what);
  std::vector<std::string> texts;
  for (std::size_t i = 0; i < count; ++i) {
    require(given[i], what);
    texts.emplace_back(given[i]);
  }
  return texts;
}

platetally_options known(const platetally_options* given) {
  return known(given, offsetof(platetally_options, threads) + sizeof(int), "platetally_options");
}

Machine machine_of(const char* name_or_path) {
  if (name_or_path == nullptr || *name_or_path == '\0') {
    std::string names;
    for (const std::string& name : embedded_machine_names())
      names += (names.empty() ? "" : ", ") + name;
    throw std::invalid_argument("no machine was named; expected a machine file, or one of " +
                                names);
  }
  return sound(load_machine(name_or_path), name_or_path).machine();
}

Job job_of(const Machine& machine, const platetally_options& asked) {
  Job job;
  job.copies = std::max(1, asked.copies);
  job.options.threads = asked.threads == 1 ? 1 : 2;
  job.options.partial = asked.partial != 0;
  job.options.objects = asked.objects != 0;
  if (asked.materials != nullptr)
    job.options.materials = sound(load_materials(asked.materials), asked.materials).materials;
  if (asked.prices != nullptr)
    job.prices = sound(load_prices(asked.prices), asked.prices).prices;
  if (asked.colours == nullptr && asked.colour_count > 0)
    throw std::invalid_argument("no colours, though their count is not 0");
  for (std::size_t tool = 0; tool < asked.colour_count; ++tool)
    job.options.tool_colours.emplace_back(asked.colours[tool] == nullptr ? ""
                                                                         : asked.colours[tool]);
  if (job.options.tool_colours.size() > machine.tools.size())
    throw std::invalid_argument("more colours than the machine has tools");
  if (asked.progress != nullptr)
    job.options.on_progress = [progress = asked.progress,
                               user = asked.progress_user](std::uint64_t bytes) {
      if (progress(user, bytes) != 0)
        throw std::runtime_error("cancelled");
    };
  return job;
}

}  // namespace platetally::c
