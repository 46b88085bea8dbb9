// Of several statements of one quantity, one that says that it is the total wins; else a list is
// summed up, else the first one counts. A list has one value for every tool of the plate up to the
// highest that is used, or one for each tool that is used.
//
// Filament of another diameter: at one length of E, a file that was sliced for d mm states volume
// and mass in the ratio (d / D)^2 of what a machine with D mm finds. 2.85 and 1.75 mm are the two
// diameters of the trade (common practice, no source), so the ratio to look for is 2.65.
#include "account/findings/stated.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "base/units.hpp"

namespace platetally::findings {

namespace {

using gcode::Quantity;
using interpreter::StatedAt;

constexpr double kMostApart = 0.05;  // of filament
constexpr double kMostLayersApart = 2.0;
constexpr double kThick_mm = 2.85;
constexpr double kThin_mm = 1.75;

constexpr std::array<Quantity, 5> kOrder{Quantity::length_mm, Quantity::volume_cm3,
                                         Quantity::mass_g, Quantity::layers, Quantity::time_s};

const char* name_of(Quantity quantity) {
  switch (quantity) {
    case Quantity::length_mm:
      return "filament_mm";
    case Quantity::volume_cm3:
      return "filament_cm3";
    case Quantity::mass_g:
      return "filament_g";
    case Quantity::layers:
      return "layers";
    case Quantity::time_s:
      break;
  }
  return "time_s";
}

/// Of one tool, or of all (-1).
class Found {
 public:
  Found(const Machine& machine, const std::vector<Material>& materials, const Account& account)
      : machine_(machine), materials_(materials), account_(account) {}

  double of(Quantity quantity, int tool) const {
    if (quantity == Quantity::layers)
      return static_cast<double>(account_.totals.layers);
    if (quantity == Quantity::time_s)
      return account_.totals.time.expected;
    double sum = 0.0;
    for (const ToolAccount& one : account_.tools)
      if (tool < 0 || one.tool == tool)
        sum += of_tool(quantity, one);
    return sum;
  }

 private:
  double of_tool(Quantity quantity, const ToolAccount& tool) const {
    if (quantity == Quantity::length_mm)
      return tool.filament_mm;
    const auto index = static_cast<std::size_t>(tool.tool);
    const double mm3 =
        tool.filament_mm * base::filament_area_mm2(machine_.tools[index].filament_diameter_mm);
    return quantity == Quantity::volume_cm3
               ? mm3 / base::kMm3PerCm3
               : base::g_from_mm3(mm3, materials_[index].density_g_cm3);
  }

  const Machine& machine_;
  const std::vector<Material>& materials_;
  const Account& account_;
};

bool differs(Quantity quantity, double stated, double found) {
  if (quantity == Quantity::time_s)
    return false;
  if (quantity == Quantity::layers)
    return std::abs(stated - found) > kMostLayersApart;
  return std::abs(stated - found) > kMostApart * std::max(std::abs(stated), std::abs(found));
}

/// The tool that value number `i` of a list is of; -1 where the list fits no tools.
int tool_of_value(std::size_t i, std::size_t values, const std::vector<int>& used) {
  if (values == used.size())
    return used[i];
  const bool by_number = !used.empty() && values > static_cast<std::size_t>(used.back());
  return by_number ? static_cast<int>(i) : -1;
}

class Holder {
 public:
  Holder(const std::vector<StatedAt>& stated, const Found& found, Account& account)
      : stated_(stated), found_(found), account_(account) {
    for (const ToolAccount& tool : account.tools)
      if (tool.filament_mm != 0.0)
        used_.push_back(tool.tool);
  }

  void hold() {
    for (const Quantity quantity : kOrder) {
      hold_whole(quantity);
      hold_tools(quantity);
    }
  }

 private:
  void add(Quantity quantity, int tool, double stated, std::uint64_t line) {
    const double found = found_.of(quantity, tool);
    account_.stated.push_back(
        {name_of(quantity), tool, stated, found, line, differs(quantity, stated, found)});
  }

  void hold_whole(Quantity quantity) {
    const StatedAt* best = nullptr;
    double sum_of_tools = 0.0;
    std::size_t named_tools = 0;
    for (const StatedAt& at : stated_) {
      if (at.statement.quantity != quantity)
        continue;
      if (at.statement.tool >= 0) {
        sum_of_tools += at.statement.values.front();
        ++named_tools;
      } else if (best == nullptr || (at.statement.is_total && !best->statement.is_total)) {
        best = &at;
      }
    }
    if (best == nullptr && named_tools == used_.size() && named_tools > 0) {
      const auto first = std::find_if(stated_.begin(), stated_.end(), [&](const StatedAt& at) {
        return at.statement.quantity == quantity;
      });
      add(quantity, -1, sum_of_tools, first->line);
    } else if (best != nullptr) {
      double sum = 0.0;
      for (const double value : best->statement.values)
        sum += value;
      add(quantity, -1, sum, best->line);
    }
  }

  void hold_tools(Quantity quantity) {
    std::vector<int> done;
    const auto add_once = [&](int tool, double stated, std::uint64_t line) {
      const bool has_tool = tool >= 0 && static_cast<std::size_t>(tool) < account_.tools.size();
      if (!has_tool || std::find(done.begin(), done.end(), tool) != done.end())
        return;
      done.push_back(tool);
      if (stated != 0.0 || found_.of(quantity, tool) != 0.0)
        add(quantity, tool, stated, line);
    };
    for (const StatedAt& at : stated_) {
      const std::vector<double>& values = at.statement.values;
      if (at.statement.quantity != quantity)
        continue;
      if (at.statement.tool >= 0)
        add_once(at.statement.tool, values.front(), at.line);
      else if (values.size() > 1)
        for (std::size_t i = 0; i < values.size(); ++i)
          add_once(tool_of_value(i, values.size(), used_), values[i], at.line);
    }
  }

  const std::vector<StatedAt>& stated_;
  const Found& found_;
  Account& account_;
  std::vector<int> used_;
};

const StatedFigure* whole(const Account& account, Quantity quantity) {
  for (const StatedFigure& figure : account.stated)
    if (figure.tool < 0 && figure.what == name_of(quantity))
      return &figure;
  return nullptr;
}

/// The diameter that the file was sliced for, where its own figures tell.
std::optional<double> stated_diameter_mm(const Account& account, double machine_mm) {
  const StatedFigure* const length = whole(account, Quantity::length_mm);
  const StatedFigure* const volume = whole(account, Quantity::volume_cm3);
  const StatedFigure* const mass = whole(account, Quantity::mass_g);
  if (length != nullptr && volume != nullptr && length->stated > 0.0)
    return 2.0 * std::sqrt(base::kMm3PerCm3 * volume->stated / (std::numbers::pi * length->stated));
  const StatedFigure* const other = volume != nullptr ? volume : mass;
  if (other == nullptr || !(other->found > 0.0) || !(other->stated > 0.0))
    return std::nullopt;
  return machine_mm * std::sqrt(other->stated / other->found);
}

Diagnostic warn(const char* code, std::uint64_t line, std::string message, std::string help) {
  Diagnostic warning;
  warning.code = code;
  warning.severity = Severity::warning;
  warning.line = line;
  warning.message = std::move(message);
  warning.help = std::move(help);
  return warning;
}

std::string say(const StatedFigure& figure) {
  const std::string of_tool = figure.tool < 0 ? "" : fmt::format(" of tool {}", figure.tool);
  return fmt::format("{}{} is stated as {:.6g} and found to be {:.6g}", figure.what, of_tool,
                     figure.stated, figure.found);
}

std::optional<Diagnostic> check_diameter(const Machine& machine, const Account& account) {
  constexpr double kSameDiameter = 0.03;
  const double machine_mm = machine.tools.front().filament_diameter_mm;
  const auto stated_mm = stated_diameter_mm(account, machine_mm);
  if (!stated_mm)
    return std::nullopt;
  const auto is = [](double diameter_mm, double known_mm) {
    return std::abs(diameter_mm - known_mm) <= kSameDiameter * known_mm;
  };
  const bool thick_for_thin = is(*stated_mm, kThick_mm) && is(machine_mm, kThin_mm);
  const bool thin_for_thick = is(*stated_mm, kThin_mm) && is(machine_mm, kThick_mm);
  if (!thick_for_thin && !thin_for_thick)
    return std::nullopt;
  return warn("filament-diameter-suspected", account.stated.front().line,
              fmt::format("the file's own figures fit filament of {} mm; the machine file has {} "
                          "mm, with which all grams were counted",
                          thick_for_thin ? kThick_mm : kThin_mm, machine_mm),
              "tools.filament_diameter_mm in the machine file says what is fed.");
}

}  // namespace

std::vector<Diagnostic> hold_stated(const std::vector<StatedAt>& stated, const Machine& machine,
                                    const std::vector<Material>& materials, Account& account) {
  const Found found(machine, materials, account);
  Holder(stated, found, account).hold();
  std::vector<Diagnostic> warnings;
  if (auto diameter = check_diameter(machine, account))
    warnings.push_back(std::move(*diameter));
  for (const bool of_layers : {false, true}) {
    std::vector<std::string> said;
    std::uint64_t line = 0;
    for (const StatedFigure& figure : account.stated) {
      if (!figure.differs || (figure.what == name_of(Quantity::layers)) != of_layers)
        continue;
      if (said.empty())
        line = figure.line;
      said.push_back(say(figure));
    }
    if (said.empty())
      continue;
    warnings.push_back(
        of_layers
            ? warn("stated-layers-differ", line,
                   fmt::format("{}; expected at most {} layers apart; the account is of what was "
                               "found",
                               fmt::join(said, ", "), kMostLayersApart),
                   "Was the file edited after slicing? Layers are heights at which material is "
                   "laid: docs/words.md.")
            : warn(
                  "stated-filament-differs", line,
                  fmt::format("{}; expected at most {:.0f} % apart; the account is of what was "
                              "found",
                              fmt::join(said, ", "), 100.0 * kMostApart),
                  "Was the file edited after slicing, or does a word of the machine's own feed "
                  "filament? Grams depend on the material and diameter in the machine file, too."));
  }
  return warnings;
}

}  // namespace platetally::findings
