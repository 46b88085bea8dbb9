// A workshop's queue of small plates that lie in a folder of their own.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/plan.hpp"
#include "support/temp_folder.hpp"

namespace platetally::test {

inline Machine machine_named(const std::string& name) {
  const MachineLoad load = load_machine(name);
  EXPECT_TRUE(load.ok()) << name;
  return load.machine();
}

/// A frame of `width_mm` by `depth_mm` at 100, 100, laid by each of the tools in turn.
struct FramePlate {
  double width_mm = 40.0;
  double depth_mm = 20.0;
  int layers = 2;
  std::vector<int> tools = {0};
  int head_c = 210;
  double x_mm = 100.0;

  std::string text() const {
    std::string text = "G21\nG90\nM83\n";
    for (const int tool : tools)
      text += fmt::format("M104 S{} T{}\n", head_c, tool);
    text += fmt::format("T{}\nM109 S{}\n", tools.front(), head_c);
    for (int layer = 0; layer < layers; ++layer) {
      text += fmt::format("G1 Z{:.1f} F600\n", 0.2 * (layer + 1));
      for (std::size_t i = 0; i < tools.size(); ++i) {
        if (tools.size() > 1)
          text += fmt::format("T{}\n", tools[i]);
        const double inset_mm = static_cast<double>(i);
        const double left = x_mm + inset_mm, right = x_mm + width_mm - inset_mm;
        const double front = 100.0 + inset_mm, back = 100.0 + depth_mm - inset_mm;
        text += fmt::format("G0 X{} Y{} F9000\n", left, front);
        text += fmt::format("G1 X{} E{:.4f} F3000\n", right, 0.04 * (right - left));
        text += fmt::format("G1 Y{} E{:.4f}\n", back, 0.04 * (back - front));
        text += fmt::format("G1 X{} E{:.4f}\n", left, 0.04 * (right - left));
        text += fmt::format("G1 Y{} E{:.4f}\n", front, 0.04 * (back - front));
      }
    }
    return text + "M104 S0\n";
  }
};

class Workshop {
 public:
  static constexpr std::int64_t kMonday_s = 1777852800;  // 2026-05-04 00:00

  Workshop() {
    queue.start_s = kMonday_s + 8 * 3600;
    // What add_machine() and add_job() return stays good.
    queue.machines.reserve(16);
    queue.jobs.reserve(16);
  }

  std::string put(const std::string& name, const std::string& text) const {
    const std::string path = (folder_.path() / name).string();
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }

  /// Somebody is always there; its feeds are empty.
  QueueMachine& add_machine(const std::string& name, const std::string& description) {
    QueueMachine machine;
    machine.name = name;
    machine.source = description;
    machine.machine = machine_named(description);
    machine.attended = {{0, 7 * 86400}};
    queue.machines.push_back(std::move(machine));
    return queue.machines.back();
  }

  /// On every machine that is there by now.
  QueueJob& add_job(const std::string& name, const FramePlate& plate, int copies) {
    QueueJob job;
    job.name = name;
    job.plate = name + ".gcode";
    job.path = put(job.plate, plate.text());
    job.copies = copies;
    for (std::size_t i = 0; i < queue.machines.size(); ++i)
      job.machines.push_back(i);
    queue.jobs.push_back(std::move(job));
    return queue.jobs.back();
  }

  Queue queue;

 private:
  TempFolder folder_;
};

}  // namespace platetally::test
