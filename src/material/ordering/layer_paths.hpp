// How the tools of one set can be gone through, from every first tool to every last one.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

/// Places within the sorted set stand for tools here.
struct Path {
  std::uint16_t first = 0;
  std::uint16_t last = 0;
  double cost = 0.0;  ///< of the changes inside the layer
};

class LayerPaths {
 public:
  /// With `exact` the paths are the cheapest for all pairs of ends, else one good path for every
  /// first tool and a bound for all pairs. `tools` is sorted.
  LayerPaths(const Problem& problem, Tools tools, bool exact);

  const Tools& tools() const { return tools_; }
  bool exact() const { return exact_; }
  const std::vector<Path>& paths() const { return paths_; }
  Tools order(std::size_t path) const;

  /// A path that was found elsewhere, in order of use.
  void offer(const Problem& problem, const Tools& order);

  /// What every path between the two places costs at least; infinite where there is none. Only
  /// without `exact`, where it is found.
  double bound(std::size_t first, std::size_t last) const;

  /// Steps of the exact search over a set of `size` tools.
  static double exact_work(std::size_t size);

 private:
  double arc(std::size_t from, std::size_t to) const { return arcs_[from * tools_.size() + to]; }
  void find_all();
  void search_from(std::size_t first, std::vector<double>& best) const;
  void trace(std::size_t first, std::size_t last, const std::vector<double>& best);
  void find_greedy();
  void find_bound();
  void add(const std::vector<std::uint16_t>& places);
  void add(const std::vector<std::uint16_t>& places, double cost);

  Tools tools_;
  bool exact_;
  std::vector<double> arcs_;               ///< this and the next only while the paths are found
  std::vector<std::vector<bool>> before_;  ///< [a][b]: b has to come before a
  std::vector<Path> paths_;
  std::vector<std::uint16_t> places_;  ///< of all paths, one after the other
  double base_bound_ = 0.0;
  std::vector<double> first_extra_;  ///< by place: bound for a path that starts there, beyond base
  std::vector<double> last_extra_;
};

}  // namespace platetally::ordering
