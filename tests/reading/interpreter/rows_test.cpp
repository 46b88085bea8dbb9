// Plain moves many at once against the same moves line by line, and how moves come in runs.

#include <gtest/gtest.h>

#include <random>

#include "reading/interpreter/row_queue.hpp"
#include "support.hpp"

namespace platetally::interpreter {
namespace {

using test::run;

/// Everything in the order in which it came, and the runs.
struct InOrder : RowSink {
  void take(const Rows& rows) override {
    runs.push_back({rows.run.kind, rows.size});
    said += fmt::format("run of {}\n", rows.size);
    for (std::size_t i = 0; i < rows.size; ++i)
      said += test::show_move(rows.record(i)) + "\n";
  }
  void take(const Record& event) override { said += test::show(event) + "\n"; }

  /// Sizes of the runs of a kind.
  std::vector<std::size_t> sizes(RunKind kind = RunKind::stroke) const {
    std::vector<std::size_t> sizes;
    for (const auto& [of, size] : runs)
      if (of == kind)
        sizes.push_back(size);
    return sizes;
  }
  std::string said;
  std::vector<std::pair<RunKind, std::size_t>> runs;
};

InOrder read(const std::string& text) {
  InOrder sink;
  const Machine machine = test::machine();
  Interpreter interpreter(machine, sink);
  PlateReader feed(interpreter);
  feed.take(text + std::string(80, ';') + "\n");
  interpreter.finish();
  return sink;
}

std::string random_plate(std::uint32_t seed, bool relative_e) {
  std::mt19937 random(seed);
  const auto coordinate = [&] {
    return fmt::format("{:.3f}", 0.001 * static_cast<double>(random() % 200000));
  };
  std::string text = relative_e ? "M83\n" : "M82\n";
  double e_mm = 0.0;
  double z_mm = 0.2;
  bool says_z = false;
  text += "G1 Z0.2 F600\n";
  for (int i = 0; i < 3000; ++i) {
    const auto kind = random() % 100;
    if (kind < 8 && seed % 3 != 0)
      says_z = !says_z;  // for a while
    if (kind < 80) {
      e_mm = relative_e ? 0.05 : e_mm + 0.05;
      text += "G1 X" + coordinate() + " Y" + coordinate();
      if (says_z)
        text += fmt::format(" Z{:.3f}", random() % 40 == 0 ? z_mm += 0.003 : z_mm);
      text += fmt::format(" E{:.5f}", e_mm) + (says_z || kind < 8 ? " F1800\n" : "\n");
    } else if (kind < 84) {
      text += "G1 X" + coordinate() + " Y" + coordinate() + " F9000\n";
    } else if (kind < 86) {
      e_mm = relative_e ? -0.8 : e_mm - 0.8;
      text += fmt::format("G1 E{:.5f} F2400\n", e_mm);
    } else if (kind < 88) {
      text += "G0 X" + coordinate() + fmt::format(" E{:.5f}\n", e_mm += relative_e ? 0.0 : 0.1);
    } else if (kind < 90) {
      z_mm += random() % 2 == 0 ? 0.2 : 0.0;
      text += fmt::format("G1 Z{:.1f} F600\n", z_mm);
    } else if (kind < 91) {
      text += "G92 E0\n";
      e_mm = 0.0;
    } else if (kind < 92) {
      text += fmt::format("T{}\n", random() % 2);
    } else if (kind < 93) {
      text += random() % 2 == 0 ? "G91\nG1 X0.1 E0.01\nG90\n" : "G20\nG1 X1.5 E0.01\nG21\n";
      if (!relative_e)
        text += "G92 E0\n";
      e_mm = 0.0;
    } else if (kind < 94) {
      text += random() % 2 == 0 ? "; purge begins\n" : "; layer\n";
    } else if (kind < 95) {
      text += "G1 X5 F0\nG1 X2000000000\nG1 X5 Y6 E-1000000000\n";
    } else if (kind < 96) {
      text += random() % 4 == 0 ? "M101\n" : random() % 4 == 0 ? "M103\n" : "M84 X Y\n";
    } else if (kind < 97 && random() % 2 == 0) {
      text += random() % 2 == 0 ? "G1 F1500\n" : "G0 F6000\nX10\n";
    } else if (kind < 97) {
      text += "G1 X-400 Y10 E" + fmt::format("{:.5f}", e_mm += 0.05) + "\n";
    } else {
      text += "G1 X" + coordinate() + " ; as before\n";
    }
  }
  return text;
}

TEST(PlainMoves, ManyAtOnceAreWhatTheyAreLineByLine) {
  for (std::uint32_t seed = 1; seed <= 10; ++seed)
    for (const bool relative_e : {false, true}) {
      Machine machine = test::machine();
      machine.dialect.rapid_moves_use_feed = seed % 2 == 0;
      const auto made = run(random_plate(seed, relative_e), machine);
      EXPECT_GT(made.moves().size(), 2000U);
    }
}

std::string strokes_text(std::size_t count) {
  std::string text = "M83\nG1 Z0.2 F600\n";
  for (std::size_t i = 0; i < count; ++i)
    text += fmt::format("G1 X{} Y{} E0.1\n", i % 200 + 1, i % 7);
  return text;
}

TEST(Runs, EndWithWhateverIsOfAnotherKind) {
  const InOrder sink =
      read(strokes_text(11) + "G1 E-0.5\n" + "G1 X0 Y50\nG1 Z0.6\nG1 Z0.2\n" + "G1 X1 Y1 E0.1\n" +
           "G1 X2 Y1 E0.1\n" + "; a remark\n" + "G1 X3 Y1 E0.1\n");
  EXPECT_EQ(sink.sizes(), (std::vector<std::size_t>{11, 2, 1})) << sink.said;
  EXPECT_EQ(sink.sizes(RunKind::path), (std::vector<std::size_t>{1, 3})) << sink.said;
  EXPECT_EQ(sink.sizes(RunKind::feed), (std::vector<std::size_t>{1})) << sink.said;
}

TEST(Runs, HoldStrokesThatClimbAndArcsByThemselves) {
  const InOrder sink = read(
      "M83\nG1 Z0.2 F600\nG1 X1 Y1 E0.1\nG1 X9 Y1 Z0.21 E0.1\n"
      "G1 X9 Y9 Z0.22 E0.1\nG2 X1 Y9 I-4 J0 E0.1\nG2 X9 Y9 I4 J0 E0.1\n");
  EXPECT_EQ(sink.sizes(), (std::vector<std::size_t>{3})) << sink.said;
  EXPECT_EQ(sink.sizes(RunKind::arc), (std::vector<std::size_t>{1, 1})) << sink.said;
}

TEST(Runs, LeaveOutWhatNoArithmeticBears) {
  // Too short, one by one and among many.
  std::string shortest = strokes_text(20);
  for (const char* x : {"21", "21.0000000001", "22"})
    shortest += fmt::format("G1 X{} Y1 E0.1\n", x);
  EXPECT_EQ(read(shortest).sizes(), (std::vector<std::size_t>{21, 1}));
  EXPECT_EQ(read(shortest).sizes(RunKind::feed), (std::vector<std::size_t>{1}));
  std::string many = "M83\nG1 Z0.2 F600\n";
  for (int i = 0; i < 40; ++i)
    many += fmt::format("G1 X{}.0000000001 Y1 E0.1\nG1 X{}.0000000002 Y1 E0.1\n", i, i);
  for (const std::size_t size : read(many).sizes())
    EXPECT_EQ(size, 1U);
  EXPECT_EQ(read("M83\nG1 X5.0000000001 F600\nG1 X5\n").sizes(RunKind::idle).size(), 1U);
}

TEST(Runs, AreNoLongerThanTheyMayBe) {
  EXPECT_EQ(read(strokes_text(2 * kMostRows + 50)).sizes(),
            (std::vector<std::size_t>{kMostRows, kMostRows, 50}));
}

TEST(Runs, ThatLeadToALayerBelongToIt) {
  const InOrder sink = read(
      "M83\nG1 Z0.2 F600\nG1 X9 Y1 E0.1\nG1 X1\nG1 E-0.5\nG1 Z0.4\nG1 X2\n"
      "M106 S255\nG1 X3\nG1 E0.5\nG1 X9 Y9 E0.1\nG1 X1\n");
  std::vector<std::uint32_t> layers;
  for (std::size_t at = sink.said.find("L"); at != std::string::npos;
       at = sink.said.find("\nL", at))
    layers.push_back(static_cast<std::uint32_t>(sink.said[at += 2] - '0'));
  EXPECT_EQ(layers.size(), 10U) << sink.said;
}

/// What leads to a layer is held back, but not without end.
TEST(Runs, WaitForALayerWithinBounds) {
  std::string text = "M83\nG1 Z0.2 F600\nG1 X9 Y1 E0.1\n";
  for (int i = 0; i < 20000; ++i)
    text += fmt::format("G1 X{}\n; on\nM106 S{}\n", i % 100, i % 255);
  struct Most : RowSink {
    void take(const Rows& rows) override { taken += rows.size; }
    void take(const Record&) override { ++taken; }
    std::size_t taken = 0;
  } sink;
  const Machine machine = test::machine();
  Interpreter interpreter(machine, sink);
  PlateReader feed(interpreter);
  feed.take(text);
  EXPECT_GT(sink.taken, 37000U);
  interpreter.finish();
  EXPECT_EQ(sink.taken, 40003U);
}

TEST(RowQueues, GiveEverythingBackInOrder) {
  for (std::uint32_t seed = 1; seed <= 3; ++seed) {
    const std::string text = random_plate(seed, true);
    const Machine machine = test::machine();
    struct Pack : RowSink {
      void take(const Rows& rows) override { queue.append(rows); }
      void take(const Record& event) override { queue.append(event); }
      RowQueue queue;
    };
    Pack pack;
    InOrder direct;
    for (RowSink* sink : {static_cast<RowSink*>(&pack), static_cast<RowSink*>(&direct)}) {
      Interpreter interpreter(machine, *sink);
      PlateReader feed(interpreter);
      feed.take(text);
      interpreter.finish();
    }
    InOrder kept;
    pack.queue.give_all(kept);
    EXPECT_EQ(kept.said, direct.said);
    EXPECT_GT(direct.sizes().size(), 100U);
    EXPECT_GT(pack.queue.bytes(), 2000U * 5 * sizeof(double));
    InOrder handed_over;
    const std::uint64_t half = pack.queue.runs().end() / 2;
    const std::uint64_t event = pack.queue.runs()[half].events_before;
    pack.queue.hand_over(half, event, handed_over);
    EXPECT_EQ(pack.queue.first(), pack.queue.runs().front().first);
    pack.queue.hand_over(pack.queue.runs().end(), pack.queue.events().end(), handed_over);
    EXPECT_EQ(handed_over.said, direct.said);
    EXPECT_TRUE(pack.queue.empty());
    EXPECT_EQ(pack.queue.bytes(), 0U);
  }
}

}  // namespace
}  // namespace platetally::interpreter
