// Any bytes as a plate: what the stages make of them stays in proportion to the bytes. Records and
// strokes go with the commands; the steps of heat with the time of the plate, which is bounded, and
// with its set points.
#include <cstdlib>
#include <string_view>

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

class Counted : public interpreter::RecordSink {
 public:
  explicit Counted(interpreter::RecordSink& sink) : sink_(sink) {}
  void take(std::span<const interpreter::Record> batch) override {
    count += batch.size();
    sink_.take(batch);
  }
  void take(const interpreter::Strokes& strokes) override {
    count += strokes.size;
    sink_.take(strokes);
  }
  std::uint64_t count = 0;

 private:
  interpreter::RecordSink& sink_;
};

/// Motion and books behind the reading.
class Pipeline : public interpreter::RecordSink, motion::TimedSink {
 public:
  Pipeline(const Machine& machine, const std::vector<Material>& materials)
      : books(machine, materials), bound_(machine, *this), planner_(machine, bound_) {}
  void take(std::span<const interpreter::Record> batch) override { planner_.take(batch); }
  void take(const interpreter::Strokes& strokes) override { planner_.take(strokes); }
  void take(std::span<const motion::TimedRecord> batch) override { books.take(batch); }
  void take(const motion::TimedStrokes& strokes) override { books.take(strokes); }
  void finish() { planner_.finish(); }

  ledgers::PlateBooks books;

 private:
  timeline::TimeBound bound_;
  motion::Planner planner_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  static const Machine machine = load_machine("single-1").machine;
  static const std::vector<Material> materials = materials_of(machine, {});
  Pipeline pipeline(machine, materials);
  Counted counted(pipeline);
  interpreter::Interpreter interpreter(machine, counted);
  interpreter::PlateReader reader(interpreter);
  reader.take(std::string_view(reinterpret_cast<const char*>(data), size));
  interpreter.finish();
  pipeline.finish();
  pipeline.books.settle_purge();
  require(counted.count <= kRecordsOfAnyPlate + kRecordsPerByte * size);
  const heat::HeatResult heat = heat::run_heat(machine, materials, pipeline.books.take_heat_log());
  require(heat.steps <= kStepsOfAnyPlate + kStepsPerByte * size);
  constexpr double kLongest_s = timeline::TimeBound::kLongestPlate_s + 4.0 * 86400.0;
  require(heat.total_s <= kLongest_s);
  return 0;
}
