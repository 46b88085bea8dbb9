// Purge that a machine needs, from changes whose purge was found by trial. The model and its fit:
// material/swaps/need.cpp.
#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "base/hash.hpp"
#include "material/swaps/pair_need.hpp"
#include "meter/logs/cutting.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/colour.hpp"

namespace platetally {

namespace {

constexpr double kMostMm3 = 1e5;
constexpr std::size_t kMostPairs = 10'000;

class Reader {
 public:
  Reader(const Machine& machine, const std::string& path) : machine_(machine), path_(path) {}

  struct Pair {
    std::string from, to;
    swaps::MeasuredNeed need;
  };

  std::vector<Pair> read(std::string_view text) {
    std::vector<Pair> pairs;
    for (line_ = 1; !text.empty(); ++line_) {
      const std::size_t end = text.find('\n');
      const std::string_view line = meter::without_blanks(text.substr(0, end));
      text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
      if (line.empty() || line == "#" || line.starts_with("# ") || line.starts_with("from"))
        continue;
      if (pairs.size() == kMostPairs)
        fail(fmt::format("found more than {} pairs", kMostPairs));
      pairs.push_back(pair_of(line));
    }
    return pairs;
  }

 private:
  [[noreturn]] void fail(const std::string& what) const {
    throw UnreadablePlate(fmt::format("{}:{}: {}", path_, line_, what));
  }

  Pair pair_of(std::string_view line) const {
    const char separator = line.find(';') != std::string_view::npos ? ';' : ',';
    const std::size_t first = line.find(separator);
    const std::size_t second =
        first == std::string_view::npos ? first : line.find(separator, first + 1);
    if (second == std::string_view::npos)
      fail(fmt::format("found '{}'; expected from,to,mm3, such as black,white,560", line));
    Pair pair;
    pair.from = meter::without_blanks(line.substr(0, first));
    pair.to = meter::without_blanks(line.substr(first + 1, second - first - 1));
    pair.need = {colour_of(pair.from), colour_of(pair.to), volume_of(line.substr(second + 1))};
    return pair;
  }

  swaps::Rgb colour_of(const std::string& text) const {
    if (const auto colour = swaps::parse_colour(text))
      return *colour;
    std::size_t tool = 0;
    const char* const begin = text.data() + (text.starts_with('T') ? 1 : 0);
    const char* const end = text.data() + text.size();
    if (begin == end || std::from_chars(begin, end, tool).ptr != end)
      fail(*fault_of_colour(text) + ", or a tool number");
    if (tool >= machine_.tools.size())
      fail(fmt::format("machine '{}' has no tool {}; its last is {}", machine_.name, tool,
                       machine_.tools.size() - 1));
    const auto colour = swaps::parse_colour(machine_.tools[tool].colour);
    if (!colour)
      fail(fmt::format("the machine file gives tool {} no colour; expected a colour", tool));
    return *colour;
  }

  double volume_of(std::string_view field) const {
    const std::string_view text = meter::without_blanks(field);
    double mm3 = 0.0;
    const char* const end = text.data() + text.size();
    if (text.empty() || std::from_chars(text.data(), end, mm3).ptr != end || !(mm3 > 0.0) ||
        mm3 > kMostMm3)
      fail(fmt::format("found '{}'; expected mm3, above 0 and up to {}", text, kMostMm3));
    return mm3;
  }

  const Machine& machine_;
  const std::string& path_;
  std::size_t line_ = 0;
};

}  // namespace

NeedCalibration calibrate_need(const Machine& machine, std::string_view text,
                               const std::string& path) {
  const std::vector<Reader::Pair> pairs = Reader(machine, path).read(text);
  std::vector<swaps::MeasuredNeed> measured;
  for (const Reader::Pair& pair : pairs)
    measured.push_back(pair.need);
  const swaps::NeedModel before = swaps::need_model_of(machine);
  const swaps::NeedFit fit = swaps::fit_need(measured, before);
  if (!fit.model)
    throw UnreadablePlate(fmt::format("{}: {}", path, fit.fault));
  NeedCalibration report;
  report.machine = machine;
  report.made_from.add(used(machine));
  report.made_from.set("pairs", base::hash_of_text(text));
  report.before = machine.need;
  report.machine.need.washout_mm3 = fit.model->washout_mm3;
  report.machine.need.dead_mm3 = fit.model->dead_mm3;
  report.machine.need.high_flow = false;
  for (const Reader::Pair& pair : pairs) {
    const auto& [from, to, mm3] = pair.need;
    report.pairs.push_back({pair.from, pair.to, mm3, swaps::need_mm3(from, to, before),
                            swaps::need_mm3(from, to, *fit.model)});
  }
  if (pairs.size() == 2)
    report.notes.emplace_back(
        "two pairs are met exactly, whatever they are off by; a third shows it");
  if (machine.need.high_flow)
    report.notes.emplace_back("high_flow is off now: what was measured holds it already");
  return report;
}

std::string to_toml(const NeedCalibration& report, const std::string& date) {
  std::string out = fmt::format("# Need fitted on {} to changes that were judged clean:\n", date);
  for (const MeasuredPair& pair : report.pairs)
    out += fmt::format("#   {} to {}: measured {:.6g} mm3, fitted {:.6g} mm3\n", pair.from, pair.to,
                       pair.measured_mm3, pair.after_mm3);
  return out + "\n" + machine_to_toml(report.machine);
}

}  // namespace platetally
