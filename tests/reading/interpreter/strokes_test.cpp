// Plain moves many at once against the same moves line by line, and what happens to runs of
// strokes.
#include "reading/interpreter/strokes.hpp"

#include <gtest/gtest.h>

#include <random>

#include "reading/interpreter/move_batch.hpp"
#include "support.hpp"

namespace platetally::interpreter {
namespace {

using test::run;

/// Everything in the order in which it came: records and, in one go, strokes.
struct InOrder : RecordSink {
  void take(std::span<const Record> batch) override {
    for (const Record& record : batch)
      said += test::show_move(record) + "\n";
  }
  void take(const Strokes& strokes) override {
    sizes.push_back(strokes.size);
    said += fmt::format("run of {}\n", strokes.size);
    RecordSink::take(strokes);
  }
  std::string said;
  std::vector<std::size_t> sizes;
};

std::string random_plate(std::uint32_t seed, bool relative_e) {
  std::mt19937 random(seed);
  const auto coordinate = [&] {
    return fmt::format("{:.3f}", 0.001 * static_cast<double>(random() % 200000));
  };
  std::string text = relative_e ? "M83\n" : "M82\n";
  double e_mm = 0.0;
  double z_mm = 0.2;
  text += "G1 Z0.2 F600\n";
  for (int i = 0; i < 3000; ++i) {
    const auto kind = random() % 100;
    if (kind < 80) {
      e_mm = relative_e ? 0.05 : e_mm + 0.05;
      text += "G1 X" + coordinate() + " Y" + coordinate() + fmt::format(" E{:.5f}", e_mm);
      text += kind < 8 ? " F1800\n" : "\n";
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
      text += "M84 X Y\n";
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

TEST(Strokes, GoIntoRunsThatEndWithWhateverIsNone) {
  InOrder sink;
  const Machine machine = test::machine();
  Interpreter interpreter(machine, sink);
  PlateReader feed(interpreter);
  // The first stroke opens its layer, which takes more than a run does.
  feed.take(strokes_text(11) + "G1 E-0.5\n" + "G1 X0 Y50\n" + "G1 X1 Y1 E0.1\n" +
            "G1 X2 Y1 E0.1\n" + "; a remark\n" + "G1 X3 Y1 E0.1\n" + std::string(80, ';') + "\n");
  interpreter.finish();
  EXPECT_EQ(sink.sizes, (std::vector<std::size_t>{10, 2, 1})) << sink.said;
}

TEST(Strokes, ThatNoArithmeticBearsComeAsRecords) {
  // Too short or at no feed to speak of, one by one and among many.
  const auto sizes = [](const std::string& text) {
    InOrder sink;
    const Machine machine = test::machine();
    Interpreter interpreter(machine, sink);
    PlateReader feed(interpreter);
    feed.take(text + std::string(80, ';') + "\n");
    interpreter.finish();
    return sink.sizes;
  };
  std::string shortest = strokes_text(20);
  for (const char* x : {"21", "21.0000000001", "22"})
    shortest += fmt::format("G1 X{} Y1 E0.1\n", x);
  std::string many = "M83\nG1 Z0.2 F600\n";
  for (int i = 0; i < 40; ++i)
    many += fmt::format("G1 X{}.0000000001 Y1 E0.1\nG1 X{}.0000000002 Y1 E0.1\n", i, i);
  const std::string slowest = strokes_text(20) + "G1 X5 Y5 E0.1 F0.00001\nG1 X6 Y5 E0.1\n";
  EXPECT_EQ(sizes(shortest), (std::vector<std::size_t>{20, 1}));
  for (const std::size_t size : sizes(many))
    EXPECT_EQ(size, 1U);
  EXPECT_EQ(sizes(slowest), (std::vector<std::size_t>{19}));
}

TEST(Strokes, RunsAreNoLongerThanTheyMayBe) {
  InOrder sink;
  const Machine machine = test::machine();
  Interpreter interpreter(machine, sink);
  PlateReader feed(interpreter);
  feed.take(strokes_text(2 * kMostStrokes + 50) + std::string(80, ';') + "\n");
  interpreter.finish();
  EXPECT_EQ(sink.sizes, (std::vector<std::size_t>{kMostStrokes, kMostStrokes, 49}));
}

TEST(MoveBatches, GiveEverythingBackInOrder) {
  for (std::uint32_t seed = 1; seed <= 3; ++seed) {
    const std::string text = random_plate(seed, true);
    const Machine machine = test::machine();
    struct Pack : RecordSink {
      void take(std::span<const Record> batch) override { move_batch.add(batch); }
      void take(const Strokes& strokes) override { move_batch.add(strokes); }
      MoveBatch move_batch;
    };
    Pack pack;
    InOrder direct;
    for (RecordSink* sink : {static_cast<RecordSink*>(&pack), static_cast<RecordSink*>(&direct)}) {
      Interpreter interpreter(machine, *sink);
      PlateReader feed(interpreter);
      feed.take(text);
      interpreter.finish();
    }
    InOrder unpacked;
    pack.move_batch.unpack(unpacked);
    EXPECT_EQ(unpacked.said, direct.said);
    EXPECT_GT(direct.sizes.size(), 100U);
    EXPECT_GT(pack.move_batch.bytes(), 1000U * sizeof(Record));
    pack.move_batch.clear();
    EXPECT_TRUE(pack.move_batch.empty());
    EXPECT_EQ(pack.move_batch.bytes(), 0U);
  }
}

}  // namespace
}  // namespace platetally::interpreter
