// Any bytes as a plate: what the stages make of them stays in proportion to the bytes. Rows and
// events go with the commands; the steps of heat with the time of the plate, which is bounded, and
// with its set points.
#include <cstdlib>
#include <string_view>

#include "account/join/heat_input.hpp"
#include "account/ledgers/plate_books.hpp"
#include "heat/heat_result.hpp"
#include "heat/simulate.hpp"
#include "motion/planning/planner.hpp"
#include "motion/timeline/time_bound.hpp"
#include "platetally/analyze.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"

namespace {

using namespace platetally;

// Of four weeks in steps of ten seconds, and three days of waits in steps of two, several trials
// each; and what a set point costs: the network starts with short steps again.
constexpr std::uint64_t kStepsOfAnyPlate = 1'200'000;
constexpr std::uint64_t kStepsPerByte = 100;
constexpr std::uint64_t kRecordsOfAnyPlate = 64;
constexpr std::uint64_t kRecordsPerByte = 8;  // M116 waits for every heater

void require(bool holds) {
  if (!holds)
    std::abort();
}

class Counted : public interpreter::RowSink {
 public:
  explicit Counted(interpreter::RowSink& sink) : sink_(sink) {}
  void take(const interpreter::Rows& rows) override {
    count += rows.size;
    sink_.take(rows);
  }
  void take(const interpreter::Record& event) override {
    ++count;
    sink_.take(event);
  }
  std::uint64_t count = 0;

 private:
  interpreter::RowSink& sink_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  static const Machine machine = load_machine("single-1").machine();
  static const std::vector<Material> materials = materials_of(machine, {});
  ledgers::PlateBooks books(machine, materials);
  timeline::TimeBound bound(machine, books);
  motion::Planner planner(machine, bound);
  Counted counted(planner);
  interpreter::Interpreter interpreter(machine, counted);
  interpreter::PlateReader reader(interpreter);
  reader.take(std::string_view(reinterpret_cast<const char*>(data), size));
  interpreter.finish();
  planner.finish();
  books.settle_purge();
  require(counted.count <= kRecordsOfAnyPlate + kRecordsPerByte * size);
  const heat::HeatResult heat = heat::run_heat(machine, materials, books.take_heat_log());
  require(heat.steps <= kStepsOfAnyPlate + kStepsPerByte * size);
  constexpr double kLongest_s = timeline::TimeBound::kLongestPlate_s + 4.0 * 86400.0;
  require(heat.total_s <= kLongest_s);
  return 0;
}
