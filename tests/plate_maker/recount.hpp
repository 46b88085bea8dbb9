// Counts a plate again, in the plainest way: line by line, word by word.
//
// Neither plate-maker's bookkeeping nor platetally's reader is used, so that three independent
// accounts of the same plate can be compared.
#pragma once

#include <array>
#include <cctype>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace plate_maker::test {

struct LaidMove {
  std::uint64_t line = 0;
  int tool = -1;
  double e_mm = 0.0;
  bool at_rest = false;
};

struct Recount {
  std::uint64_t lines = 0;
  std::map<int, double> filament_mm;
  int selects = 0;
  int parkings = 0;
  int swaps = 0;
  std::vector<LaidMove> laid;
  std::set<std::int64_t> heights_um;  ///< where level strokes lie
  bool has_slopes = false;
  bool has_arcs = false;
  int travels = 0, strokes = 0, arcs = 0, at_rest = 0;
  std::array<double, 3> low_mm{1e9, 1e9, 1e9};
  std::array<double, 3> high_mm{-1e9, -1e9, -1e9};
  bool checksums_hold = true;
};

class Counter {
 public:
  void take(std::string_view line) {
    ++count_.lines;
    if (!line.empty() && line.back() == '\r')
      line.remove_suffix(1);
    line = without_checksum(line);
    if (line.empty() || line[0] == ';' || line[0] == '(')
      return;  // plate-maker writes comments on lines of their own
    read_words(line);
    obey(command(line));
  }

  const Recount& count() const { return count_; }

 private:
  std::string_view without_checksum(std::string_view line) {
    const std::size_t star = line.rfind('*');
    if (line.empty() || line[0] != 'N' || star == std::string_view::npos)
      return line;
    int sum = 0;
    for (const char c : line.substr(0, star))
      sum ^= c;
    if (sum != std::atoi(std::string(line.substr(star + 1)).c_str()))
      count_.checksums_hold = false;
    const std::size_t blank = line.find(' ');
    return line.substr(blank + 1, star - blank - 1);
  }

  static std::string command(std::string_view line) {
    return std::string(line.substr(0, line.find(' ')));
  }

  void read_words(std::string_view line) {
    words_.clear();
    for (std::size_t blank = line.find(' '); blank != std::string_view::npos;
         blank = line.find(' ', blank + 1))
      if (blank + 2 < line.size() && std::isupper(static_cast<unsigned char>(line[blank + 1])))
        words_[line[blank + 1]] = std::strtod(std::string(line.substr(blank + 2)).c_str(), nullptr);
  }

  void obey(const std::string& command) {
    if (command == "G20")
      unit_mm_ = 25.4;
    else if (command == "G90" || command == "G91")
      relative_ = command == "G91";
    else if (command == "M82" || command == "M83")
      relative_e_ = command == "M83";
    else if (command == "G92")
      e_ = words_['E'] * unit_mm_;
    else if (command == "M101" || command == "M103")
      extruder_on_ = command == "M101";
    else if (command[0] == 'T' &&
             (std::isdigit(static_cast<unsigned char>(command[1])) || command[1] == '-'))
      select(std::atoi(command.c_str() + 1));
    else if (command == "G0" || command == "G1" || command == "G2" || command == "G3")
      move(command == "G2" || command == "G3");
  }

  void select(int tool) {
    if (tool < 0) {
      ++count_.parkings;
      return;
    }
    ++count_.selects;
    if (anything_laid_ && tool != tool_)
      ++count_.swaps;
    tool_ = tool;
  }

  void move(bool is_arc) {
    const std::array<double, 3> from = at_mm_;
    constexpr std::array letters{'X', 'Y', 'Z'};
    for (std::size_t axis = 0; axis < 3; ++axis)
      if (const auto word = words_.find(letters[axis]); word != words_.end())
        at_mm_[axis] = word->second * unit_mm_ + (relative_ ? at_mm_[axis] : 0.0);
    double fed_mm = 0.0;
    if (const auto word = words_.find('E'); word != words_.end()) {
      fed_mm = word->second * unit_mm_ - (relative_e_ ? 0.0 : e_);
      e_ += fed_mm;
    }
    count_.filament_mm[tool_] += fed_mm;
    const bool across = is_arc || from[0] != at_mm_[0] || from[1] != at_mm_[1];
    const bool lays = across && (fed_mm > 0.0 || extruder_on_);
    if (lays)
      lay(from, fed_mm, is_arc);
    else if (is_arc)
      ++count_.arcs;
    else if (across && fed_mm == 0.0)
      ++count_.travels;
    if (!across && fed_mm > 0.0)
      count_.laid.push_back({count_.lines, tool_, fed_mm, true});
  }

  void lay(const std::array<double, 3>& from, double fed_mm, bool is_arc) {
    anything_laid_ = true;
    count_.laid.push_back({count_.lines, tool_, fed_mm, false});
    ++(is_arc ? count_.arcs : count_.strokes);
    count_.has_arcs |= is_arc;
    if (std::abs(from[2] - at_mm_[2]) < 1e-9)
      count_.heights_um.insert(std::llround(at_mm_[2] * 1000.0));
    else
      count_.has_slopes = true;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      count_.low_mm[axis] = std::min({count_.low_mm[axis], from[axis], at_mm_[axis]});
      count_.high_mm[axis] = std::max({count_.high_mm[axis], from[axis], at_mm_[axis]});
    }
  }

  Recount count_;
  std::map<char, double> words_;
  double unit_mm_ = 1.0;
  bool relative_ = false;
  bool relative_e_ = false;
  bool extruder_on_ = false;
  bool anything_laid_ = false;
  double e_ = 0.0;
  int tool_ = -1;
  std::array<double, 3> at_mm_{};
};

inline Recount recount(std::string_view text) {
  Counter counter;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    counter.take(text.substr(0, end));
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
  }
  return counter.count();
}

}  // namespace plate_maker::test
