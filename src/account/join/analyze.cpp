// The whole pipeline, wired once: bytes, lines, commands, rows, their seconds, books, heat,
// account. Reading and interpreting run in one thread, motion and books in the other; between them
// goes nothing but batches of rows, so the account is the same with one thread.
#include "platetally/analyze.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <exception>
#include <memory>
#include <span>
#include <stdexcept>
#include <thread>

#include "account/findings/savings.hpp"
#include "account/findings/stated.hpp"
#include "account/findings/verdict.hpp"
#include "account/findings/wrong_feed.hpp"
#include "account/findings/wrong_machine.hpp"
#include "account/join/coverage.hpp"
#include "account/join/heat_input.hpp"
#include "account/join/made_from.hpp"
#include "account/ledgers/by_tool.hpp"
#include "account/ledgers/plate_books.hpp"
#include "account/ledgers/purge_short.hpp"
#include "account/whatif/kept_plate.hpp"
#include "account/whatif/placement.hpp"
#include "base/bounded_queue.hpp"
#include "base/diagnostics.hpp"
#include "base/threads.hpp"
#include "heat/simulate.hpp"
#include "motion/planning/planner.hpp"
#include "motion/timeline/time_bound.hpp"
#include "platetally/advice.hpp"
#include "platetally/colour.hpp"
#include "platetally/plate.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"
#include "reading/interpreter/row_queue.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"

namespace platetally {

namespace {

constexpr int kMostThreads = 2;  // each finding that is tried holds a heat log of its own
constexpr std::size_t kBatchesInFlight = 2;
constexpr std::size_t kBatchBytes = std::size_t{256} * 1024;

/// Motion and books: the second half of the reading.
class Consumer {
 public:
  Consumer(const Machine& machine, const std::vector<Material>& materials,
           const std::vector<std::string>& colours)
      : books_(machine, materials, colours), bound_(machine, books_), planner_(machine, bound_) {}

  interpreter::RowSink& sink() { return planner_; }
  void finish() { planner_.finish(); }

  ledgers::PlateBooks& books() { return books_; }
  const base::Diagnostics& planner_diagnostics() const { return planner_.diagnostics(); }
  const base::Diagnostics& time_diagnostics() const { return bound_.diagnostics(); }

 private:
  ledgers::PlateBooks books_;
  timeline::TimeBound bound_;
  motion::Planner planner_;
};

using BatchQueue = base::BoundedQueue<interpreter::RowQueue>;

/// Hands batches of rows to another thread.
class RingSink : public interpreter::RowSink {
 public:
  explicit RingSink(BatchQueue& ring) : ring_(ring) {}
  void take(const interpreter::Rows& rows) override {
    batch_.append(rows);
    send(kBatchBytes);
  }
  void take(const interpreter::Record& event) override {
    batch_.append(event);
    send(kBatchBytes);
  }
  /// What is left; once, after the last one.
  void finish() { send(0); }

 private:
  void send(std::size_t at_least_bytes) {
    if (!batch_.empty() && batch_.bytes() >= at_least_bytes)
      ring_.push(batch_);
  }

  BatchQueue& ring_;
  interpreter::RowQueue batch_;
};

/// What the first half of the reading leaves behind.
struct Reading {
  base::Diagnostics diagnostics;
  std::vector<UnaccountedWord> unaccounted;
  std::vector<LimitWord> limits_read;
  std::vector<MissingTool> missing_tools;
  std::vector<interpreter::StatedAt> stated;
  std::vector<double> layer_heights_mm;
  std::vector<std::string> object_names;
  std::uint64_t tool_selects = 0;
  Coverage coverage;
};

/// Bytes of a plate, with how far they have been read where they lie.
struct PlateBytes {
  source::ByteSource& bytes;
  const source::Plates& plates;
};

void note_broken_source(const PlateBytes& plate, const source::SourceError& error,
                        ReadingAccount& reading) {
  const source::ReadSoFar so_far = plate.plates.read_so_far();
  reading.broken = error.what();
  reading.source_bytes = so_far.bytes;
  reading.source_bytes_in_all = so_far.in_all;
}

void note_coverage(const interpreter::Interpreter& interpreter,
                   const interpreter::PlateReader& reader, Coverage& coverage) {
  coverage.lines = reader.lines();
  coverage.commands = reader.commands();
  coverage.reading.commands = interpreter.understood();
  coverage.reading.moves = interpreter.moves();
  coverage.reading.lines_left_out = interpreter.lines_left_out();
  coverage.reading.moves_left_out = interpreter.moves_left_out();
}

Reading read_plate(const PlateBytes& plate, const Machine& machine, const AnalyzeOptions& options,
                   interpreter::RowSink& sink) {
  constexpr std::size_t kHeadBytes = 512;
  Reading reading;
  Coverage& coverage = reading.coverage;
  source::BlockReader blocks(plate.bytes);
  interpreter::Interpreter interpreter(machine, sink);
  if (options.objects)
    interpreter.watch_objects();
  interpreter::PlateReader feed(interpreter);
  source::Block block;
  try {
    while (blocks.next(block)) {
      if (coverage.head.empty())
        coverage.head = block.text.substr(0, kHeadBytes);
      if (block.too_long)
        feed.take_too_long(block.text);
      else
        feed.take(block.text);
      if (options.on_progress)
        options.on_progress(blocks.bytes());
    }
  } catch (const source::SourceError& error) {
    note_broken_source(plate, error, coverage.reading);
  }
  interpreter.finish();
  reading.diagnostics.merge(interpreter.diagnostics());
  reading.unaccounted = interpreter.unaccounted();
  reading.limits_read = interpreter.read_by_key();
  reading.missing_tools = interpreter.missing_tools();
  reading.stated = interpreter.stated();
  reading.layer_heights_mm = interpreter.layer_heights_mm();
  reading.object_names = interpreter.object_names();
  reading.tool_selects = interpreter.tool_selects();
  coverage.bytes = blocks.bytes();
  note_coverage(interpreter, feed, coverage);
  return reading;
}

/// The reading in a thread of its own, everything after it in this one.
Reading read_in_two_threads(const PlateBytes& plate, const Machine& machine,
                            const AnalyzeOptions& options, Consumer& consumer) {
  BatchQueue ring(kBatchesInFlight);
  RingSink sink(ring);
  Reading reading;
  std::exception_ptr failure;
  std::thread reader([&] {
    try {
      reading = read_plate(plate, machine, options, sink);
      sink.finish();
    } catch (...) {
      failure = std::current_exception();
    }
    ring.close();
  });
  try {
    interpreter::RowQueue batch;
    while (ring.pop(batch))
      batch.give_all(consumer.sink());
  } catch (...) {
    ring.abandon();
    reader.join();
    throw;
  }
  reader.join();
  if (failure)
    std::rethrow_exception(failure);
  return reading;
}

std::vector<Material> materials_by_tool(const Machine& machine, const AnalyzeOptions& options) {
  for (std::size_t tool = 0; tool < options.tool_colours.size(); ++tool)
    if (const std::string& colour = options.tool_colours[tool]; !colour.empty())
      if (const auto fault = fault_of_colour(colour))
        throw UnreadablePlate(fmt::format("tool {}: {}", tool, *fault));
  std::vector<Material> materials;
  for (std::size_t tool = 0; tool < machine.tools.size(); ++tool) {
    const Material* material =
        ledgers::find_material(machine.tools[tool].material, options.materials);
    if (material == nullptr)
      throw UnreadablePlate(
          fmt::format("machine '{}': tool {} is fed '{}', which is no known material; give it in a "
                      "materials file",
                      machine.name, tool, machine.tools[tool].material));
    materials.push_back(*material);
  }
  return materials;
}

void require_sound(const Machine& machine) {
  for (const Diagnostic& fault : validate(machine))
    if (fault.severity == Severity::error)
      throw UnreadablePlate(fmt::format("machine '{}': {}", machine.name, fault.message));
}

/// Highest tool number that is selected or fed, plus one.
int tools_used(const Account& account) {
  int tools = 1;
  for (const ToolAccount& tool : account.tools)
    if (tool.selects > 0 || tool.filament_mm != 0.0)
      tools = std::max(tools, tool.tool + 1);
  return tools;
}

Diagnostic describe_stops(std::uint64_t in_all) {
  Diagnostic note;
  note.code = "stops-not-listed";
  note.severity = Severity::note;
  note.message = fmt::format(
      "the plate waits for a person {} times; expected at most {}; when the first {} come is told, "
      "the others are counted",
      in_all, kMostStops, kMostStops);
  return note;
}

/// Of a machine whose filaments a person changes, how many tools there are: its own ones and those
/// that the plate names.
std::size_t tools_named(std::size_t own, const Account& account, const timeline::HeatLog& log) {
  std::size_t tools = std::max(own, static_cast<std::size_t>(tools_used(account)));
  for (const timeline::HeatEvent& event : log.events)
    tools = std::max(tools, static_cast<std::size_t>(event.tool + 1));
  return tools;
}

/// What is wanted of a plate besides its account.
struct Keep {
  HeatInput* heat = nullptr;
  std::shared_ptr<whatif::KeptPlate>* plate = nullptr;
};

/// Adds the findings, which are variants of the plate that were played.
Account with_findings(std::shared_ptr<whatif::KeptPlate> plate,
                      const std::vector<ledgers::ToolUse>& uses, const AnalyzeOptions& options,
                      const Keep& keep) {
  Account& account = plate->account;
  if (options.findings) {
    findings::Levers levers =
        findings::find_levers({*plate, uses}, std::min(options.threads, kMostThreads));
    account.findings = std::move(levers.findings);
    rank_findings(account, Aim::time);
    account.bed_picture.shift_x_mm = levers.placement.shift_x_mm;
    account.bed_picture.shift_y_mm = levers.placement.shift_y_mm;
    account.bed_picture.zones_now = levers.placement.zones_now;
    account.bed_picture.zones_then = levers.placement.zones_then;
  }
  account.verdict = findings::judge(account, plate->machine);
  if (keep.plate == nullptr)
    return std::move(account);
  *keep.plate = plate;
  return account;
}

/// What the shares of objects lack.
std::vector<Diagnostic> remarks_on(const objects::ObjectsTold& told) {
  std::vector<Diagnostic> notes;
  const auto note = [&notes](const char* code, std::string message) {
    Diagnostic said;
    said.code = code;
    said.severity = Severity::note;
    said.message = std::move(message);
    notes.push_back(std::move(said));
  };
  if (told.overflows)
    note("objects-rest",
         "there are more objects, or they lie further apart, than are kept; what could not be told "
         "apart is the object \"rest\"");
  if (told.layers_together > 1)
    note("objects-by-layers",
         fmt::format("there are more objects and layers than are kept one by one; what objects "
                     "share was shared over {} layers at a time",
                     told.layers_together));
  return notes;
}

Account analyze(const PlateBytes& plate, const std::string& path, const Machine& as_it_is,
                const AnalyzeOptions& options, const Keep& keep) {
  const Machine machine = filaments_by_hand(machine_with(as_it_is, options.variant));
  const std::vector<Material> materials = materials_by_tool(machine, options);
  const bool tells_objects = options.objects && !whatif::changes_plate(options.variant);
  Consumer consumer(machine, materials, options.tool_colours);
  if (tells_objects)
    consumer.books().tell_objects_apart(options.picture, options.picture_at_mm);
  Reading reading = base::threads_of(options.threads) > 1
                        ? read_in_two_threads(plate, machine, options, consumer)
                        : read_plate(plate, machine, options, consumer.sink());
  require_plate(reading.coverage, options.partial);
  consumer.finish();
  consumer.books().settle_purge();
  timeline::HeatLog heat_log = consumer.books().take_heat_log();
  if (keep.heat != nullptr)
    *keep.heat = {heat_log, materials, {}};
  heat::HeatOptions start;
  start.start_bed_c = options.start_bed_c;
  const heat::HeatResult heat = heat::run_heat(machine, materials, heat_log, start);

  Account account;
  account.path = path;
  account.bytes = reading.coverage.bytes;
  account.lines = reading.coverage.lines;
  account.reading = reading.coverage.reading;
  if (account.reading.is_partial())
    reading.diagnostics.add(describe_part(reading.coverage));
  account.machine = machine.name;
  account.made_from = made_from(as_it_is, options);
  account.what_if.changes = describe(options.variant);
  account.totals.tool_selects = reading.tool_selects;
  account.unaccounted = std::move(reading.unaccounted);
  account.limits_read = std::move(reading.limits_read);
  account.missing_tools = std::move(reading.missing_tools);
  consumer.books().write(heat, reading.layer_heights_mm, account);
  objects::ObjectsTold told =
      consumer.books().take_objects(heat, reading.object_names, reading.layer_heights_mm.size());
  for (Diagnostic& note : remarks_on(told))
    reading.diagnostics.add(std::move(note));
  if (consumer.books().stops_in_all() > account.stops.size())
    reading.diagnostics.add(describe_stops(consumer.books().stops_in_all()));
  reading.diagnostics.merge(consumer.planner_diagnostics());
  reading.diagnostics.merge(consumer.time_diagnostics());
  for (const Diagnostic& diagnostic : heat.diagnostics)
    reading.diagnostics.add(diagnostic);
  for (Diagnostic& warning :
       findings::check_machine(consumer.books().demand(), tools_used(account), machine))
    reading.diagnostics.add(std::move(warning));
  for (Diagnostic& warning : findings::hold_stated(reading.stated, machine, materials, account))
    reading.diagnostics.add(std::move(warning));
  for (Diagnostic& warning :
       findings::check_heads(account.tools, consumer.books().tool_uses(), machine))
    reading.diagnostics.add(std::move(warning));
  for (Diagnostic& warning :
       findings::check_feed(account, consumer.books().layer_ledger(),
                            consumer.books().grams_by_layer(), reading.layer_heights_mm))
    reading.diagnostics.add(std::move(warning));
  for (Diagnostic& note : findings::check_outside(consumer.books().outside_doubt_g()))
    reading.diagnostics.add(std::move(note));
  for (Diagnostic& note :
       findings::check_flushes(consumer.books().flush_doubt_g(), account.totals.purge_g))
    reading.diagnostics.add(std::move(note));
  account.diagnostics = reading.diagnostics.entries();
  account.power = heat.power;
  ledgers::PlateBooks& books = consumer.books();
  const std::size_t tools = tools_named(as_it_is.tools.size(), account, heat_log);
  account.tools.resize(tools);
  auto kept = std::make_shared<whatif::KeptPlate>(whatif::KeptPlate{
      machine, materials, std::move(heat_log), books.take_turns(), books.footprint(),
      books.fixed_tiles(), books.rows(reading.layer_heights_mm), std::move(account), start,
      books.start_layers()});
  kept->machine.tools.resize(tools);
  kept->materials.resize(tools);
  kept->account.bed_picture = whatif::picture_of(kept->footprint, kept->machine);
  ledgers::hold_against_need(kept->turns, kept->machine, kept->materials, kept->account);
  for (Diagnostic& warning :
       findings::check_purge(kept->account, kept->turns, books.demand(), tools_used(kept->account),
                             kept->machine, kept->materials))
    kept->account.diagnostics.push_back(std::move(warning));
  if (keep.plate == nullptr && whatif::changes_plate(options.variant)) {
    Account varied = whatif::varied(*kept, options.variant);
    varied.verdict = findings::judge(varied, kept->machine);
    return varied;
  }
  Account full = with_findings(std::move(kept), books.tool_uses(), options, keep);
  full.objects = std::move(told.objects);
  full.plate_picture = std::move(told.plate);
  full.layer_picture = std::move(told.layer);
  return full;
}

void note_passed_over(const std::vector<std::string>& names, Account& account) {
  if (names.empty())
    return;
  Diagnostic passed;
  passed.code = "member-passed-over";
  passed.severity = Severity::note;
  passed.message =
      fmt::format("files in the container that are no G-code, skipped: {}", fmt::join(names, ", "));
  account.diagnostics.push_back(std::move(passed));
}

std::vector<PlateOutcome> analyze_each(source::Plates& plates, const std::string& path,
                                       const Machine& machine, const AnalyzeOptions& options,
                                       const Keep& keep) {
  std::vector<PlateOutcome> outcomes;
  for (;;) {
    PlateOutcome outcome;
    try {
      const auto bytes = plates.next();
      if (!bytes)
        break;
      outcome.member = plates.member();
      outcome.account =
          analyze({*bytes, plates},
                  outcome.member.empty() ? path : fmt::format("{}:{}", path, outcome.member),
                  machine, options, keep);
    } catch (const source::SourceError& error) {
      // The container itself is broken, or the plate breaks before its first line. What broke
      // within a plate has been said of that plate.
      if (!outcomes.empty() &&
          (!outcomes.back().account || !outcomes.back().account->reading.broken.empty()))
        return outcomes;
      outcome.error = error.what();
      outcomes.push_back(std::move(outcome));
      return outcomes;
    } catch (const UnreadablePlate& error) {
      outcome.error = error.what();
    }
    outcomes.push_back(std::move(outcome));
  }
  if (!outcomes.empty() && outcomes.back().account)
    note_passed_over(plates.passed_over(), *outcomes.back().account);
  return outcomes;
}

/// The hash is known behind the last plate only.
std::vector<PlateOutcome> analyze_all(source::Plates& plates, const std::string& path,
                                      const Machine& machine, const AnalyzeOptions& options,
                                      const Keep& keep = {}) {
  std::vector<PlateOutcome> outcomes = analyze_each(plates, path, machine, options, keep);
  const PlateUsed plate{path, plates.content_hash()};
  for (PlateOutcome& outcome : outcomes)
    if (outcome.account)
      outcome.account->made_from.add(plate);
  if (keep.plate != nullptr && *keep.plate)
    (*keep.plate)->account.made_from.add(plate);
  return outcomes;
}

std::vector<PlateOutcome> analyze_path(const std::string& path, const Machine& machine,
                                       const AnalyzeOptions& options, const Keep& keep = {}) {
  require_sound(machine);
  try {
    const auto plates = source::open_path(path);
    return analyze_all(*plates, options.display_path.empty() ? path : options.display_path, machine,
                       options, keep);
  } catch (const source::SourceError& error) {
    throw UnreadablePlate(error.what());
  }
}

Account only_account(std::vector<PlateOutcome> outcomes) {
  if (outcomes.size() > 1)
    throw UnreadablePlate(fmt::format("holds {} plates; expected one, the first is {}",
                                      outcomes.size(), outcomes.front().member));
  if (!outcomes.front().account)
    throw UnreadablePlate(outcomes.front().error);
  return std::move(*outcomes.front().account);
}

}  // namespace

HeatInput heat_input_of(const std::string& path, const Machine& machine,
                        const AnalyzeOptions& options) {
  HeatInput input;
  analyze_file_keeping(path, machine, options, input);
  return input;
}

Account analyze_file_keeping(const std::string& path, const Machine& machine,
                             const AnalyzeOptions& options, HeatInput& input) {
  AnalyzeOptions without_findings = options;  // nobody who wants the input reads them
  without_findings.findings = false;
  try {
    Account account =
        only_account(analyze_path(path, machine, without_findings, {&input, nullptr}));
    input.made_from = account.made_from;
    return account;
  } catch (const UnreadablePlate& error) {
    // The caller has several files, so the message says which.
    throw UnreadablePlate(fmt::format("{}: {}", path, error.what()));
  }
}

std::vector<Material> materials_of(const Machine& machine, const AnalyzeOptions& options) {
  require_sound(machine);
  return materials_by_tool(machine, options);
}

std::vector<PlateOutcome> analyze_plates(const std::string& path, const Machine& machine,
                                         const AnalyzeOptions& options) {
  return analyze_path(path, machine, options);
}

const Account& Plate::account() const {
  return kept_->account;
}

Played Plate::play(const Variant& variant) const {
  Played played = whatif::play(*kept_, variant);
  if (played.ok())
    played.account.verdict = findings::judge(played.account, kept_->machine);
  return played;
}

Plate keep_plate(const std::string& path, const Machine& machine, const AnalyzeOptions& options) {
  std::shared_ptr<whatif::KeptPlate> kept;
  only_account(analyze_path(path, machine, options, {nullptr, &kept}));
  return Plate(std::move(kept));
}

Account analyze_file(const std::string& path, const Machine& machine,
                     const AnalyzeOptions& options) {
  return only_account(analyze_plates(path, machine, options));
}

namespace {

/// What the supply throws goes past containers that are read by C, and on behind them.
class SupplySource : public source::ByteSource {
 public:
  SupplySource(const ByteSupply& supply, std::exception_ptr& failure)
      : supply_(supply), failure_(failure) {}
  std::size_t read(std::span<char> room) override {
    if (ended_ || failure_)
      return 0;
    try {
      const std::size_t got = supply_(room.data(), room.size());
      if (got > room.size())
        throw std::length_error("the supply of bytes gave more than there is room for");
      ended_ = got == 0;
      return got;
    } catch (...) {
      failure_ = std::current_exception();
      throw source::SourceError("the supply of its bytes failed");
    }
  }

 private:
  const ByteSupply& supply_;
  std::exception_ptr& failure_;
  bool ended_ = false;
};

}  // namespace

Account analyze_supply(const ByteSupply& supply, const Machine& machine,
                       const AnalyzeOptions& options) {
  require_sound(machine);
  std::exception_ptr failure;
  std::vector<PlateOutcome> outcomes;
  try {
    const auto plates = source::open_supply(std::make_unique<SupplySource>(supply, failure));
    outcomes =
        analyze_all(*plates, options.display_path.empty() ? "(stream)" : options.display_path,
                    machine, options);
  } catch (const source::SourceError& error) {
    if (!failure)
      throw UnreadablePlate(error.what());
  }
  if (failure)
    std::rethrow_exception(failure);
  return only_account(std::move(outcomes));
}

Account analyze_bytes(std::string_view bytes, const Machine& machine,
                      const AnalyzeOptions& options) {
  require_sound(machine);
  try {
    const auto plates = source::open_memory(bytes);
    return only_account(
        analyze_all(*plates, options.display_path.empty() ? "(memory)" : options.display_path,
                    machine, options));
  } catch (const source::SourceError& error) {
    throw UnreadablePlate(error.what());
  }
}

}  // namespace platetally
