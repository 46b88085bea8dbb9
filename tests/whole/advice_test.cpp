// Advice that is followed gives what it promised: plates of plate-maker are tallied, each finding
// that names figures is followed by making (or editing) the plate as it says, and the difference of
// the two tallies is held against the finding.
//
// Tolerance: 15 % of what was got (the requirement), and half a per mille of what the plate spends,
// below which heat waits and rounded raster cells decide.
#include <gtest/gtest.h>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <cstdlib>
#include <functional>
#include <map>
#include <regex>
#include <set>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/order.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

using Arguments = std::map<std::string, std::string>;

struct Case {
  const char* name;
  const char* machine;
  const char* kind;
  Arguments arguments;  ///< of plate-maker, without the dashes
  std::vector<std::string> colours;
  std::function<std::string(std::string)> edit;  ///< of the made plate; may be empty
};

class Followed {
 public:
  explicit Followed(const Case& made) : case_(made), machine_(test::embedded(made.machine)) {
    text_ = make(made.arguments);
    if (made.edit)
      text_ = made.edit(text_);
    account_ = tally(text_, machine_);
  }

  const Account& account() const { return account_; }
  /// The account of the plate as the finding advises it; nothing where this test knows no way.
  std::optional<Account> follow(const Finding& finding) const;
  /// How many plates become one.
  static double plates(const Finding& finding) {
    return finding.code == "copies-share-swaps" ? 2.0 : 1.0;
  }

 private:
  std::string make(const Arguments& arguments) const;
  Account tally(const std::string& text, const Machine& machine) const {
    AnalyzeOptions options;
    options.tool_colours = case_.colours;
    return analyze_bytes(text, machine, options);
  }
  Account made(const Arguments& arguments) const {
    std::string text = make(arguments);
    return tally(case_.edit ? case_.edit(text) : text, machine_);
  }
  std::string get(const std::string& key, const std::string& otherwise) const {
    const auto found = case_.arguments.find(key);
    return found == case_.arguments.end() ? otherwise : found->second;
  }
  std::pair<double, double> pair(const std::string& key, const std::string& otherwise) const {
    const std::string text = get(key, otherwise);
    return {std::stod(text), std::stod(text.substr(text.find(',') + 1))};
  }

  std::optional<Account> doubled(const Finding& finding) const;
  Account moved(const Finding& finding) const;
  Account thicker(const Finding& finding) const;
  Account reordered() const;
  Account heated_in_time(const Finding& finding) const;
  Account purged_as_needed(bool enough) const;

  Case case_;
  Machine machine_;
  std::string text_;
  Account account_;
};

std::string Followed::make(const Arguments& arguments) const {
  const test::TempFolder folder;
  const std::string path = (folder.path() / "plate.gcode").string();
  std::string command = fmt::format("'{}' {}", PLATETALLY_PLATE_MAKER, case_.kind);
  for (const auto& [key, value] : arguments)
    command += fmt::format(" --{} '{}'", key, value);
  EXPECT_EQ(std::system(fmt::format("{} -o '{}'", command, path).c_str()), 0) << command;
  return test::read_text(path);
}

/// The two shifts that an advice names.
std::pair<double, double> shift_in(const std::string& advice) {
  // What is nothing is not named.
  const auto in = [&](const char* axis) {
    std::smatch found;
    const std::regex pattern(std::string(R"(([+-][\d.]+) mm in )") + axis);
    return std::regex_search(advice, found, pattern) ? std::stod(found[1]) : 0.0;
  };
  const std::pair<double, double> shift{in("X"), in("Y")};
  EXPECT_NE(shift, std::pair(0.0, 0.0)) << advice;
  return shift;
}

std::optional<Account> Followed::doubled(const Finding& finding) const {
  const auto [x, y] = shift_in(finding.advice);
  const std::string kind = case_.kind;
  const auto [width, depth] = pair("size", kind == "labels"    ? "56,26"
                                           : kind == "lantern" ? "50,50"
                                                               : "20,20");
  const auto [left, front] = pair("origin", "40,40");
  if (case_.arguments.contains("copies") || (x != 0.0 && y != 0.0))
    return std::nullopt;
  Arguments changed = case_.arguments;
  changed["copies"] = x != 0.0 ? "2x1" : "1x2";
  changed["gap"] = fmt::format("{}", x != 0.0 ? std::abs(x) - width : std::abs(y) - depth);
  changed["origin"] = fmt::format("{},{}", left + std::min(x, 0.0), front + std::min(y, 0.0));
  return made(changed);
}

Account Followed::moved(const Finding& finding) const {
  const auto [x, y] = shift_in(finding.advice);
  Arguments changed = case_.arguments;
  const auto [left, front] = pair("origin", "40,40");
  changed["origin"] = fmt::format("{},{}", left + x, front + y);
  if (get("purge", "none") == "tower") {
    const auto [tower_x, tower_y] = pair("purge-at", "10,10");
    changed["purge-at"] = fmt::format("{},{}", tower_x + x, tower_y + y);
  }
  return made(changed);
}

Account Followed::thicker(const Finding& finding) const {
  std::smatch found;
  EXPECT_TRUE(std::regex_search(finding.advice, found, std::regex("layers of ([\\d.]+) mm")));
  const double share = std::stod(get("layer-height", "0.2")) / std::stod(found[1]);
  Arguments changed = case_.arguments;
  changed["layer-height"] = found[1];
  const double above_first = std::stod(get("layers", "10")) - 1.0;
  changed["layers"] = fmt::format("{:.0f}", 1.0 + above_first * share);
  for (const char* key : {"band-layers", "upper-layers"})
    if (changed.contains(key))
      changed[key] = fmt::format("{:.0f}", std::stod(changed[key]) * share);
  return made(changed);
}

Account Followed::reordered() const {
  std::vector<std::string> orders;
  for (const std::vector<int>& order : plan_usual_order(account_, machine_).orders)
    orders.push_back(fmt::format("{}", fmt::join(order, "-")));
  Arguments changed = case_.arguments;
  changed["layer-orders"] = fmt::format("{}", fmt::join(orders, ","));
  return made(changed);
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

std::string text_of(const std::vector<std::string>& lines) {
  return fmt::format("{}\n", fmt::join(lines, "\n"));
}

/// Edits the heater words of the tools that the advice names.
Account Followed::heated_in_time(const Finding& finding) const {
  std::vector<std::string> lines = lines_of(text_);
  std::smatch found;
  std::istringstream parts(finding.advice);
  for (std::string part; std::getline(parts, part, ';');) {
    EXPECT_TRUE(std::regex_search(part, found, std::regex("tool (\\d+)"))) << part;
    const std::string tool = found[1];
    const std::string layer = std::regex_search(part, found, std::regex("from layer (\\d+) on"))
                                  ? std::string(found[1])
                                  : "";
    const bool stays_cold = part.find("leave") != std::string::npos;
    std::vector<std::string> out;
    std::size_t last = 0;
    bool heated = layer.empty() && !stays_cold;
    bool in_hand = false;
    bool waited = heated;
    for (const std::string& line : lines) {
      const bool heats =
          line.starts_with("M104 T" + tool + " ") || line.starts_with("M109 T" + tool + " ");
      if (!layer.empty() && line.ends_with("number " + layer)) {
        out.push_back(fmt::format("M104 T{} S215", tool));
        heated = true;
      }
      if (line == "T" + tool && !waited && !stays_cold) {
        out.push_back(fmt::format("M109 T{} S215", tool));
        waited = true;
      }
      if (line.starts_with('T'))
        in_hand = line == "T" + tool;
      if (!(heats && (!heated || stays_cold)))
        out.push_back(line);
      if (in_hand && line.starts_with("G1") && line.find(" E") != std::string::npos)
        last = out.size();
    }
    if (!stays_cold)
      out.insert(out.begin() + static_cast<std::ptrdiff_t>(last), fmt::format("M104 T{} S0", tool));
    lines = std::move(out);
  }
  return tally(text_of(lines), machine_);
}

/// Edits what each swap feeds at rest behind its T word.
Account Followed::purged_as_needed(bool enough) const {
  std::map<std::pair<int, int>, double> share;
  for (const SwapPairAccount& swap : account_.swap_pairs) {
    const double ratio = swap.needed_g.value_or(swap.purge_g) / swap.purge_g;
    share[{swap.from, swap.to}] = enough ? std::max(1.0, ratio) : std::min(1.0, ratio);
  }
  std::vector<std::string> lines = lines_of(text_);
  int from = -1, to = -1;
  bool purges = false;
  for (std::string& line : lines) {
    if (line.size() > 1 && line[0] == 'T' && std::isdigit(line[1]) != 0) {
      from = std::exchange(to, std::stoi(line.substr(1)));
      purges = from >= 0;
      continue;
    }
    constexpr double kRetraction_mm = 0.8;
    const double e_mm = line.starts_with("G1 E") ? std::stod(line.substr(4)) : 0.0;
    purges = purges && e_mm >= 0.0;  // the run at the chute ends with drawing back
    if (!purges || e_mm == 0.0 || e_mm == kRetraction_mm)
      continue;
    const std::size_t behind = line.find(' ', 4);
    line = fmt::format("G1 E{:.5f}{}", e_mm * share[{from, to}],
                       behind == std::string::npos ? "" : line.substr(behind));
  }
  return tally(text_of(lines), machine_);
}

std::optional<Account> Followed::follow(const Finding& finding) const {
  Arguments changed = case_.arguments;
  if (finding.code == "copies-share-swaps")
    return doubled(finding);
  if (finding.code == "place-on-bed")
    return moved(finding);
  if (finding.code == "thicker-layers")
    return thicker(finding);
  if (finding.code == "cheaper-order")
    return reordered();
  if (finding.code == "heat-without-use")
    return heated_in_time(finding);
  if (finding.code == "purge-above-need" || finding.code == "purge-below-need")
    return purged_as_needed(finding.code == "purge-below-need");
  if (finding.code == "tower-without-need") {
    changed["purge"] = "none";
    return made(changed);
  }
  if (finding.code == "standby-set-point") {
    Machine cooler = machine_;
    std::smatch found;
    EXPECT_TRUE(std::regex_search(finding.advice, found, std::regex("to (\\d+) degC")));
    for (Head& head : cooler.heads)
      head.standby_c = std::stod(found[1]);
    return tally(text_, cooler);
  }
  if (finding.code == "tool-without-use")
    return tally(make(case_.arguments), machine_);  // without what the case's edit put in
  return std::nullopt;
}

/// Selects another tool for a moment, in front of every layer but the first.
std::string with_idle_tool(const std::string& text, const std::string& idle) {
  std::vector<std::string> out;
  std::string in_hand;
  bool first = true;
  for (const std::string& line : lines_of(text)) {
    if (line.find("begins, number") != std::string::npos && !std::exchange(first, false)) {
      out.push_back(idle);
      out.push_back(in_hand);
    }
    if (line.size() > 1 && line[0] == 'T' && std::isdigit(line[1]) != 0)
      in_hand = line;
    out.push_back(line);
  }
  return text_of(out);
}

std::vector<Case> cases() {
  return {
      {"tower, four heads",
       "changer-5",
       "lantern",
       {{"tools", "4"},
        {"layers", "30"},
        {"purge", "tower"},
        {"purge-at", "60,60"},
        {"purge-mm3", "40"},
        {"size", "50,50"},
        {"origin", "120,120"}},
       {},
       {}},
      {"tower, thin layers",
       "changer-5",
       "blocks",
       {{"tools", "3"},
        {"layers", "30"},
        {"purge", "tower"},
        {"purge-at", "150,40"},
        {"purge-mm3", "60"},
        {"size", "40,40"},
        {"origin", "60,60"},
        {"layer-height", "0.15"}},
       {},
       {}},
      {"tower ahead",
       "changer-5",
       "blocks",
       {{"tools", "2"},
        {"layers", "30"},
        {"purge", "tower"},
        {"purge-at", "150,40"},
        {"purge-mm3", "60"},
        {"size", "40,40"},
        {"origin", "60,60"},
        {"tower-ahead", "2"}},
       {},
       {}},
      {"two heads, no purge",
       "changer-5",
       "lantern",
       {{"tools", "2"}, {"layers", "40"}, {"size", "60,60"}, {"origin", "60,60"}},
       {},
       {}},
      {"colours above",
       "changer-5",
       "labels",
       {{"tools", "4"}, {"layers", "50"}, {"upper-layers", "4"}, {"origin", "70,60"}},
       {},
       {}},
      {"bands",
       "changer-5",
       "blocks",
       {{"tools", "3"},
        {"layers", "75"},
        {"colours", "bands"},
        {"band-layers", "25"},
        {"size", "60,60"},
        {"origin", "100,100"}},
       {},
       {}},
      {"bands twice",
       "changer-5",
       "blocks",
       {{"tools", "2"},
        {"layers", "240"},
        {"colours", "bands"},
        {"band-layers", "60"},
        {"size", "60,60"},
        {"origin", "20,20"}},
       {},
       {}},
      {"in the middle",
       "changer-5",
       "blocks",
       {{"layers", "40"}, {"size", "40,40"}, {"origin", "160,160"}},
       {},
       {}},
      {"idle tool",
       "changer-5",
       "blocks",
       {{"layers", "40"}, {"size", "40,40"}, {"origin", "20,20"}},
       {},
       [](const std::string& text) { return with_idle_tool(text, "T3"); }},
      {"chute, three filaments",
       "switcher-4",
       "lantern",
       {{"tools", "3"},
        {"layers", "25"},
        {"purge", "chute"},
        {"purge-at", "5,5"},
        {"purge-mm3", "150"},
        {"size", "50,50"},
        {"origin", "60,60"}},
       {},
       {}},
      {"chute, colours, too much",
       "switcher-4",
       "lantern",
       {{"tools", "3"},
        {"layers", "25"},
        {"purge", "chute"},
        {"purge-at", "5,5"},
        {"purge-mm3", "900"},
        {"size", "50,50"},
        {"origin", "60,60"}},
       {"red", "orange", "brown"},
       {}},
      {"chute, colours, too little",
       "switcher-4",
       "blocks",
       {{"tools", "2"},
        {"layers", "22"},
        {"purge", "chute"},
        {"purge-at", "5,5"},
        {"purge-mm3", "70"},
        {"size", "40,30"},
        {"origin", "60,60"}},
       {"black", "white"},
       {}},
      {"tower, one nozzle",
       "switcher-4",
       "lantern",
       {{"tools", "4"},
        {"layers", "25"},
        {"purge", "tower"},
        {"purge-at", "150,40"},
        {"purge-mm3", "200"},
        {"size", "60,60"},
        {"origin", "40,40"},
        {"tower-side", "40"}},
       {},
       {}},
      {"downwards",
       "switcher-4",
       "blocks",
       {{"tools", "3"},
        {"layers", "25"},
        {"order", "descending"},
        {"purge", "chute"},
        {"purge-at", "5,5"},
        {"purge-mm3", "300"},
        {"size", "30,30"},
        {"origin", "60,60"},
        {"copies", "2x1"}},
       {},
       {}},
      {"carried over",
       "switcher-4",
       "lantern",
       {{"tools", "4"},
        {"layers", "25"},
        {"order", "carry-over"},
        {"purge", "chute"},
        {"purge-at", "5,5"},
        {"purge-mm3", "699"},
        {"size", "60,60"},
        {"origin", "60,60"}},
       {},
       {}},
      {"lines",
       "switcher-4",
       "ring",
       {{"tools", "2"},
        {"layers", "25"},
        {"purge", "line"},
        {"purge-at", "150,20"},
        {"size", "40,40"},
        {"origin", "60,60"},
        {"comments", "trade"}},
       {},
       {}},
  };
}

class Advice : public testing::TestWithParam<Case> {};

void expect_kept(double promised, double got, double total, const std::string& what) {
  constexpr double kShare = 0.15;
  constexpr double kOfTotal = 5e-4;
  EXPECT_NEAR(promised, got, kShare * std::abs(got) + kOfTotal * total) << what;
}

/// Known to miss, and stated in docs/accuracy.md: energy of another order on a tower in thin
/// layers.
bool is_known_miss(const std::string& plate, const std::string& code) {
  return code == "cheaper-order" && plate.find("thin layers") != std::string::npos;
}

TEST_P(Advice, GivesWhatItPromises) {
  const Followed plate(GetParam());
  const Totals& now = plate.account().totals;
  for (const Finding& finding : plate.account().findings) {
    SCOPED_TRACE(finding.code + ": " + finding.advice);
    if (!finding.tried) {
      EXPECT_EQ(finding.saves_time_s, 0.0);
      EXPECT_EQ(finding.saves_purge_g, 0.0);
      EXPECT_EQ(finding.saves_energy_wh, 0.0);
      EXPECT_NE(finding.trial.find("not tried: "), std::string::npos);
      continue;
    }
    const auto then = plate.follow(finding);
    if (!then)
      continue;
    const double each = 1.0 / Followed::plates(finding);
    const double got_s = now.time.expected - each * then->totals.time.expected;
    const double got_g = now.purge_g - each * then->totals.purge_g;
    const double got_wh = now.energy_wh - each * then->totals.energy_wh;
    expect_kept(finding.saves_time_s, got_s, now.time.expected, "time");
    expect_kept(finding.saves_purge_g, got_g, now.purge_g, "purge");
    if (is_known_miss(GetParam().name, finding.code))
      EXPECT_LE(finding.saves_energy_wh, got_wh);  // at least it does not promise too much
    else
      expect_kept(finding.saves_energy_wh, got_wh, now.energy_wh, "energy");
    if (std::getenv("PLATETALLY_SHOW_ADVICE") != nullptr)
      fmt::print("{} | {} | {:.1f} | {:.1f} | {:.2f} | {:.2f} | {:.2f} | {:.2f}\n", GetParam().name,
                 finding.code, finding.saves_time_s, got_s, finding.saves_purge_g, got_g,
                 finding.saves_energy_wh, got_wh);
  }
}

INSTANTIATE_TEST_SUITE_P(Plates, Advice, testing::ValuesIn(cases()), [](const auto& tested) {
  std::string name = tested.param.name;
  for (char& c : name)
    if (std::isalnum(static_cast<unsigned char>(c)) == 0)
      c = '_';
  return name;
});

/// Every code that names figures is followed by some case: the test would pass if findings fell
/// silent.
TEST(AdviceCases, EveryLeverIsFollowed) {
  std::set<std::string> followed;
  for (const Case& made : cases()) {
    const Followed plate(made);
    for (const Finding& finding : plate.account().findings)
      if (finding.tried && plate.follow(finding))
        followed.insert(finding.code);
  }
  EXPECT_EQ(followed, (std::set<std::string>{
                          "cheaper-order", "copies-share-swaps", "heat-without-use", "place-on-bed",
                          "purge-above-need", "purge-below-need", "standby-set-point",
                          "thicker-layers", "tool-without-use", "tower-without-need"}));
}

}  // namespace
}  // namespace platetally
