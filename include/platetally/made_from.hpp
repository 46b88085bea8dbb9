/// @file
/// What a report was made from: the program, the plates, the machines and the options that change
/// figures. Two reports with the same were tallied alike; docs/json.md says what each hash covers.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "platetally/version.h"

namespace platetally {

struct Machine;
struct Material;
struct Prices;

/// The version of the library, such as "0.1.0".
inline constexpr std::string_view kVersion = PLATETALLY_VERSION;

/// A plate that was read.
struct PlateUsed {
  std::string path;  ///< as it is shown
  std::string hash;  ///< of all bytes that lie there, as content_hash() gives it; empty: not known
  /// Member by member.
  bool operator==(const PlateUsed&) const = default;
};

/// A machine that was tallied on.
struct MachineUsed {
  std::string name;  ///< of its description
  std::string hash;  ///< as machine_hash() gives it
  /// Member by member.
  bool operator==(const MachineUsed&) const = default;
};

/// What a report was made from, besides the version of the library.
struct MadeFrom {
  std::vector<PlateUsed> plates;      ///< in the order in which they were given
  std::vector<MachineUsed> machines;  ///< in the order in which they were given
  /// Name and value of every option that is not as it is without saying so; files by their hash.
  std::vector<std::pair<std::string, std::string>> options;

  /// Sets an option, or sets it anew.
  void set(std::string_view name, std::string value) {
    const auto found = std::find_if(options.begin(), options.end(),
                                    [&](const auto& o) { return o.first == name; });
    if (found != options.end())
      found->second = std::move(value);
    else
      options.emplace_back(name, std::move(value));
  }
  /// Adds a plate that is not there yet.
  void add(const PlateUsed& plate) {
    if (std::find(plates.begin(), plates.end(), plate) == plates.end())
      plates.push_back(plate);
  }
  /// Adds a machine that is not there yet.
  void add(const MachineUsed& machine) {
    if (std::find(machines.begin(), machines.end(), machine) == machines.end())
      machines.push_back(machine);
  }
  /// Adds the plates and machines of another report.
  void add_inputs_of(const MadeFrom& other) {
    for (const PlateUsed& plate : other.plates)
      add(plate);
    for (const MachineUsed& machine : other.machines)
      add(machine);
  }
  /// Member by member.
  bool operator==(const MadeFrom&) const = default;
};

/// 128 bits in hexadecimal, of every value of the description but its name and sentence: two
/// machines that differ in one number differ in it; comments, the order of keys, and values that
/// are written out although they are the usual ones do not change it.
std::string machine_hash(const Machine& machine);
/// Name and hash.
MachineUsed used(const Machine& machine);
/// The same of all prices.
std::string prices_hash(const Prices& prices);
/// The same of materials, where their figures come from left out.
std::string materials_hash(const std::vector<Material>& materials);

}  // namespace platetally
